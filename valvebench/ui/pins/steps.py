"""The questions of a check resistor and of a volts ratio, one after the other.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType
from typing import Final

from valvebench.model.errors import bad
from valvebench.model.format import OHM
from valvebench.model.meter import DEFAULT_VOLTS_METER, Check, parse_meter
from valvebench.model.numbers import decimal
from valvebench.model.variant import AnyDevice, Solenoid
from valvebench.ui.job.numbers import typed_number
from valvebench.ui.pins.plan import Pair

_TOLERANCE_PCT: Final = 0.1
ALWAYS_SAFE: Final = "Unit de-energised and unplugged, static care; the part dry of solvent."
FEED_SAFE: Final = "Current-limited supply only, {ampere}, a few seconds, the stated polarity."
USUAL_AMPERE: Final = 0.2
OF_AN_EARLIER_JOB: Final = "Remembered from an earlier job: Enter takes it, or type what is stated on this one."


class Ask(Enum):
    """One question."""

    VALUE = "value"
    TOLERANCE = "tolerance"
    TIPS = "tips"
    READ = "read"
    VOLTS_METER = "volts_meter"
    VOLTS_CHECK = "volts_check"
    VOLTS_DEVICE = "volts_device"


_KNOWN: Final = MappingProxyType(
    {
        Ask.VALUE: "Check resistor",
        Ask.TOLERANCE: "Its tolerance",
        Ask.TIPS: "Tips alone",
        Ask.READ: "The meter shows",
        Ask.VOLTS_METER: "Volt range",
        Ask.VOLTS_CHECK: "Across the check resistor",
        Ask.VOLTS_DEVICE: "Across the solenoid",
    }
)
_UNIT: Final = MappingProxyType({Ask.TOLERANCE: "%", Ask.VOLTS_METER: "", Ask.VOLTS_CHECK: "V", Ask.VOLTS_DEVICE: "V"})


@dataclass(frozen=True, kw_only=True)
class StepShown:
    """One question in large letters, and what was answered before."""

    title: str
    lead: str
    big: str
    what: str
    expect: str
    unit: str
    text: str
    known: tuple[tuple[str, str], ...]
    safety: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Steps:
    """Questions, which one is asked, and the answers as they were typed; of an earlier job is what `is_remembered`."""

    is_volts: bool
    asks: tuple[Ask, ...]
    place: int = 0
    answers: Mapping[Ask, str]
    is_remembered: bool = False

    @property
    def ask(self) -> Ask:
        """The question that is asked."""
        return self.asks[self.place]

    @property
    def is_last(self) -> bool:
        """Whether its answer is the last one."""
        return self.place == len(self.asks) - 1

    def answered(self, text: str) -> Steps:
        """The same with this answer (raises BadInput where it is none)."""
        answer_of(self.ask, text)
        return replace(self, answers=MappingProxyType({**self.answers, self.ask: text.strip()}))

    def moved(self, by: int) -> Steps:
        """The next or the previous question; the ends stay."""
        return replace(self, place=min(max(self.place + by, 0), len(self.asks) - 1))

    def number(self, ask: Ask) -> float:
        """A number that was answered [ohm, V, percent]."""
        return float(answer_of(ask, self.answers[ask]))

    def text(self, ask: Ask) -> str:
        """Words that were answered."""
        return str(answer_of(ask, self.answers[ask]))


def check_steps(known: Check | None, *, wants_tips: bool, is_remembered: bool = False) -> Steps:
    """Value and tolerance unless known from this session, the tips unless taken off, the reading."""
    asks = (Ask.VALUE, Ask.TOLERANCE, *((Ask.TIPS,) if wants_tips else ()), Ask.READ)
    place = 0 if known is None or is_remembered else 2
    return Steps(
        is_volts=False,
        asks=asks,
        place=place,
        answers=_remembered(known),
        is_remembered=place == 0 and known is not None,
    )


def volts_steps(known: Check | None, *, is_remembered: bool = False) -> Steps:
    """Value and tolerance where they are not known from this session, then the two voltages."""
    asks = (Ask.VOLTS_METER, Ask.VALUE, Ask.TOLERANCE, Ask.VOLTS_CHECK, Ask.VOLTS_DEVICE)
    answers = MappingProxyType({Ask.VOLTS_METER: DEFAULT_VOLTS_METER, **_remembered(known)})
    place = 1 if known is None or is_remembered else 3
    return Steps(is_volts=True, asks=asks, place=place, answers=answers, is_remembered=place == 1 and known is not None)


def _remembered(known: Check | None) -> Mapping[Ask, str]:
    if known is None:
        return MappingProxyType({Ask.TOLERANCE: f"{_TOLERANCE_PCT:g}"})
    return MappingProxyType({Ask.VALUE: f"{known.ohm:.10g}", Ask.TOLERANCE: f"{known.pct:.10g}"})


def answer_of(ask: Ask, text: str) -> float | str:
    """An answer as a number [ohm, V, percent], or the volt range in its usual form (raises BadInput)."""
    if ask is Ask.VOLTS_METER:
        return parse_meter(text, where="volt range").text()
    if ask is Ask.TOLERANCE:
        pct = decimal(text, where="tolerance")
        if not pct >= 0:
            raise bad("tolerance", repr(text), "a tolerance such as 0.1 percent")
        return pct
    number = typed_number(text)
    if not (number >= 0 if ask is Ask.TIPS else number > 0):
        raise bad(_KNOWN[ask].lower(), repr(text), "a number above zero")
    return number


def step_shown(steps: Steps, *, pair: Pair, device: AnyDevice | None) -> StepShown:
    """The question as it is asked."""
    lead, big, expect = _words(steps, pair, device)
    done = [ask for ask in steps.asks if ask in steps.answers and ask is not steps.ask]
    return StepShown(
        title="Volts ratio" if steps.is_volts else "Check resistor",
        lead=lead,
        big=big,
        what=f"{'Volts ratio' if steps.is_volts else 'Check resistor'}, {steps.place + 1} of {len(steps.asks)}",
        expect=expect,
        unit=_UNIT.get(steps.ask, OHM),
        text=steps.answers.get(steps.ask, ""),
        known=tuple((_KNOWN[ask], _with_unit(ask, steps.answers[ask])) for ask in done),
        safety=safety_of(device) if steps.is_volts else (),
    )


def _with_unit(ask: Ask, text: str) -> str:
    if ask is Ask.VOLTS_METER:
        return f"{text}{', assumed' if text == DEFAULT_VOLTS_METER else ''}"
    return f"{text} {_UNIT.get(ask, OHM)}"


def _words(steps: Steps, pair: Pair, device: AnyDevice | None) -> tuple[str, str, str]:
    """Lead, large words and what to do, of each question."""
    resistor = _with_unit(Ask.VALUE, steps.answers.get(Ask.VALUE, ""))
    name = device.name if device is not None else "the device"
    stated = OF_AN_EARLIER_JOB if steps.is_remembered else "As stated on it. Near the value of the windings is best."
    same = "Same leads, same range as for the readings."
    return {
        Ask.VALUE: ("Which check resistor?", "Its value", stated),
        Ask.TOLERANCE: ("How well is it known?", "Tolerance", "As stated on it; Enter takes what stands here."),
        Ask.TIPS: ("Hold the tips together, read", "Tips", same),
        Ask.READ: ("Read the check resistor", resistor, same),
        Ask.VOLTS_METER: ("How good is the volt range?", "Volts", "From its booklet: percent, counts, step, in volt."),
        Ask.VOLTS_CHECK: ("Volts across the resistor", resistor, f"In series with {name}, both fed by one supply."),
        Ask.VOLTS_DEVICE: (
            f"Volts across {name}",
            f"{pair.red} and {pair.black}",
            "Same supply, same volt range, straight after.",
        ),
    }[steps.ask]


def safety_of(device: AnyDevice | None) -> tuple[str, ...]:
    """What is said before a solenoid is fed; never above what the variant states for it."""
    most = device.max_ampere if isinstance(device, Solenoid) else None
    is_small = most is not None and most < USUAL_AMPERE
    ampere = f"never above {most:g} A" if is_small else "0.1 to 0.2 A"
    return FEED_SAFE.format(ampere=ampere), ALWAYS_SAFE
