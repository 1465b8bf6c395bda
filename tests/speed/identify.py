"""Chances of 10,000 variants and what each further look would tell, against scikit-learn's chances alone.

The same table, 40 features, every one of them seen; it has no further look to weigh.
"""

from __future__ import annotations

import numpy as np

from tests.external.test_identify_independent import naive_bayes
from tests.speed.measure import Row, interleaved, row, timed
from tests.unit.diagnose.identify_library import PRIORS, number_table, random_codes
from valvebench.diagnose.identified import Look
from valvebench.diagnose.identify_weigh import Weigher

VARIANTS, FEATURES = 10_000, 40


def rows() -> list[Row]:
    dice = np.random.default_rng(20)
    answers = dice.integers(2, 5, FEATURES).tolist()
    codes = random_codes(dice, VARIANTS, answers, silent=0.05)
    weigher = Weigher(number_table(codes, answers), PRIORS)
    rival = naive_bayes(codes, answers)
    found = []
    for seen, words in ((FEATURES, "all of them seen"), (1, "one of them seen")):
        said = codes[:, 17].clip(0)
        looks = [Look(f"f{f:03}", f"a{said[f]}") for f in range(seen)]
        counts = weigher.count(looks)
        pairs = interleaved(
            timed(lambda counts=counts: weigher.gains(weigher.chances(counts))),
            timed(lambda said=said: rival.predict_proba(said[None])),
            pairs=25,
        )
        name = f"chances and gains, 10,000 variants, {words} / predict_proba"
        found += [row(name, pairs, figure=figure, limit=limit) for figure, limit in (("wall", 1.0), ("cpu", None))]
    return found
