"""What a flexed series found -> verdict: a contact that moves is a fault whatever the limits."""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.model.flex import FlexFound
from valvebench.model.format import value_text
from valvebench.model.words import VERDICT_TEXT, Lean, Verdict

_K: Final = 2.0


class FlexJudgement(NamedTuple):
    """Verdict of a flex test; there are no limits in it.  `flexed` is what was moved."""

    found: FlexFound
    flexed: str
    verdict: Verdict
    lean: Lean | None
    reasons: tuple[str, ...]


def judge_flex(found: FlexFound, flexed: str) -> FlexJudgement:
    """Judge a flexed series.

    Parameters
    ----------
    found : what the readings say, with standard uncertainties
    flexed : what was moved, in words

    Returns
    -------
    FlexJudgement
        An opening, or a jump or step beyond its expanded uncertainty, is *Fail*.  A steady series
        is *Pass* for what was flexed where it holds enough readings, else *Can't tell*.

    Source
    ------
    Common practice, no source; how many are enough: `diagnose.flex_words.chance_missed`.
    """
    verdict, lean, why = _answer(found, flexed)
    return FlexJudgement(found, flexed, verdict, lean, (f"{VERDICT_TEXT[verdict]}: {why}", *found.reasons))


def _answer(found: FlexFound, flexed: str) -> tuple[Verdict, Lean | None, str]:
    if found.n == found.open_n:
        return Verdict.CANT_TELL, Lean.OUTSIDE, f"every one of {_count(found.n)} was open while {flexed} was flexed."
    faults = _faults(found)
    if faults:
        return Verdict.FAIL, None, f"{', '.join(faults)}, while {flexed} was flexed, whatever the limits."
    if found.events:
        return Verdict.CANT_TELL, Lean.OUTSIDE, f"it may have moved while {flexed} was flexed, but within its doubt."
    if found.is_restless:
        return Verdict.CANT_TELL, Lean.OUTSIDE, f"the pair was restless while {flexed} was flexed."
    return _of_calm(found, flexed)


def _of_calm(found: FlexFound, flexed: str) -> tuple[Verdict, Lean | None, str]:
    """Nothing moved: whether enough was read to say so."""
    if found.problem:
        return Verdict.CANT_TELL, Lean.INSIDE, f"nothing can be said of {flexed} by these readings."
    if not found.is_enough:
        return Verdict.CANT_TELL, Lean.INSIDE, f"{_count(found.n)} showed nothing while {flexed} was flexed: too few."
    return (
        Verdict.PASS,
        None,
        f"{_count(found.n)} stayed steady while {flexed} was flexed; of what was not flexed they say nothing.",
    )


def _count(readings: int) -> str:
    return "1 reading" if readings == 1 else f"{readings} readings"


def _faults(found: FlexFound) -> list[str]:
    faults = []
    opened = [event for event in found.events if event.kind == "open"]
    if opened:
        faults.append(f"it opened {_times(len(opened))}, first at reading {opened[0].sample}")
    for kind, words in (("jump", "jumped"), ("step", "stepped")):
        proved = [
            e for e in found.events if e.kind == kind and e.size_ohm and abs(e.size_ohm.value) > _K * e.size_ohm.u
        ]
        if proved and (size := proved[0].size_ohm) is not None:
            by = value_text(abs(size.value), _K * size.u)
            faults.append(f"it {words} {_times(len(proved))}, first at reading {proved[0].sample} by {by}")
    return faults


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
