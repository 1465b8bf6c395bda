"""Chances against scikit-learn's naive Bayes for categories, gains against scipy's entropies."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import entropy
from sklearn.naive_bayes import CategoricalNB

from tests.unit.diagnose.identify_library import PRIORS, number_table, random_codes
from valvebench.diagnose.identify_weigh import Chances, Weigher

WRONG = PRIORS.misread.us.value
NONE = PRIORS.none_of_these.value


def naive_bayes(codes, answers):
    """Its attributes set by hand: fitting takes gigabytes for thousands.  The last class is none of these."""
    variants = codes.shape[1]
    model = CategoricalNB()
    model.classes_ = np.arange(variants + 1)
    model.class_count_ = np.ones(variants + 1)
    model.class_log_prior_ = np.log(np.append(np.full(variants, (1 - NONE) / variants), NONE))
    model.n_features_in_ = len(answers)
    model.n_categories_ = np.array(answers)
    shares = []
    for f, k in enumerate(answers):
        share = np.full((variants + 1, k), 1.0 / k)
        said = np.flatnonzero(codes[f] >= 0)
        share[said] = WRONG / (k - 1)
        share[said, codes[f, said]] = 1 - WRONG
        shares.append(np.log(share))
    model.feature_log_prob_ = shares
    return model


def tables():
    for seed in range(12):
        dice = np.random.default_rng(seed)
        variants, features = int(dice.integers(1, 60)), int(dice.integers(1, 25))
        answers = dice.integers(2, 6, features).tolist()
        yield pytest.param(random_codes(dice, variants, answers, silent=0.15 * (seed % 2)), answers, id=f"{seed}")


def counted(weigher, seen):
    counts = np.zeros((len(seen), 3, len(weigher.table.feature) + len(weigher.table.answers)), dtype=np.int64)
    for f in range(seen.shape[1]):
        counts[np.arange(len(seen)), 0, weigher.table.first[f] + seen[:, f]] += 1
    return counts


@pytest.mark.parametrize(("codes", "answers"), list(tables()))
def test_chances_are_those_of_naive_bayes(codes, answers):
    weigher = Weigher(number_table(codes, answers), PRIORS)
    seen = np.stack([np.random.default_rng(k).integers(0, k, 40) for k in answers], axis=1)
    theirs = naive_bayes(codes, answers).predict_proba(seen)
    counts = counted(weigher, seen)
    together = weigher.chances(counts)
    assert np.abs(np.column_stack([together.p, together.none]) - theirs).max() < 1e-12
    one_by_one = [weigher.chances(each) for each in counts]
    assert np.abs(np.array([[*each.p, each.none] for each in one_by_one]) - theirs).max() < 1e-12


def test_gains_are_mutual_information():
    """A contingency table of variant (or none of these) and answer, weighed by its chances."""
    dice = np.random.default_rng(3)
    answers = [2, 3, 4, 2]
    codes = random_codes(dice, 7, answers, silent=0.2)
    weigher = Weigher(number_table(codes, answers), PRIORS)
    p = dice.dirichlet(np.ones(8))
    gains = weigher.gains(Chances(p[:7], p[7]))
    shares = [np.exp(share) for share in naive_bayes(codes, answers).feature_log_prob_]
    joint = [p[:, None] * share for share in shares]
    theirs = [entropy(each.sum(axis=0), base=2) + entropy(p, base=2) - entropy(each.ravel(), base=2) for each in joint]
    assert np.abs(gains - theirs).max() < 1e-12
