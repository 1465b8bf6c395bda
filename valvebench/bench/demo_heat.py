"""The demo jobs of warmed bodies: rounds at plateaus, a logger that sees an opening, a ramp that tells nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from types import MappingProxyType
from typing import Final

from valvebench.bench.demo_bench import (
    AT_REST,
    CUSTOMER,
    LINEAR,
    MUST_MATCH,
    OTHER_SOLENOIDS,
    complaint,
    sensor_in_oil,
    taped,
)
from valvebench.bench.story import Story, Telling
from valvebench.model.entry import Anchor, FluidFound, Note
from valvebench.model.words import AnchorKind
from valvebench.simulate import quillon
from valvebench.simulate.taking import pairs_at
from valvebench.simulate.warming import Logger, Warming

ROUNDS_CELSIUS: Final = (23.2, 47.0, 69.0, 91.0, 72.0, 49.0, 26.0)
"""Four plateaus up, three down."""
NAMES: Final = ("Gull", "Heron", "Curlew", "Whimbrel")
OPENS_WHILE: Final = Warming(corners=((0.0, 22.5), (3300.0, 96.0), (3900.0, 96.0), (7200.0, 42.0)), lag_s=70.0)
RAMP: Final = Warming(corners=((0.0, 31.0), (1800.0, 92.0)), lag_s=80.0, coil_starts_celsius=24.0)
_LINEAR_PAIRS: Final = MappingProxyType(dict(zip(NAMES, LINEAR, strict=True)))
_SAFE: Final = "Dry of solvent, on the hot plate, probe taped to the can, half an hour at each plateau before reading."


def _logger(every_s: float) -> Logger:
    return Logger(meter=quillon.LOGGER_METER, probe=quillon.TAPED_PROBE, every_s=every_s, noise_ohm=0.004)


def _read_cold(story: Telling, celsius: float) -> None:
    """Everything that is asked for, before any heat."""
    story.do(*pairs_at(celsius, [*LINEAR, *OTHER_SOLENOIDS]), sensor_in_oil(celsius), *pairs_at(celsius, AT_REST))


def _tell_rounds(story: Telling) -> None:
    story.say(FluidFound(colour="amber", smell="none", level="on the mark", debris="none"))
    story.look_at(MUST_MATCH)
    story.wait(30)
    story.do(sensor_in_oil(ROUNDS_CELSIUS[0]), *pairs_at(ROUNDS_CELSIUS[0], AT_REST))
    story.say(Note(text=_SAFE))
    for number, celsius in enumerate(ROUNDS_CELSIUS, start=1):
        story.wait(30 if number > 1 else 2)
        story.do(*pairs_at(celsius, [*LINEAR, *OTHER_SOLENOIDS], in_round=number))
    story.wait(20)
    story.close()
    story.say(Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to=CUSTOMER))


def _tell_opening(story: Telling) -> None:
    story.look_at(MUST_MATCH)
    story.wait(20)
    _read_cold(story, 22.6)
    story.say(Note(text="Cold, nothing fails. Four solenoids on the logger, as hot as the fluid gets, and down again."))
    story.watch(_logger(30.0), OPENS_WHILE, _LINEAR_PAIRS, file_name="shuttle-11-warm.csv")


def _tell_ramp(story: Telling) -> None:
    story.look_at(MUST_MATCH)
    story.wait(10)
    _read_cold(story, 21.8)
    story.say(Note(text="Warming began before the logger ran, and the log ends at the hottest: one rate all the way."))
    story.watch(_logger(15.0), RAMP, _LINEAR_PAIRS, file_name="shuttle-12-up-only.csv")


ROUNDS: Final = Story(
    folder="2221-plateau-rounds",
    about="seven solenoids read in rounds up and down, closed: only the heat run of Heron fails",
    begins=datetime(2026, 3, 6, 7, 40, tzinfo=UTC),
    set_up=taped,
    body=quillon.rounds_body,
    tell=_tell_rounds,
    job=complaint(
        "2221", vehicle="Harbour shuttle 2", odometer_km=176030.0, serial="0417-44", trim="T-30", feel="bump"
    ),
)
OPENING: Final = Story(
    folder="2222-opens-when-hot",
    about="a logger's file of four solenoids, warmed and cooled, Heron lets go when hot, open: Fail",
    begins=datetime(2026, 3, 9, 8, 15, tzinfo=UTC),
    set_up=taped,
    body=quillon.opening_body,
    tell=_tell_opening,
    job=complaint("2222", vehicle="Harbour shuttle 11", odometer_km=93415.0, serial="0431-08", feel="flare"),
)
RAMP_ONLY: Final = Story(
    folder="2223-ramp-only",
    about="a logger's file of warming alone, at one rate, open: lag and contact look alike, Can't tell",
    begins=datetime(2026, 3, 9, 13, 5, tzinfo=UTC),
    set_up=taped,
    body=quillon.ramp_body,
    tell=_tell_ramp,
    job=complaint("2223", vehicle="Harbour shuttle 12", odometer_km=88260.0, serial="0431-21", feel="late"),
)
