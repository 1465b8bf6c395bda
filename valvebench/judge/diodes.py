"""A diode across a solenoid: which way round a reading was taken decides what it says of the coil.

Red, the positive tip, is on the first node of a reading, black on the second.  With red on the anode the diode
may conduct beside the coil and the reading can only be lower than the coil; the other way round it blocks and the
reading is the coil's.  Across a sound coil most meters leave too little voltage to open a diode: then both ways
agree, and nothing is said of the diode.  Common practice, no source.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from enum import Enum
from functools import lru_cache
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.judgement import Judgement
from valvebench.judge.row import Row
from valvebench.model.entry import Reading
from valvebench.model.variant import AnyDevice, Diode, Solenoid, Variant
from valvebench.model.words import ItemState, Verdict

NEAR_CELSIUS: Final = 5.0
"""Readings this close in temperature are held against each other: common practice, no source."""
_DEVICE: Final = "device "
_END: Final = "."


class Way(Enum):
    """How the red tip lies to the diode."""

    FORWARD = "forward"
    BLOCKING = "blocking"
    UNKNOWN = "unknown"


class Polar(NamedTuple):
    """A solenoid with a diode across it; the anode is None where nothing says which way it lies."""

    device: Solenoid
    diode: str
    anode: str | None

    def node(self, name: str) -> str:
        """The node that a name means: the device's own terminals are its nodes."""
        ends = {f"{self.device.name}{_END}{place}": node for place, node in enumerate(self.device.between, start=1)}
        return ends.get(name, name)

    def way(self, red: str | None) -> Way:
        """How a reading with red on a node lies to the diode."""
        if self.anode is None or red is None:
            return Way.UNKNOWN
        return Way.FORWARD if self.node(red) == self.anode else Way.BLOCKING


def polar_of(variant: Variant | None, device: AnyDevice | None) -> Polar | None:
    """The diode across a device; None where there is none."""
    if variant is None or not isinstance(device, Solenoid):
        return None
    return _polars(variant.devices).get(device.name)


@lru_cache(maxsize=16)
def _polars(devices: tuple[AnyDevice, ...]) -> dict[str, Polar]:
    """Worked out once for each variant: every reading asks for them."""
    found = {}
    for solenoid in devices:
        if isinstance(solenoid, Solenoid):
            diodes = [each for each in devices if isinstance(each, Diode) and _is_across(each, solenoid)]
            if diodes:
                found[solenoid.name] = Polar(solenoid, diodes[0].name, diodes[0].anode)
    return found


def _is_across(diode: Diode, solenoid: Solenoid) -> bool:
    if diode.across is not None:
        return diode.across == solenoid.name
    return set(diode.between) == set(solenoid.between)


def blocking_order(variant: Variant | None, device: AnyDevice | None, red: str, black: str) -> tuple[str, str]:
    """Red and black so that a diode across the device blocks; as they are where there is none."""
    polar = polar_of(variant, device)
    is_forward = polar is not None and polar.way(red) is Way.FORWARD
    return (black, red) if is_forward else (red, black)


def both_ways(variant: Variant | None, rows: Sequence[Row]) -> tuple[Row, ...]:
    """Rows with what both ways of a solenoid with a diode say of each other; every other row as it is.

    Parameters
    ----------
    variant : says which solenoids have a diode across them, and which way it lies
    rows : judged rows, each by its own number or already through this; all rows of an item are needed together

    Returns
    -------
    tuple of Row, in the same order
        `by_number` holds what the number alone says, where the diode overrules it.

    Source
    ------
    Common practice, no source: beside the coil a conducting diode can only lower the reading.
    """
    polars = _polars(variant.devices) if variant is not None else {}
    if not polars:
        return tuple(rows)
    groups: dict[tuple[str, str | None], list[Row]] = defaultdict(list)
    for row in rows:
        if row.judgement is not None and row.key.removeprefix(_DEVICE) in polars:
            groups[row.key, row.at].append(row)
    return tuple(_settled(polars, row, groups.get((row.key, row.at), ())) for row in rows)


def _settled(polars: dict[str, Polar], row: Row, alike: Sequence[Row]) -> Row:
    judgement = row.by_number or row.judgement
    if judgement is None or not alike:
        return row
    bare = msgspec.structs.replace(
        row, verdict=judgement.verdict, judgement=judgement, reasons=judgement.reasons, by_number=None
    )
    if judgement.state is ItemState.VALUE and judgement.ohm_at_ref is None:
        return bare  # the temperature is not usable: nothing to compare
    polar = polars[row.key.removeprefix(_DEVICE)]
    return _with(bare, polar, _partner(bare, polar, alike))


def _partner(row: Row, polar: Polar, alike: Sequence[Row]) -> Row | None:
    """The newest row of the other way round, near in temperature."""
    red = polar.node(row.from_node or "")
    others = [
        other
        for other in alike
        if polar.node(other.from_node or "") != red
        and abs((other.celsius or 0.0) - (row.celsius or 0.0)) <= NEAR_CELSIUS
        and _ohm(other) is not None
    ]
    return max(others, key=lambda other: other.entries[-1], default=None)


def _number(row: Row) -> Judgement | None:
    return row.by_number or row.judgement


def _ohm(row: Row) -> float | None:
    """What a row reads at the reference [ohm]; open is infinite."""
    judgement = _number(row)
    if judgement is None:
        return None
    return math.inf if judgement.state is ItemState.OPEN else judgement.ohm_at_ref


def _higher(one: Row, two: Row) -> int:
    """1 where the first reads more, -1 where it reads less, 0 where their doubt covers the difference."""
    a, b = _ohm(one), _ohm(two)
    if a is None or b is None or a == b:
        return 0
    if math.isinf(a) or math.isinf(b):
        return 1 if a > b else -1
    return 0 if abs(a - b) <= math.hypot(_doubt(one), _doubt(two)) else (1 if a > b else -1)


def _doubt(row: Row) -> float:
    """Expanded uncertainty of a row [ohm]."""
    judgement = _number(row)
    return (judgement.U_ohm_at_ref or 0.0) if judgement is not None else 0.0


def _with(row: Row, polar: Polar, partner: Row | None) -> Row:
    way = polar.way(row.from_node)
    if partner is None:
        return _told(row, _blocks(polar)) if way is Way.BLOCKING else _one_way(row, polar, way)
    higher, entry = _higher(row, partner), f"entry {partner.entries[-1]}"
    if higher == 0 and (way is Way.BLOCKING or not _is_low(row) or _is_low(partner)):
        return _agreeing(row, polar, partner, entry)
    is_upside_down = (higher > 0) == (way is Way.FORWARD)
    if way is not Way.UNKNOWN and is_upside_down:
        return _upside_down(row, polar, entry)
    if higher > 0:
        words = f"It reads less the other way round ({entry}): diode {polar.diode} conducts there, this is the coil's."
        return _shorted(_told(row, words), polar, partner)
    why = f"Not usable: diode {polar.diode} conducts this way round; the other way round ({entry}) it is the coil's."
    return _overruled(row, Verdict.NOT_USABLE, why)


def _blocks(polar: Polar) -> str:
    return f"Diode {polar.diode} blocks this way round: the reading is the coil's."


def _is_low(row: Row) -> bool:
    """Whether the number fails because it is below the band, not above."""
    judgement = _number(row)
    if judgement is None or judgement.verdict is not Verdict.FAIL or judgement.ohm_at_ref is None:
        return False
    high = judgement.limits.high_ohm
    return high is None or judgement.ohm_at_ref <= high


def _one_way(row: Row, polar: Polar, way: Way) -> Row:
    """Only read the way in which the diode may conduct: too much is too much, everything else may be the diode's."""
    is_too_high = row.verdict is Verdict.FAIL and not _is_low(row)
    if is_too_high or row.verdict is Verdict.NO_LIMIT or math.isinf(_ohm(row) or 0.0):
        return _told(row, f"Diode {polar.diode} lies across it and can only make it read less.")
    lies = "may conduct this way round" if way is Way.FORWARD else "lies across it, nothing says which way"
    why = f"Can't tell: diode {polar.diode} {lies}, and the coil may have more than what was read."
    advice = f"Swap the clips: red on {row.to_node}, black on {row.from_node}, and read again."
    return _overruled(row, Verdict.CANT_TELL, why, advice)


def _agreeing(row: Row, polar: Polar, partner: Row, entry: str) -> Row:
    words = (
        f"Both ways agree ({entry}): diode {polar.diode} does not conduct at this meter's voltage; "
        "whether it is sound, open or absent can't be told."
    )
    if _is_low(row) and _is_low(partner):
        return _shorted(row, polar, partner)
    return _told(row, words)


def _shorted(row: Row, polar: Polar, partner: Row) -> Row:
    if not (_is_low(row) and _is_low(partner)):
        return row
    words = f"Fail: low both ways: the coil or diode {polar.diode} is shorted; which of them can't be told here."
    return _replaced(row, reasons=(words, *row.reasons[1:]))


def _upside_down(row: Row, polar: Polar, entry: str) -> Row:
    why = (
        f"Can't tell: it reads more with red on the anode of diode {polar.diode} than the other way round ({entry}), "
        "which no diode does: the clips, the meter's polarity or the file is the wrong way round."
    )
    advice = "Check which tip is positive on the ohm range and where the anode is, then read both ways again."
    return _overruled(row, Verdict.CANT_TELL, why, advice)


def _told(row: Row, words: str) -> Row:
    return _replaced(row, reasons=(*row.reasons, words))


def _replaced(row: Row, reasons: tuple[str, ...]) -> Row:
    judgement = row.judgement
    if judgement is None:
        return row
    return msgspec.structs.replace(
        row,
        reasons=reasons,
        judgement=msgspec.structs.replace(judgement, reasons=reasons),
        by_number=row.by_number or judgement,
    )


def _overruled(row: Row, verdict: Verdict, why: str, *advice: str) -> Row:
    """Another verdict than the number's, which stays beside it."""
    judgement = row.judgement
    if judgement is None:
        return row
    told = msgspec.structs.replace(
        judgement,
        verdict=verdict,
        lean=None,
        plain_verdict=None,
        p_inside=None,
        reasons=(why, *judgement.reasons[1:]),
        advice=advice,
    )
    return msgspec.structs.replace(row, verdict=verdict, judgement=told, reasons=told.reasons, by_number=judgement)


_NOT_KEPT: Final = 1 << 53
"""The number of a reading that has none yet: newer than every entry."""


def seen_with(
    variant: Variant | None, judgement: Judgement, *, reading: Reading, key: str, rows: Sequence[Row]
) -> Judgement:
    """What a reading that is not kept yet says beside the rows of its item, whose key is given."""
    row = Row(
        entries=(_NOT_KEPT,),
        key=key,
        what=key,
        kind="solenoid",
        verdict=judgement.verdict,
        from_node=reading.from_node,
        to_node=reading.to_node,
        at=reading.at.value,
        celsius=reading.celsius,
        judgement=judgement,
        reasons=judgement.reasons,
    )
    return both_ways(variant, [*rows, row])[-1].judgement or judgement
