"""What each cheap way would do to "can this meter decide", told before it is done.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from valvebench.judge.book import Book
from valvebench.judge.resistance import judge, to_reference
from valvebench.judge.row import Row
from valvebench.judge.session import SAME_PLATEAU_CELSIUS, item_verdict
from valvebench.judge.targets import Target, device_at, may_feed, target_of
from valvebench.judge.ways import Outlook, Way, WayKind, all_ways, cheap_ways, middle_of, outlook
from valvebench.model.entry import Reading
from valvebench.model.format import celsius_text, doubt_text
from valvebench.model.meter import Check, Instrument
from valvebench.model.variant import AnyDevice, Solenoid, Variant
from valvebench.model.words import Rule, Verdict
from valvebench.ui.pins.keys import CHECK_KEY, SET_UP_KEY, VOLTS_KEY
from valvebench.ui.pins.plan import Pair
from valvebench.ui.pins.shown import ruler_scale
from valvebench.ui.set_up import SetUp
from valvebench.ui.way_words import way_words

_KEY: Final = MappingProxyType({WayKind.CHECK: CHECK_KEY, WayKind.VOLTS: VOLTS_KEY})
_COMPARE: Final = "with another body, same meter, same hour."


@dataclass(frozen=True, kw_only=True)
class AtHand:
    """The pair at hand and what is known of it: typed now, else kept; ohm after leads at the coil temperature."""

    pair: Pair
    target: Target
    device: AnyDevice | None
    reading: Reading
    check: Check | None
    rule: Rule
    ohm: float | None = None
    verdict: Verdict = Verdict.NOT_TAKEN
    advice: str = ""


@dataclass(frozen=True, kw_only=True)
class Ghost:
    """Where the whisker would end, in the ruler's unit, and what would have been done."""

    value: float
    expanded: float
    words: str


@dataclass(frozen=True, kw_only=True)
class WayShown:
    """One way with its key, and what it would do."""

    kind: WayKind
    key: str
    words: str
    effect: str
    would_decide: bool
    ghost: Ghost


@dataclass(frozen=True, kw_only=True)
class WaysShown:
    """The ways in their order, the one to begin with, and where else to look."""

    title: str
    now: str = ""
    rows: tuple[WayShown, ...] = ()
    first: int = 0
    pointer: str = ""


def at_hand(
    variant: Variant | None, set_up: SetUp, pair: Pair, *, value: dict[str, Any] | None, book: Book | None, rule: Rule
) -> AtHand:
    """The pair with the reading that is typed, or with what stands for its item."""
    reading = set_up.reading(*pair, **(value or {"ohm": 0.0}))  # the lever changes no limit of a winding or sensor
    target = target_of(variant, reading)
    device = device_at(variant, *pair) if variant is not None else None
    check = book.check_for(reading) if book is not None else None
    bare = AtHand(pair=pair, target=target, device=device, reading=reading, check=check, rule=rule)
    if value is None:
        return _with_kept(bare, book)
    judged = judge(reading, target.limits, rule=rule, check=check)
    return _with(bare, judged.ohm, judged.verdict, judged.advice)


def _with_kept(bare: AtHand, book: Book | None) -> AtHand:
    """What was kept of this item near the present temperature: its newest row of the verdict that stands."""
    rows = book.rows_of_item(bare.target.key) if book is not None else ()
    near = [row for row in rows if _is_near(row, bare.reading.celsius)]
    if not near:
        return bare
    verdict = item_verdict(near)
    judged = next((row.judgement for row in reversed(near) if row.verdict is verdict), None)
    if judged is None or judged.ohm_at_ref is None:
        return _with(bare, None, verdict, judged.advice if judged is not None else ())
    now_ohm = judged.ohm_at_ref / to_reference(bare.target.limits, bare.reading.celsius)
    return _with(bare, now_ohm, verdict, judged.advice)


def _is_near(row: Row, celsius: float) -> bool:
    return row.celsius is not None and abs(row.celsius - celsius) <= SAME_PLATEAU_CELSIUS


def _with(bare: AtHand, ohm: float | None, verdict: Verdict, advice: tuple[str, ...]) -> AtHand:
    parts = {name: getattr(bare, name) for name in ("pair", "target", "device", "reading", "check", "rule")}
    return AtHand(**parts, ohm=ohm, verdict=verdict, advice=advice[0] if advice else "")


def _nothing_known() -> None:
    """No check resistor was read yet."""


def ways_shown(
    hand: AtHand, variant: Variant | None, *, known_now: Callable[[], Check | None] = _nothing_known
) -> WaysShown | None:
    """The list; None where nothing is left to decide, or nothing could be.

    `known_now` looks the resistor up in the whole session: it is asked only where there is a list.
    """
    limits, reading = hand.target.limits, hand.reading
    if not limits.is_stated or reading.half_width_celsius() is None:
        return None
    title = f"To decide {hand.device.name if hand.device is not None else hand.target.what}"
    if hand.verdict is Verdict.CANT_TELL and hand.ohm is None:  # open on too low a range: only a range helps
        return WaysShown(title=title, pointer=hand.advice)
    instrument = reading.instrument(check=hand.check)
    now = outlook(instrument, reading, limits, rule=hand.rule, ohm=hand.ohm)
    if not _is_needed(hand, now):
        return None
    known = known_now()
    rows = tuple(_row(hand, way, known) for way in _offered(hand, instrument, variant, known))
    deciding = [place for place, row in enumerate(rows) if row.would_decide]
    return WaysShown(
        title=title,
        now=f"now {_doubt(hand, now)}",
        rows=rows,
        first=deciding[0] if deciding else _narrowest(rows),
        pointer=_pointer(hand, instrument, variant, is_enough=bool(deciding)),
    )


def _narrowest(rows: tuple[WayShown, ...]) -> int:
    return min(range(len(rows)), key=lambda place: rows[place].ghost.expanded, default=0)


def _is_needed(hand: AtHand, now: Outlook) -> bool:
    if hand.verdict is Verdict.CANT_TELL:
        return True
    return hand.verdict is Verdict.NOT_TAKEN and now.can_decide is False


def _offered(hand: AtHand, instrument: Instrument, variant: Variant | None, known: Check | None) -> Iterable[Way]:
    ways = cheap_ways(instrument, hand.reading, hand.target.limits, known=known)
    has_volts = may_feed(variant, hand.device)
    return [way for way in ways if way.kind is not WayKind.VOLTS or has_volts]


def _row(hand: AtHand, way: Way, known: Check | None) -> WayShown:
    words = way_words(way, known=known)
    seen = outlook(way.instrument, way.measured, hand.target.limits, rule=hand.rule, ohm=hand.ohm)
    would_decide = _would_decide(seen)
    return WayShown(
        kind=way.kind,
        key=_KEY.get(way.kind, SET_UP_KEY),
        words=words,
        effect=f"{_doubt(hand, seen)}: {_effect(seen, would_decide=would_decide)}",
        would_decide=would_decide,
        ghost=_ghost(hand, seen, words),
    )


def _effect(seen: Outlook, *, would_decide: bool) -> str:
    if seen.verdict is None:
        return "can decide" if would_decide else "still too wide"
    if would_decide:
        return "decides, if the value stays"
    return "still too wide" if seen.can_decide is False else "still too close"


def _doubt(hand: AtHand, seen: Outlook) -> str:
    expanded = seen.here_U_ohm if seen.here_U_ohm is not None else seen.middle_U_ohm
    return doubt_text(expanded or 0.0, beside_ohm=_at_ref(hand))


def _at_ref(hand: AtHand) -> float:
    """The value at hand, else the middle of the band, where the limits hold [ohm]."""
    limits, reading = hand.target.limits, hand.reading
    ohm = hand.ohm if hand.ohm is not None else middle_of(limits, reading)
    return ohm * to_reference(limits, reading.celsius)


def _ghost(hand: AtHand, seen: Outlook, words: str) -> Ghost:
    value = _at_ref(hand)
    factor, _ = ruler_scale(hand.target.limits, value)
    expanded = seen.here_U_ohm if seen.here_U_ohm is not None else seen.middle_U_ohm
    told = f"{_doubt(hand, seen)} with: {words[0].lower()}{words[1:]}"
    return Ghost(value=value / factor, expanded=(expanded or 0.0) / factor, words=told)


def _pointer(hand: AtHand, instrument: Instrument, variant: Variant | None, *, is_enough: bool) -> str:
    """What needs no other meter, and what to do where no single way is enough."""
    like = _like_ones(hand.device, variant)
    compare = f"compare with {', '.join(like)}, or {_COMPARE}" if like else f"compare {_COMPARE}"
    if is_enough:
        return f"Or {compare}"
    joint = _joint(hand, instrument, variant)
    return f"None alone decides. {joint}" if joint else f"None alone decides: {compare}"


def _joint(hand: AtHand, instrument: Instrument, variant: Variant | None) -> str:
    """The cheapest that decides together with a better temperature; nothing where none does."""
    limits, has_volts = hand.target.limits, may_feed(variant, hand.device)
    for way in all_ways(instrument, hand.reading, limits):
        is_joint = way.has_probe or way.celsius is not None
        if is_joint and (has_volts or way.kind is not WayKind.VOLTS):
            seen = outlook(way.instrument, way.measured, limits, rule=hand.rule, ohm=hand.ohm)
            if _would_decide(seen):
                return f"{_joint_words(way)}, does: {_doubt(hand, seen)}."
    return ""


def _joint_words(way: Way) -> str:
    if way.celsius is not None:
        return f"Part and thermometer in one still bath, within {celsius_text(way.celsius)}"
    return f"{way_words(way)}, together with a taped probe"


def _would_decide(seen: Outlook) -> bool:
    return seen.can_decide is True if seen.verdict is None else seen.verdict is not Verdict.CANT_TELL


def _like_ones(device: AnyDevice | None, variant: Variant | None) -> list[str]:
    if not isinstance(device, Solenoid) or device.matched_set is None or variant is None:
        return []
    return [
        one.name
        for one in variant.devices
        if isinstance(one, Solenoid) and one.matched_set == device.matched_set and one.name != device.name
    ]
