"""What the page says of a heat run in rounds, as plain frozen facts.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from valvebench.model.format import celsius_text, open_text
from valvebench.model.words import TEMPERATURE_HALF_WIDTH_CELSIUS, TemperatureSource
from valvebench.ui.pins.keys import ROUNDS_KEY
from valvebench.ui.pins.rounds import STEADY_KELVIN, Kept, Round, Stop, before, lacking

NO_WINDINGS: Final = "This variant asks for no winding, so there is nothing to go round."
ON_BOARD: Final = "Electronics on board: no pair is asked for, cold or warm."
YES: Final = "1"
TYPE_IT: Final = "Type the temperature once it has settled."
SHOWN_ROUNDS: Final = 7
HERE: Final = "\u2026"
"""Stands in the cell whose value is asked for."""
_WARM_SAFE: Final = (
    "Dry of solvent before any heat, its vapour is poisonous. Warm slowly; an oil bath well below its flash point, "
    "free of water, never left alone."
)
_BURN_SAFE: Final = (
    "Above 60 \u00b0C parts burn: gloves. No hotter than the fluid really gets, nor than the lowest rating "
    "on the part. The probe touches the can."
)
HOT_SAFE: Final = (_WARM_SAFE, _BURN_SAFE)
_HOW: Final = MappingProxyType(
    {
        TemperatureSource.TAPED: "Probe taped to the can",
        TemperatureSource.IR_TAPE: "Infra-red on matt tape",
        TemperatureSource.IR_BARE: "Infra-red on bare metal",
        TemperatureSource.ROOM_2H: "Two hours in this room",
        TemperatureSource.ROOM_SHORT: "Under two hours in this room",
    }
)


@dataclass(frozen=True, kw_only=True)
class QuestionShown:
    """A question for a settled temperature in large letters; `text` stands in the field, selected."""

    lead: str
    big: str
    what: str
    expect: str
    unit: str = "\u00b0C"
    text: str = ""
    safety: tuple[str, ...] = HOT_SAFE


@dataclass(frozen=True, kw_only=True)
class LineShown:
    """One winding in the table: its name and what was read in each round."""

    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class BoardShown:
    """The rounds so far: a title, how far this one is, and the table."""

    title: str
    aside: str
    heads: tuple[str, ...]
    lines: tuple[LineShown, ...]


def how_text(how: TemperatureSource) -> str:
    """How a temperature is known, with its half-width."""
    half = TEMPERATURE_HALF_WIDTH_CELSIUS[how]
    return f"{_HOW[how]}, \u00b1 {half:g} \u00b0C" if half is not None else _HOW[how]


def way_text(before_celsius: float | None, celsius: float) -> str:
    """Heating or cooling, as it follows from two temperatures [degC]."""
    if before_celsius is None:
        return "the first"
    if abs(celsius - before_celsius) < STEADY_KELVIN:
        return "at the same temperature"
    return "heating" if celsius > before_celsius else "cooling"


def _arrow(before_celsius: float | None, celsius: float) -> str:
    if before_celsius is None or abs(celsius - before_celsius) < STEADY_KELVIN:
        return ""
    return "\u2191 " if celsius > before_celsius else "\u2193 "


def new_question(number: int, how: TemperatureSource, last: Round | None, lack: Sequence[str]) -> QuestionShown:
    """The temperature of a round that has no reading yet; `lack` is missing from the last one."""
    if last is None:
        expect = "The first may be cold. Type it once the probe stands still."
    elif lack:
        expect = f"Round {last.number} at {celsius_text(last.celsius)} still lacks {some(lack)}: Up goes back to it."
    else:
        expect = f"Warm or cool it from {celsius_text(last.celsius)}; wait until the probe stands still."
    return QuestionShown(lead="Settled temperature of", big=f"Round {number}", what=how_text(how), expect=expect)


def kept_question(one: Round, how: TemperatureSource, stops: Sequence[Stop]) -> QuestionShown:
    """A round that is there already: go into it, or correct its temperature."""
    lack = lacking(one, stops)
    missing = f"Lacks {some(lack)}." if lack else "Complete."
    return QuestionShown(
        lead="Kept as",
        big=f"Round {one.number}",
        what=how_text(how),
        expect=f"{missing} Enter goes into it; another value corrects all {readings_text(len(one.readings))}.",
        text=f"{one.celsius:g}",
    )


def typed_words(number: int, celsius: float, last: Round | None) -> str:
    """What a typed temperature makes of the round that follows the last one."""
    way = way_text(last.celsius if last is not None else None, celsius)
    from_words = f" from {celsius_text(last.celsius)}" if last is not None and way in ("heating", "cooling") else ""
    return f"Round {number}: {way}{from_words}."


def confirm_words(one: Round, count: int, celsius: float, how: TemperatureSource) -> str:
    """The one question before a whole round is corrected."""
    to_words = celsius_text(celsius) if abs(celsius - one.celsius) > 0 else how_text(how)
    it = "it" if count == 1 else "them"
    return (
        f"Correct {readings_text(count)} of round {one.number} to {to_words}? Type {YES}, then Enter; Esc leaves {it}."
    )


def readings_text(count: int) -> str:
    """`1 reading`, `7 readings`."""
    return f"{count} reading{'' if count == 1 else 's'}"


def some(names: Sequence[str]) -> str:
    """A few names, then how many more."""
    if len(names) <= 3:
        return ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]
    return f"{', '.join(names[:2])} and {len(names) - 2} more"


def left_words(rounds: Sequence[Round], celsius: float | None) -> str:
    """What is said when the rounds are left."""
    stays = (
        f" The coil temperature stays {celsius_text(celsius)} until F2 says otherwise." if celsius is not None else ""
    )
    kept = f"{len(rounds)} round{'' if len(rounds) == 1 else 's'} kept, {ROUNDS_KEY} goes on." if rounds else ""
    return f"{kept}{stays}".strip()


def board_shown(
    rounds: Sequence[Round], stops: Sequence[Stop], *, number: int, celsius: float | None, here: str | None
) -> BoardShown:
    """The table of the newest rounds, the one at hand among them though it has no reading yet."""
    shown = [one for one in rounds if one.number != number or celsius is None]
    own = next((one for one in rounds if one.number == number), None)
    columns: list[tuple[int, float, Round | None]] = [(one.number, one.celsius, one) for one in shown]
    if celsius is not None:
        columns.append((number, celsius, own))
    columns.sort(key=lambda column: column[0])
    first = max(0, len(columns) - SHOWN_ROUNDS)
    earlier = [None, *(column[1] for column in columns)]
    heads = tuple(
        f"{_arrow(was, column[1])}{column[1]:.0f}\u00b0" for was, column in zip(earlier, columns, strict=False)
    )
    lines = tuple(_line(stop, columns[first:], here=number if stop.key == here else None) for stop in stops)
    return BoardShown(
        title=_title(rounds, number, celsius),
        aside=_aside(own, stops, celsius),
        heads=heads[first:],
        lines=lines,
    )


def _title(rounds: Sequence[Round], number: int, celsius: float | None) -> str:
    if celsius is None:
        return f"Round {number}"
    last = before(rounds, number)
    way = way_text(last.celsius, celsius) if last is not None else ""
    return f"Round {number} at {celsius_text(celsius)}{f', {way}' if way else ''}"


def _aside(own: Round | None, stops: Sequence[Stop], celsius: float | None) -> str:
    done = len(stops) - len(lacking(own, stops))
    return f"{done} of {len(stops)} pairs" if celsius is not None else ""


def _line(stop: Stop, columns: Sequence[tuple[int, float, Round | None]], *, here: int | None) -> LineShown:
    """One winding, its values to the same place."""
    kept = [one.by_key.get(stop.key, ()) if one is not None else () for _, _, one in columns]
    places = max((_places(own[-1]) for own in kept if own), default=0)
    cells = [_cell(own, places) for own in kept]
    numbers = [number for number, _, _ in columns]
    if here in numbers and not cells[numbers.index(here)]:
        cells[numbers.index(here)] = HERE
    return LineShown(name=stop.name, cells=tuple(cells))


def _cell(own: Sequence[Kept], places: int) -> str:
    if not own:
        return ""
    ohm = _ohm(own[-1])
    text = open_text(own[-1].body.range_ohm) if ohm is None else f"{ohm:.{places}f}"
    return f"{text}+" if len(own) > 1 else text


def _places(kept: Kept) -> int:
    """Decimals as the meter showed them, noughts behind too; a column holds five signs."""
    ohm = _ohm(kept)
    if ohm is None:
        return 0
    shown = max(len(f"{one:.10g}".partition(".")[2]) for one in (ohm, kept.body.meter_spec().step))
    return min(shown, 2 if abs(ohm) < 100 else 0)


def _ohm(kept: Kept) -> float | None:
    """What was read [ohm]; None for open."""
    body = kept.body
    if body.volts_x is not None and body.volts_check and body.check_ohm is not None:
        return body.check_ohm * body.volts_x / body.volts_check
    return body.displayed_ohm
