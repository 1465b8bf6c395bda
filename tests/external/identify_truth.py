"""Libraries at random, bodies of known truth, and a person who looks as the program asks or in the file's order."""

from __future__ import annotations

import zlib
from typing import NamedTuple

import numpy as np

from tests.unit.diagnose.identify_library import PRIORS, number_table
from valvebench.diagnose.identified import LEAST_BITS
from valvebench.diagnose.identify_rules import first_of_all, is_confirmed, standing, without_phone
from valvebench.diagnose.identify_weigh import Weigher
from valvebench.model.variant import Pin, Solenoid, Variant

US = 0
MOST_TRIES = 20_000


def dice_of(name):
    """Seeds nobody chose."""
    return np.random.default_rng(zlib.crc32(name.encode()))


class Shape(NamedTuple):
    """A kind of library.

    `balanced`: yes or no, as often one as the other; `skewed`: yes or no, one of them rare; `mixed`: two to four
    answers, all as common; `uneven`: two to four answers, some common and some rare.  Any two variants differ in
    `apart` features; a share of them must match, and these lead the file where that is said.
    """

    variants: int
    features: int
    kind: str
    apart: int = 1
    must: float = 0.25
    must_lead: bool = False


class Library(NamedTuple):
    """A table made at random: codes (F, N), answers (F,), which must match (F, N)."""

    codes: np.ndarray
    answers: np.ndarray
    must: np.ndarray

    def weigher(self, priors=PRIORS):
        return Weigher(number_table(self.codes, self.answers.tolist(), self.must), priors)


def library(shape, dice):
    """Variants drawn one by one; one too near another is drawn again."""
    answers = (
        np.full(shape.features, 2) if shape.kind in ("balanced", "skewed") else dice.integers(2, 5, shape.features)
    )
    shares = [_shares(shape.kind, int(k), dice) for k in answers]
    drawn: list[np.ndarray] = []
    for _ in range(MOST_TRIES):
        one = np.array([dice.choice(len(share), p=share) for share in shares])
        if all((one != other).sum() >= shape.apart for other in drawn):
            drawn.append(one)
        if len(drawn) == shape.variants:
            break
    else:
        raise ValueError(f"no such library: {shape}")
    codes = np.array(drawn).T
    must = np.zeros(codes.shape, bool)
    order = np.arange(shape.features) if shape.must_lead else dice.permutation(shape.features)
    must[order[: round(shape.must * shape.features)]] = True
    return Library(codes, answers, must)


def _shares(kind, answers, dice):
    """How common each answer is among the variants."""
    if kind == "uneven":
        return dice.dirichlet(np.ones(answers))
    rare = dice.uniform(0.05, 0.5)
    return np.array([1.0 - rare, rare]) if kind == "skewed" else np.full(answers, 1.0 / answers)


def bodies_inside(lib, count, dice):
    """Variants by number (B,) and what there is to see (B, F)."""
    number = dice.integers(0, lib.codes.shape[1], count)
    return number, lib.codes[:, number].T


def bodies_outside(lib, count, differs, dice, *, at_must=False):
    """Bodies that differ from one variant in so many features (that must match), and from no other in none."""
    found = np.empty((0, len(lib.answers)), dtype=int)
    known = {tuple(column) for column in lib.codes.T}
    while len(found) < count:
        number, truth = bodies_inside(lib, count, dice)
        truth = truth.copy()
        may = lib.must[:, number].T if at_must else np.ones(truth.shape, bool)
        which = np.argsort(np.where(may, dice.random(truth.shape), 2.0), axis=1)[:, :differs]
        now = np.take_along_axis(truth, which, axis=1)
        other = (now + dice.integers(1, lib.answers[which])) % lib.answers[which]
        np.put_along_axis(truth, which, other, axis=1)
        found = np.vstack([found, truth[[tuple(row) not in known for row in truth]]])
    return found[:count]


def looked_at(truth, feature, answers, misread, dice):
    """What a person says of one feature of each body."""
    right = truth[np.arange(len(truth)), feature]
    wrong = (right + dice.integers(1, answers[feature])) % answers[feature]
    return np.where(dice.random(len(truth)) < misread, wrong, right)


def all_seen(weigher, truth, dice, *, misread=0.05):
    """Looks at every feature once: (B, 3, R + F)."""
    table, count = weigher.table, len(truth)
    counts = np.zeros((count, 3, len(table.feature) + len(table.answers)), dtype=np.int64)
    for f in range(truth.shape[1]):
        said = looked_at(truth, np.full(count, f), table.answers, misread, dice)
        counts[np.arange(count), US, table.first[f] + said] += 1
    return counts


class Outcome(NamedTuple):
    """Of each body: confirmed or not, the variant that leads at the end, how many looks it took."""

    confirmed: np.ndarray
    leads: np.ndarray
    looks: np.ndarray


def worked(weigher, truth, dice, *, misread=0.05, order="gain", until="confirmed"):
    """Look, feature by feature, until the part is confirmed or nothing is left to look at.

    `until` may also be a chance that a variant leads with, or `all`: a careful person, who stops at nothing.
    """
    table = weigher.table
    count, rows = len(truth), len(table.feature)
    counts = np.zeros((count, 3, rows + len(table.answers)), dtype=np.int64)
    confirmed, leads = np.zeros(count, bool), np.full(count, -1)
    looks = np.zeros(count, dtype=int)
    left = np.arange(count)
    while len(left):
        now = counts[left]
        chances = weigher.chances(now)
        leads[left] = chances.p.argmax(axis=1)
        best, p_best = leads[left], chances.p.max(axis=1)
        how = standing(weigher, now, best)
        confirmed[left] = is_confirmed(table, p_best, p_best, best, how)
        done = {"confirmed": confirmed[left], "all": np.zeros(len(left), bool)}.get(until)
        done = p_best > until if done is None else done
        feature = choice(weigher, now, chances, best, how, (order, until))
        goes = ~done & (feature >= 0)
        left, feature = left[goes], feature[goes]
        said = looked_at(truth[left], feature, table.answers, misread, dice)
        counts[left, US, table.first[feature] + said] += 1
        looks[left] += 1
    return Outcome(confirmed, leads, looks)


def choice(weigher, counts, chances, best, how, manner):
    """The feature each body is looked at next, -1 for none: second looks first, then must-match points, then others."""
    table, (order, until) = weigher.table, manner
    p_best = chances.p.max(axis=1)
    again, must = first_of_all(table, p_best, chances.none, best, how)
    gains = weigher.gains(chances)
    unseen = weigher.by_feature(without_phone(counts).sum(axis=1)) == 0
    rank = gains if order == "gain" else -np.arange(gains.shape[1])[None] * np.ones_like(gains)
    offered = unseen & ((gains > LEAST_BITS) | (until == "all"))
    ladder = np.where(offered, rank, -np.inf)
    if order == "gain":
        ladder = np.where(must, 1e3 + rank, ladder)
    ladder = np.where(again, 1e6 + rank, ladder)
    feature = ladder.argmax(axis=1)
    return np.where(np.isfinite(ladder.max(axis=1)), feature, -1)


PALETTE_OHM = (3.5, 5.2, 6.5, 8.0, 12.0, 15.0, 25.0, 32.0)
PAIRS = tuple((str(2 * i + 1), str(2 * i + 2)) for i in range(6))
CELSIUS, K_COPPER = 23.0, 234.5
_FAMILY = 5
BAND, U_CELSIUS = 0.06, 2.0 / 3**0.5
GAIN, STEP_OHM = 0.005, 0.01


def wired(count, dice, *, apart=1):
    """Families of five variants with six solenoids each, unlike in `apart` or one more; nominal values (N, 6) too."""
    drawn = []
    while len(drawn) < count:
        one = dice.choice(PALETTE_OHM, len(PAIRS))
        if len(drawn) % _FAMILY:
            changed = dice.random(len(PAIRS)).argsort() < apart + dice.integers(0, 2)
            one = np.where(changed, one, drawn[len(drawn) // _FAMILY * _FAMILY])
        if all((one != other).sum() >= apart for other in drawn):
            drawn.append(one)
    pins = tuple(Pin(name=name) for pair in PAIRS for name in pair)
    variants = [
        Variant(
            format=1,
            key=f"v{v:04}",
            title="invented",
            pins=pins,
            devices=tuple(
                Solenoid(name=f"S{i}", between=PAIRS[i], low_ohm=(1 - BAND) * ohm, high_ohm=(1 + BAND) * ohm)
                for i, ohm in enumerate(nominal)
            ),
        )
        for v, nominal in enumerate(drawn)
    ]
    return variants, np.array(drawn)


def read_bodies(nominal, number, dice, *, faulty):
    """What a fair meter shows (B, 6) [ohm], infinite for open; faulty ones are open, shorted in part, or anything."""
    shape = (len(number), nominal.shape[1])
    lot, own = 0.017 * dice.standard_normal((shape[0], 1)), 0.013 * dice.standard_normal(shape)
    ohm = nominal[number] * np.exp(lot + own)
    kind = dice.choice(4, p=[1 - faulty, faulty / 2, faulty / 4, faulty / 4], size=shape)
    ohm = np.where(kind == 1, np.inf, ohm)
    ohm = np.where(kind == 2, ohm * dice.uniform(0.3, 0.95, shape), ohm)
    ohm = np.where(kind == 3, np.exp(dice.uniform(np.log(0.3), np.log(1e5), shape)), ohm)
    celsius = CELSIUS + U_CELSIUS * dice.standard_normal((shape[0], 1))
    warm = ohm * (K_COPPER + celsius) / (K_COPPER + 20.0)
    gain = 1.0 + GAIN / 3**0.5 * dice.standard_normal((shape[0], 1))
    shown = warm * gain + STEP_OHM * dice.standard_normal(shape)
    return np.where(np.isfinite(shown), np.maximum(shown, 0.05), np.inf)
