"""What the Heat page shows of a kept run, as plain frozen facts.  No Qt, no arrays, no decisions about limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from valvebench.judge.heat import HeatJudgement
from valvebench.judge.heat_rows import HEAT_KEY
from valvebench.judge.row import Row
from valvebench.model.format import OHM, celsius_text, decimals_for, duration_text, limits_text, ohm_text, value_text
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, HeatTest, Sized
from valvebench.model.limits import Limits
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import Verdict

K95: Final = 2.0
MOST_EVENTS: Final = 12
KIND_WORDS: Final = MappingProxyType(
    {
        HeatKind.COPPER: "as copper",
        HeatKind.FIXED_SERIES: "stays put",
        HeatKind.GROWS_WITH_HEAT: "grows with heat",
        HeatKind.NOT_SEPARABLE: "not separable",
    }
)
RATIO_WORDS: Final = MappingProxyType(
    {
        True: "constant: both move alike",
        False: "drifts: they do not move alike",
        None: "can't tell whether it stays the same",
    }
)
NONE, NOT_KNOWN = "none", "not known"
NO_LAG_SETTLED: Final = "Each reading was taken after the temperature had settled."
NO_LAG_HIDDEN: Final = "In this run a lag and a series resistance look alike."
NO_SERIES_COPPER: Final = "Nothing shows beyond the doubt of the run."
NO_SERIES_HIDDEN: Final = "It may hide behind the lag."
NO_SERIES_ALONE: Final = "One reading alone would make it."
NO_EXCESS: Final = "Its size cannot be told."
_UNKNOWN: Final = frozenset({NO_LAG_HIDDEN, NO_SERIES_HIDDEN, NO_SERIES_ALONE, NO_EXCESS})


@dataclass(frozen=True, kw_only=True)
class KeptRun:
    """One run of one device as it counts: `number` is its entry, or below nought for rounds typed on Pins."""

    number: int
    device: str
    judged: HeatJudgement
    reasons: tuple[str, ...]
    entries: tuple[int, ...]
    test: HeatTest | None = None

    @property
    def found(self) -> HeatFound:
        """What was found in it."""
        return self.judged.found

    @property
    def taken(self) -> str:
        """Where it comes from."""
        if self.test is not None:
            return f"Entry {self.entries[0]}, {self.test.file_name}."
        return f"Typed in rounds, entries {self.entries[0]} to {self.entries[-1]}."

    @property
    def is_settled(self) -> bool:
        """Whether each reading was taken after the temperature had settled."""
        return self.test is None or self.test.is_settled


@dataclass(frozen=True, kw_only=True)
class RunShown:
    """One line of the list of runs."""

    number: int
    device: str
    kind: str
    value: str
    limits: str
    verdict: Verdict | None
    tip: str = ""


@dataclass(frozen=True, kw_only=True)
class RulerShown:
    """One number on its ruler with its expanded uncertainty, or none with the reason why."""

    label: str
    value: float | None = None
    expanded: float = 0.0
    text: str = ""
    unit: str = ""
    post: float | None = None
    post_text: str = ""
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class CardShown:
    """The run in front: verdict with its limits, three rulers, what happened, why, and what to do next."""

    device: str
    verdict: Verdict
    sentence: str
    limits: str
    rulers: tuple[RulerShown, ...]
    reasons: tuple[str, ...] = ()
    events: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    about: str = ""


def kept_run(row: Row, tests: Mapping[int, HeatTest]) -> KeptRun | None:
    """A judged heat run with the entry it stands in, if it is one of a log; None for other rows."""
    if row.heat is None:
        return None
    test = tests.get(row.entries[0]) if len(row.entries) == 1 else None
    number = row.entries[0] if test is not None else -row.entries[0]
    name = row.key.removeprefix(HEAT_KEY)
    return KeptRun(number=number, device=name, judged=row.heat, reasons=row.reasons, entries=row.entries, test=test)


def coil_named(variant: Variant | None, name: str) -> Coil | None:
    """The winding of a variant by its name, capitals or not."""
    return next((one for one in coils_of(variant) if one.name.lower() == name.strip().lower()), None)


def coils_of(variant: Variant | None) -> tuple[Coil, ...]:
    """Everything that is read as a winding."""
    return tuple(one for one in (variant.devices if variant is not None else ()) if isinstance(one, Coil))


def front_of(runs: Sequence[KeptRun]) -> int:
    """The run that is news: the first that fails, else the first that cannot be told, else the newest."""
    for verdict in (Verdict.FAIL, Verdict.CANT_TELL):
        for run in runs:
            if run.judged.verdict is verdict:
                return run.number
    return runs[-1].number


def run_shown(run: KeptRun) -> RunShown:
    """Its line."""
    judged = run.judged
    return RunShown(
        number=run.number,
        device=run.device,
        kind=_kind(run.found),
        value=value_text(judged.ohm_at_ref, judged.U_ohm_at_ref, unit=False),
        limits=_limits(judged.limits),
        verdict=judged.verdict,
        tip=f"{run.reasons[0]} {run.taken}",
    )


def _kind(found: HeatFound) -> str:
    opens = any(event.kind == "open" for event in found.events)
    return f"opens, {KIND_WORDS[found.kind]}" if opens else KIND_WORDS[found.kind]


def _limits(limits: Limits) -> str:
    return limits_text(limits.low_ohm, limits.high_ohm) if limits.is_stated else "\u2013"


def card_shown(run: KeptRun) -> CardShown:
    """Everything about it."""
    found, judged = run.found, run.judged
    return CardShown(
        device=run.device,
        verdict=judged.verdict,
        sentence=run.reasons[0],
        limits=limits_sentence(judged.limits),
        rulers=(_slope(found), _size(found, is_settled=run.is_settled), _lag(found, is_settled=run.is_settled)),
        reasons=run.reasons[1:],
        events=events_shown(found.events),
        advice=found.advice,
        about=_about(run),
    )


def limits_sentence(limits: Limits) -> str:
    """The limits with their temperature and source."""
    if not limits.is_stated:
        return "No limit is stated for it."
    source = f"; {limits.source}" if limits.source else ""
    assumed = "" if limits.is_ref_stated else ", which is assumed"
    words = limits_text(limits.low_ohm, limits.high_ohm)
    unit = "" if words.endswith(OHM) else f" {OHM}"
    return f"Limits: {words}{unit} at {celsius_text(limits.ref_celsius)}{assumed}{source}."


def _slope(found: HeatFound) -> RulerShown:
    return RulerShown(
        label="Slope against copper",
        value=found.slope_over_copper.value,
        expanded=K95 * found.slope_over_copper.u,
        text=plain_text(found.slope_over_copper),
        post=1.0,
        post_text="copper",
    )


def _size(found: HeatFound, *, is_settled: bool) -> RulerShown:
    """The part in series, or the excess where it grows with heat."""
    if found.kind is HeatKind.GROWS_WITH_HEAT:
        label = f"Too much at the hottest, {celsius_text(found.hottest_celsius)}"
        return _sized(label, found.excess_ohm_at_hottest, NO_EXCESS)
    why = NO_SERIES_COPPER
    if found.kind is HeatKind.NOT_SEPARABLE:
        why = NO_SERIES_ALONE if is_settled else NO_SERIES_HIDDEN
    return _sized("Resistance in series", found.series_ohm, why)


def _without(why: str) -> str:
    return NOT_KNOWN if why in _UNKNOWN else NONE


def _sized(label: str, size: Sized | None, why: str) -> RulerShown:
    if size is None:
        return RulerShown(label=label, unit=OHM, text=_without(why), why=why)
    expanded = K95 * size.u
    text = value_text(size.value, expanded)
    return RulerShown(label=label, value=size.value, expanded=expanded, text=text, unit=OHM, post=0.0, post_text="none")


def _lag(found: HeatFound, *, is_settled: bool) -> RulerShown:
    label = "Coil behind the probe"
    if found.lag_s is None:
        why = NO_LAG_SETTLED if is_settled else NO_LAG_HIDDEN
        return RulerShown(label=label, unit="s", text=_without(why), why=why)
    lag = found.lag_s
    return RulerShown(
        label=label,
        value=lag.value,
        expanded=K95 * lag.u,
        text=f"{plain_text(lag)} s",
        unit="s",
        post=0.0,
        post_text="at once",
    )


def plain_text(sized: Sized) -> str:
    """Value and expanded uncertainty to the same place, without a unit."""
    places = decimals_for(K95 * sized.u)
    return f"{sized.value:.{places}f} \u00b1 {K95 * sized.u:.{places}f}"


def events_shown(events: Sequence[HeatEvent]) -> tuple[str, ...]:
    """What happened, numbered as in the drawing; many are counted."""
    lines = [f"{number}  {event_words(event)}" for number, event in enumerate(events[:MOST_EVENTS], 1)]
    left = len(events) - len(lines)
    return (*lines, f"and {left} more") if left else tuple(lines)


def event_words(event: HeatEvent) -> str:
    """One opening or step with its time and temperature."""
    what = "Opened" if event.size_ohm is None else f"Jumped by {ohm_text(event.size_ohm)}"
    when = f" after {duration_text(event.t_s)}" if event.t_s is not None else ""
    way = "" if event.heating is None else (", warming" if event.heating else ", cooling")
    return f"{what}{when} at {celsius_text(event.coil_celsius)} of the coil{way}"


def _about(run: KeptRun) -> str:
    found = run.found
    left_out = f", {found.left_out} of them left out" if found.left_out else ""
    assumed = " (assumed)" if found.meter_is_assumed else ""
    span = f"{celsius_text(found.coldest_celsius)} to {celsius_text(found.hottest_celsius)}"
    return f"{run.taken} {found.n} readings{left_out} from {span}, meter {found.meter}{assumed}."


def plot_sentence(run: KeptRun) -> str:
    """What the drawing shows, for the reader."""
    return f"{run.device}. {run.reasons[0]}"


def events_count(found: HeatFound) -> str:
    """How many openings and steps, after a comma; empty for none."""
    count = len(found.events)
    return f", {count} event{'s' if count > 1 else ''}" if count else ""
