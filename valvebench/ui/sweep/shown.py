"""What the page of sweeps shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from valvebench.judge.sweep import SweepJudgement, hysteresis_words, is_resolved
from valvebench.model.format import plus_minus
from valvebench.model.heat import Sized
from valvebench.model.leak import Hysteresis, SweepFound
from valvebench.model.words import Verdict

SUPPLY_SAFETY: Final = (
    "Feed the solenoid only from a current-limited supply, {ampere}, dry of solvent, with the stated polarity; "
    "not longer than it needs, as the coil gets hot."
)
OIL_OR_AIR_SAFETY: Final = (
    "Regulated pressure at or under what the variant states; gauge and hose rated for it, eye protection, "
    "vent before opening."
)
NOTHING_YET: Final = "Open a file, drop one here or paste a table: ampere, kpa_gauge, branch (up or down)."
_SAID_ALREADY: Final = ("Hysteresis", "Dead band", "The sweep does not begin at rest", "Rated current not stated")
"""Reasons that stand in a line of numbers as well."""
_K: Final = 2.0


@dataclass(frozen=True, kw_only=True)
class CurveShown:
    """Readings of both branches and the joint curve with its loop; `dead_ampere` is where the pressure leaves rest."""

    up: tuple[tuple[float, float], ...] = ()
    down: tuple[tuple[float, float], ...] = ()
    ampere: tuple[float, ...] = ()
    kpa: tuple[float, ...] = ()
    rising_kpa: tuple[float, ...] = ()
    falling_kpa: tuple[float, ...] = ()
    dead_ampere: float | None = None

    @property
    def spoken(self) -> str:
        """What the drawing shows, for a reader."""
        if not self.up:
            return "No sweep yet"
        both = self.up + self.down
        currents = [ampere for ampere, _ in both]
        pressures = [kpa for _, kpa in both]
        reach = f"{min(currents):g} to {max(currents):g} A, {min(pressures):g} to {max(pressures):g} kPa"
        return f"{len(self.up)} readings up, {len(self.down)} down, {reach}, joint curve with its loop"


@dataclass(frozen=True, kw_only=True)
class FoundShown:
    """What a sweep says: the verdict with its sentence, then one line for each number with its definition."""

    verdict: Verdict | None = None
    headline: str = NOTHING_YET
    lines: tuple[str, ...] = ()
    aside: str = ""


@dataclass(frozen=True, kw_only=True)
class LineShown:
    """One kept sweep."""

    number: int
    device: str
    hysteresis: str
    limit: str
    verdict: Verdict | None = None
    tip: str = ""


def supply_words(max_ampere: float | None) -> str:
    """The safety line with the stated limit of the supply."""
    limit = f"at most {max_ampere:g} A" if max_ampere is not None else "its limit as the maker states"
    return SUPPLY_SAFETY.format(ampere=limit)


def found_shown(judged: SweepJudgement, *, aside: str) -> FoundShown:
    """Everything a sweep says, each number with what it means and over which range."""
    found = judged.found
    headline, *more = judged.reasons
    return FoundShown(
        verdict=judged.verdict,
        headline=headline,
        lines=(*_numbers(found), *(one for one in more if not one.startswith(_SAID_ALREADY)), *found.advice),
        aside=aside,
    )


def _numbers(found: SweepFound) -> list[str]:
    of_span = _loop(found.hysteresis_pct_span)
    lines = [f"At equal current, in percent of the {found.span_kpa:.4g} kPa span, over 10 to 90 % of it: {of_span}."]
    rated = f"{found.rated_ampere:g} A{' (the largest that was set)' if found.rated_is_assumed else ''}"
    if found.hysteresis_pct_current is not None:
        lines.append(
            f"At equal pressure, in percent of {rated}, over 10 to 90 % of the span: "
            f"{_loop(found.hysteresis_pct_current)}."
        )
    else:
        lines.append("At equal pressure: cannot be said, the branches share no pressure.")
    return [*lines, _straightness(found), _dead_band(found)]


def _loop(loop: Hysteresis) -> str:
    return f"largest {_percent(loop.max)}, mean {_percent(loop.mean_10_90)}{'' if loop.resolved else ', not resolved'}"


def _percent(one: Sized) -> str:
    words = f"{plus_minus(one.value, _K * one.u)} %"
    return words if is_resolved(one) else f"{words} (not resolved)"


def _straightness(found: SweepFound) -> str:
    straight, start, end = found.linearity_pct, found.linearity_from_ampere, found.linearity_to_ampere
    if straight is None or start is None or end is None:
        return "Linearity: cannot be said, too little of the curve lies beyond the dead band."
    return (
        f"Linearity from {start:g} to {end:g} A, largest distance in percent of the span: from the line that fits "
        f"best (minimax) {_percent(straight.minimax)}, from the line between the ends (terminal) "
        f"{_percent(straight.terminal)}."
    )


def _dead_band(found: SweepFound) -> str:
    dead = found.dead_band_ampere
    if dead is None:
        return "Dead band: cannot be said, the sweep does not begin at rest."
    how = (
        "by a threshold of 2 % of the span"
        if found.dead_band_is_threshold
        else "by a line through 5 to 35 % of the span led back to rest"
    )
    return f"Dead band {plus_minus(dead.value, _K * dead.u, unit='A')}, {how}."


def line_shown(number: int, device: str, judged: SweepJudgement, tip: str) -> LineShown:
    """One line of the table."""
    limit = judged.max_hysteresis_pct
    return LineShown(
        number=number,
        device=device,
        hysteresis=hysteresis_words(judged.hysteresis_pct, judged.U_pct).replace(" of the span", ""),
        limit=f"at most {limit:g} %" if limit is not None else "none",
        verdict=judged.verdict,
        tip=tip,
    )
