"""What the Findings page shows, as plain frozen facts and as text.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from valvebench.judge.codes import CODE_KEY, CODE_KIND
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.judge.sweep_rows import SWEEP_KEY
from valvebench.judge.tap_rows import TAP_KEY
from valvebench.judge.targets import Wanted
from valvebench.model.format import OHM, celsius_text, high_limit_text, low_limit_text
from valvebench.model.heat import HeatFound
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Verdict
from valvebench.ui.findings.flex_shown import flex_reasons, flex_where, flexed_of, is_flex
from valvebench.ui.findings.heat_shown import HEAT_PAGE, device_of, heat_reasons, heat_where, is_heat
from valvebench.ui.pins.shown import KIND_TEXT, ReadingShown, reading_shown

CAUTION: Final = "An electrical Pass is not a good body; a bench pass is not a road test."
NOTHING_WRONG: Final = "Nothing failed and nothing is in doubt among what was measured."
NOTHING_JUDGED: Final = "Nothing was judged: no reading has a limit. Held against another body it needs none."
NOTHING_MISSING: Final = "Nothing is missing."
PINS_PAGE: Final = "Pins"
PORTS_PAGE: Final = "Ports"
TAPS_PAGE: Final = "Taps"
SWEEP_PAGE: Final = "Sweep"
_MEASURED: Final = ("leak ", "seat ", "tap ", "sweep ")
_ON_PAGE: Final = {TAP_KEY: TAPS_PAGE, SWEEP_KEY: SWEEP_PAGE}
_ON_PORTS: Final = ("port ", "function ", *_MEASURED)
SHOWN_KINDS: Final = (Verdict.FAIL, Verdict.CANT_TELL)
_MOST_REASONS: Final = 40


@dataclass(frozen=True, kw_only=True)
class ReasonShown:
    """One item that failed or cannot be told: ruler (none by ear), limits, first reason, advice."""

    key: str
    page: str
    verdict: Verdict
    what: str
    where: str
    reading: ReadingShown | None = None
    limits: str = ""
    reasons: tuple[str, ...] = ()
    advice: str = ""


@dataclass(frozen=True, kw_only=True)
class MissingShown:
    """One item that is still to be taken, and the page where that is done."""

    key: str
    page: str
    what: str
    where: str
    why: str


@dataclass(frozen=True, kw_only=True)
class FindingsShown:
    """The whole page."""

    verdict: Verdict
    sentence: str
    scope: str
    rule: str
    state: str
    reasons: tuple[ReasonShown, ...] = ()
    more: str = ""
    missing: tuple[MissingShown, ...] = ()

    @property
    def nothing(self) -> str:
        """What stands where no reason does: without a limit nothing was found in order either."""
        return NOTHING_JUDGED if self.verdict is Verdict.NO_LIMIT else NOTHING_WRONG

    def text(self, job: str) -> str:
        """Everything as plain lines, to be pasted elsewhere."""
        lines = [f"Job {job}", self.sentence, self.scope, f"Rule: {self.rule}. {self.state}", CAUTION]
        for reason in self.reasons:
            lines += ["", *_reason_lines(reason)]
        lines += ["", self.more] if self.more else []
        lines += ["", "Still missing:", *(f"- {one.what} ({one.where}): {one.why}" for one in self.missing)]
        return "\n".join(lines if self.missing else [*lines[:-1], NOTHING_MISSING])


def _reason_lines(reason: ReasonShown) -> list[str]:
    value = reason.reading.value_text if reason.reading is not None else ""
    parts = (reason.where, value, reason.limits)
    lines = [f"{VERDICT_TEXT[reason.verdict]}: {reason.what}", ", ".join(part for part in parts if part)]
    return [line for line in (*lines, *reason.reasons, reason.advice) if line]


def findings_shown(
    judged: SessionJudgement, rows_of_item: Mapping[str, Sequence[Row]], *, is_closed: bool
) -> FindingsShown:
    """Verdict, reasons and what is missing; `rows_of_item` holds the rows of every item that is in doubt."""
    keys = troubled(judged)
    reasons = [reason_shown(key, judged.items, rows_of_item[key]) for key in keys[:_MOST_REASONS]]
    left = len(keys) - len(reasons)
    return FindingsShown(
        verdict=judged.verdict,
        sentence=sentence(judged, _not_by_limit(judged.items, rows_of_item)),
        scope=_capital(judged.scope),
        rule=RULE_TEXT[judged.rule],
        state="The session is closed." if is_closed else "The session is open.",
        reasons=tuple(reasons),
        more=f"{left} more are on the Pins page." if left else "",
        missing=tuple(_missing(one, judged.items) for one in judged.missing),
    )


def troubled(judged: SessionJudgement) -> tuple[str, ...]:
    """Keys of the items that failed, then of those that cannot be told, in the order they were taken."""
    return tuple(key for verdict in SHOWN_KINDS for key, found in judged.items.items() if found is verdict)


def _not_by_limit(items: Mapping[str, Verdict], rows_of_item: Mapping[str, Sequence[Row]]) -> frozenset[str]:
    """Items that are undecided for another reason than a limit too close: none of their rows leans to a side."""
    undecided = [key for key in rows_of_item if items[key] is Verdict.CANT_TELL and not is_heat(key)]
    return frozenset(
        key
        for key in undecided
        if all(row.lean is None for row in rows_of_item[key] if row.verdict is Verdict.CANT_TELL)
    )


def sentence(judged: SessionJudgement, not_by_limit: frozenset[str] = frozenset()) -> str:
    """The verdict as one sentence; `not_by_limit` are items that no narrower doubt would decide."""
    keys = troubled(judged)
    failed = [key for key in keys if judged.items[key] is Verdict.FAIL]
    if judged.verdict is Verdict.FAIL:
        return f"Fail: {_failed_words(failed)}"
    if judged.verdict is Verdict.CANT_TELL:
        return f"Can't tell: {_undecided_words(keys, not_by_limit)}"
    if judged.verdict is Verdict.NOT_FINISHED:
        return f"Not finished: {_count(len(judged.missing), 'item is', 'items are')} still to be taken"
    if judged.verdict is Verdict.PASS:
        return "Pass: everything that has a limit and was taken lies inside it"
    return "No limit: nothing that was taken has a limit to hold it against"


def _undecided_words(keys: Sequence[str], not_by_limit: frozenset[str]) -> str:
    runs = [key for key in keys if is_heat(key)]
    if all(is_flex(key) for key in keys):
        return f"{_two_and_more([flexed_of(key) for key in keys])} cannot be told by the flex test"
    if not_by_limit.intersection(keys) or any(key.startswith(_MEASURED) for key in keys):
        return _count(len(keys), "item is not decided", "items are not decided")
    if not runs and not any(is_flex(key) for key in keys):
        return f"{_count(len(keys), 'item is', 'items are')} too close to a limit for this meter"
    if len(runs) < len(keys):
        return f"{len(keys)} items are not decided"
    if len(runs) > 1:
        return f"{len(runs)} heat runs do not decide"
    return f"the heat run of {device_of(runs[0])} does not decide"


def _count(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"


def _failed_words(failed: Sequence[str]) -> str:
    """Each device once: one that fails by single readings as well is named by those."""
    keys = [key for key in failed if not (is_heat(key) and f"device {device_of(key)}" in failed)]
    if len(keys) == 1:
        return _failed_item(keys[0])
    if all(is_heat(key) for key in keys):
        return f"{_two_and_more([device_of(key) for key in keys])} in the heat run"
    return _two_and_more([item_words(key) for key in keys])


def _two_and_more(words: Sequence[str]) -> str:
    return " and ".join(words) if len(words) <= 2 else f"{', '.join(words[:2])} and {len(words) - 2} more"


def _failed_item(key: str) -> str:
    kind, name = key.partition(" ")[::2]
    words = {
        "device": f"{name} is outside its limits",
        "port": f"port {name} does not do what it should",
        "function": f"{name} does not work as it should",
        CODE_KIND: f"the switches do not give the code of {name}",
        "heat": f"{name} fails in the heat run",
        "flex": f"{name} fails in the flex test",
        "leak": f"port {name} leaks more than it may",
        "tap": f"the pressure at {name} is outside its window",
        "sweep": f"{name} fails in the sweep",
    }
    return words.get(kind, f"{item_words(key)} is outside its limits")


def item_words(key: str) -> str:
    """An item by its name."""
    kind, name = key.partition(" ")[::2]
    words = {
        "device": name,
        "port": f"port {name}",
        "function": f"{name} by function",
        "heat": f"{name} in the heat run",
        "flex": f"{name} in the flex test",
        "leak": f"leak of port {name}",
        "seat": f"leak at the seat of {name}",
        "tap": f"pressure at {name}",
        "sweep": f"{name} in the sweep",
    }
    return words.get(kind, f"pins {name.replace(' ', ' and ')}" if kind == "pair" else key)


def reason_shown(key: str, items: Mapping[str, Verdict], rows: Sequence[Row]) -> ReasonShown:
    """One item in doubt, told by the newest of its rows that has its verdict."""
    verdict = items[key]
    row = next(row for row in reversed(rows) if row.verdict is verdict)
    if row.heat is not None:
        return _heat_reason(row, row.heat.found, items, len(rows))
    if row.flex is not None:
        return _flex_reason(row, len(rows))
    judgement = row.judgement
    return ReasonShown(
        key=key,
        page=page_of(key),
        verdict=verdict,
        what=_what(row),
        where=_where(row, len(rows)),
        reading=reading_shown(judgement) if judgement is not None else None,
        limits=_limits(row),
        reasons=row.reasons if row.kind == CODE_KIND else row.reasons[: 1 if judgement is not None else 2],
        advice=row.advice[0] if row.advice else "",
    )


def _heat_reason(row: Row, found: HeatFound, items: Mapping[str, Verdict], count: int) -> ReasonShown:
    return ReasonShown(
        key=row.key,
        page=HEAT_PAGE,
        verdict=row.verdict,
        what=f"Heat run of {device_of(row.key)}",
        where=heat_where(row, found, count),
        limits=_limits(row),
        reasons=heat_reasons(row, found, items),
        advice=row.advice[0] if row.advice else "",
    )


def _flex_reason(row: Row, count: int) -> ReasonShown:
    return ReasonShown(
        key=row.key,
        page=page_of(row.key),
        verdict=row.verdict,
        what=f"Flex test of {flexed_of(row.key)}",
        where=flex_where(row, count),
        reasons=flex_reasons(row),
        advice=row.advice[0] if row.advice else "",
    )


def _what(row: Row) -> str:
    if row.judgement is None:
        return _capital(item_words(row.key))
    kind = KIND_TEXT.get(row.kind)
    return f"{kind} {row.what}" if kind is not None else _capital(row.what)


def _where(row: Row, count: int) -> str:
    at = f" at {celsius_text(row.celsius)}" if row.celsius is not None else ""
    between = f"between {row.from_node} and {row.to_node}{at}" if row.from_node else _not_between(row)
    entries = ", ".join(str(number) for number in row.entries[-3:])
    others = f", {count} rows of this item" if count > 1 else ""
    return f"{between}, entry {entries}{others}"


def _not_between(row: Row) -> str:
    if row.leak is not None or row.pressure is not None or row.sweep is not None:
        return "measured"
    return "switch by switch" if row.kind == CODE_KIND else "by ear"


def _limits(row: Row) -> str:
    judged = row.judgement or row.heat
    if judged is None:
        return ""
    limits = judged.limits
    if not limits.is_stated:
        return "no limit stated"
    source = f"; {row.limit_source}" if row.limit_source else ""
    at = f" at {celsius_text(limits.ref_celsius)}" if limits.k_celsius is not None else ""
    return f"Limits: {limit_words(limits.low_ohm, limits.high_ohm)}{at}{source}"


def limit_words(low_ohm: float | None, high_ohm: float | None) -> str:
    """Both limits rounded inward, the unit once where both share it."""
    low = "" if low_ohm is None else _with_unit(low_limit_text(low_ohm))
    high = "" if high_ohm is None else _with_unit(high_limit_text(high_ohm))
    if not (low and high):
        return f"at least {low}" if low else f"at most {high}"
    number, unit = low.split(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def _with_unit(words: str) -> str:
    return f"{words}{OHM}" if " " in words else f"{words} {OHM}"


def _missing(one: Wanted, items: Mapping[str, Verdict]) -> MissingShown:
    found = items.get(one.key, Verdict.NOT_TAKEN)
    return MissingShown(
        key=one.key,
        page=page_of(one.key),
        what=_capital(one.what),
        where=_missing_where(one),
        why=VERDICT_TEXT[found].lower(),
    )


def _missing_where(one: Wanted) -> str:
    if one.key.startswith(CODE_KEY):
        return "switches"
    if one.key.startswith(TAP_KEY):
        return TAPS_PAGE
    return PORTS_PAGE if page_of(one.key) == PORTS_PAGE else f"{one.from_node}\u2013{one.to_node}"


def page_of(key: str) -> str:
    """Where an item is taken."""
    if is_heat(key):
        return HEAT_PAGE
    own = next((page for begins, page in _ON_PAGE.items() if key.startswith(begins)), None)
    return own or (PORTS_PAGE if key.startswith(_ON_PORTS) else PINS_PAGE)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
