"""How often what is said of a heat run is so: `heat_cells` of known truth, each run many times.

The short form holds a few runs of each cell against binomial bounds.  The long form (`--study`)
takes 1,000 of each, prints every figure with its Monte-Carlo error and names each that misses.
It is met when no more claims miss than chance allows at 99 % for an exact estimator.  What a cell
gave is kept in pytest's cache until the program changes, so a long study can be broken off.
"""

from __future__ import annotations

import zlib
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from scipy.stats import binom, chi2, norm

from tests.external import heat_cells, heat_truth
from tests.external.heat_cells import CELLS, LONG, Claim
from tests.external.heat_truth import dice_of
from valvebench.diagnose import heat_run
from valvebench.physics import lag

SHORT, SHORTEST = 16, 3
ONE_IN_TEN_THOUSAND, NEARLY_SURE = 1e-4, 0.99


class Figure(NamedTuple):
    """One number of a cell: value, its Monte-Carlo error, from how many runs."""

    what: str
    value: float
    error: float
    runs: int


def answers_of(cell, runs):
    """What each run answered, by question; None does not arise."""
    dice = dice_of(cell.name)
    told = [cell.run(dice) for _ in range(runs)]
    return {what: [float(one[what]) for one in told if one[what] is not None] for what in told[0]}


def figures(answers, claims):
    """Every claim's figure, then shares nobody claims anything of."""
    claimed = [figure(claim.what, answers[claim.what], claim.of) for claim in claims]
    others = [what for what in answers if what not in {claim.what for claim in claims}]
    return claimed, [figure(what, answers[what], "mean") for what in others]


def figure(what, values, of):
    n = len(values)
    if n < 2:
        return Figure(what, float("nan"), float("nan"), n)
    mean, deviation = float(np.mean(values)), float(np.std(values, ddof=1))
    if of == "middle":
        return Figure(what, float(np.median(values)), 1.25 * deviation / n**0.5, n)
    if of == "deviation":
        return Figure(what, deviation, deviation / (2 * n) ** 0.5, n)
    return Figure(what, mean, deviation / n**0.5, n)


def holds(claim, found):
    """Whether the long form's figure lies inside the claim; one that no run answered does not."""
    return claim.least <= found.value <= claim.most


def could_hold(claim, values):
    """Whether few runs could come from a cell that holds, but for one chance in ten thousand."""
    n = len(values)
    if n < 2:
        return True
    if claim.of == "share":
        count = round(sum(values))
        least, most = np.clip([claim.least, claim.most], 0, 1)
        few, many = binom.cdf(count, n, least), binom.sf(count - 1, n, most)
        return few > ONE_IN_TEN_THOUSAND and many > ONE_IN_TEN_THOUSAND
    if claim.of == "deviation":
        square = (n - 1) * np.var(values, ddof=1) / claim.most**2
        return chi2.sf(square, n - 1) > ONE_IN_TEN_THOUSAND
    if claim.of == "middle":
        few, many = sum(v < claim.least for v in values), sum(v > claim.most for v in values)
        return min(binom.sf(few - 1, n, 0.5), binom.sf(many - 1, n, 0.5)) > ONE_IN_TEN_THOUSAND
    slack = -norm.ppf(ONE_IN_TEN_THOUSAND / 2) * max(1.0, float(np.std(values, ddof=1))) / n**0.5
    return claim.least - slack <= np.mean(values) <= claim.most + slack


def allowed(chances):
    """How many claims an exact estimator misses at most in 99 of 100 studies."""
    count = np.array([1.0])
    for chance in chances:
        count = np.convolve(count, [1 - chance, chance])
    return int(np.argmax(np.cumsum(count) >= NEARLY_SURE))


def lines(cell, answers):
    claimed, others = figures(answers, cell.claims)
    for claim, found in zip(cell.claims, claimed, strict=True):
        bounds = f"{claim.least:>7.3g} to {claim.most:<6.3g}"
        yield found, f"{bounds}{'' if holds(claim, found) else '  MISSED'}"
    for found in others:
        yield found, ""


def table(cell, answers):
    return "\n".join(
        f"{cell.name:<58}{found.what:<36}{found.value:>8.3f} +- {found.error:.3f} of {found.runs:<5}{note}"
        for found, note in lines(cell, answers)
    )


def code_in_use():
    """Changes with the estimator and with the study: what was kept of another is not used."""
    folders = [Path(module.__file__).parent for module in (heat_run, lag)]
    files = [file for folder in folders for file in sorted(folder.glob("*.py"))]
    files += [Path(module.__file__) for module in (heat_cells, heat_truth)]
    return zlib.crc32(b"".join(file.read_bytes() for file in files))


def kept(cache, name, runs):
    key = f"heat_study/{code_in_use():08x}/{zlib.crc32(name.encode()):08x}"
    answers = cache.get(key, None)
    if answers is None:
        answers = answers_of(CELLS[name], runs)
        cache.set(key, answers)
    return answers


@pytest.mark.parametrize("name", CELLS)
def test_short_form(name):
    cell = CELLS[name]
    answers = answers_of(cell, SHORTEST if "10,000" in name else SHORT)
    missed = [claim for claim in cell.claims if not could_hold(claim, answers[claim.what])]
    assert missed == [], table(cell, answers)


@pytest.mark.study
@pytest.mark.parametrize("name", CELLS)
def test_long_form(name, request):
    print("\n" + table(CELLS[name], kept(request.config.cache, name, LONG)))


@pytest.mark.study
def test_no_more_cells_miss_than_chance_allows(request):
    missed, chances = [], []
    for name, cell in CELLS.items():
        claimed, _ = figures(kept(request.config.cache, name, LONG), cell.claims)
        pairs = list(zip(cell.claims, claimed, strict=True))
        chances += [claim.chance for claim, _ in pairs]
        missed += [f"{name}: {found.what} {found.value:.3f}" for claim, found in pairs if not holds(claim, found)]
    print(f"\n{len(missed)} of {len(chances)} claims missed, chance allows {allowed(chances)}", *missed, sep="\n")
    assert len(missed) <= allowed(chances)


def test_the_bounds_can_be_missed():
    claim = Claim("any", 0.93, 0.97)
    assert could_hold(claim, [1.0] * 38 + [0.0] * 2)
    assert not could_hold(claim, [1.0] * 26 + [0.0] * 14)
    assert not could_hold(Claim("any", most=0.05), [1.0] * 12 + [0.0] * 28)
    assert not could_hold(Claim("any", -0.12, 0.12, of="mean"), list(1.0 + np.linspace(-1, 1, 40)))
    assert not could_hold(Claim("any", most=1.05, of="deviation"), list(np.linspace(-4, 4, 40)))


def test_chance_allows_few():
    """Of 100 claims missed once in 100 each, at most 4 in 99 of 100 studies (binomial table: 0.9966 up to 4)."""
    assert allowed([0.01] * 100) == 4
    assert allowed([0.0] * 50) == 0
