"""Air tests with numbers as entries: a leak, a pressure at a tap, a sweep of a solenoid's current."""

from __future__ import annotations

from typing import Annotated, Final, Literal

import msgspec

from valvebench.model.errors import BadReading, Problem
from valvebench.model.heat import Kept
from valvebench.model.leak import LeakFound, LeakMethod, SweepFound
from valvebench.model.meter import parse_meter
from valvebench.model.words import Rule

MOST_TYPED: Final = 1_000
"""More readings of a gauge than anybody types; a logger's file holds them beside the journal."""
TYPED_OF: Final = {
    LeakMethod.STEADY: ("supply_kpa_gauge", "port_kpa_gauge"),
    LeakMethod.VACUUM: ("vacuum_kpa",),
    LeakMethod.DECAY: ("t_s", "kpa_gauge"),
}
"""The columns a person types where there is no file."""

_Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
_Text = Annotated[str, msgspec.Meta(max_length=10_000)]
_Gauge = Annotated[str, msgspec.Meta(max_length=200)]
_Sha256 = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
_Readings = Annotated[tuple[float, ...], msgspec.Meta(max_length=MOST_TYPED)]


class LeakTest(Kept, kw_only=True):
    """A leak as a number: readings (typed, or a file kept beside the journal), set-up and find.

    It is that of one port, or of the seat of one solenoid (`device`), which is shut while air stands before it.

    The find stands in the entry, so that the verdict needs neither the file nor today's program.
    `hose_id` names hose and vessel, `gauge_id` the gauge: what two tests share has one error in both.
    """

    port: _Name | None = None
    device: _Name | None = None
    method: LeakMethod = LeakMethod.STEADY
    sha256: _Sha256 | None = None
    file_name: _Name | None = None
    size_bytes: int | None = None
    supply_kpa_gauge: _Readings = ()
    port_kpa_gauge: _Readings = ()
    vacuum_kpa: _Readings = ()
    t_s: _Readings = ()
    kpa_gauge: _Readings = ()
    restriction_mm: float | None = None
    restriction_c: float | None = None
    restriction_b: float | None = None
    restriction_pct: float | None = None
    blank_kpa: float | None = None
    known_kpa: float | None = None
    known_hole_mm: float | None = None
    known_pct: float | None = None
    volume_ml: float | None = None
    volume_pct: float | None = None
    held_s: float | None = None
    drift_celsius: float | None = None
    blank_ml_min: float | None = None
    gauge: _Gauge | None = None
    gauge_id: _Text | None = None
    hose_id: _Text | None = None
    zero_kpa: float | None = None
    test_kpa_gauge: float | None = None
    celsius: float | None = None
    ambient_kpa_abs: float | None = None
    reference: Literal["iso8778", "dry0"] = "iso8778"
    at_kpa_gauge: float | None = None
    cd: float | None = None
    max_ml_min: float | None = None
    rule: Rule | None = None
    found: LeakFound
    note: _Text | None = None
    program: str = ""

    def __post_init__(self) -> None:
        """A test that exists has its readings; everything wrong is reported at once."""
        problems = [*_file_problems(self.sha256, self.file_name, self.size_bytes), *_reading_problems(self)]
        if (self.port is None) is (self.device is None):
            found = "neither" if self.port is None else "both"
            problems.append(Problem(where="port or device", found=found, expected="one of them"))
        if self.found.method is not self.method:
            expected = f"a find of the method {self.method.value}"
            problems.append(Problem(where="found", found=self.found.method.value, expected=expected))
        if problems:
            raise BadReading(problems)
        if self.gauge is not None:
            parse_meter(self.gauge)

    @property
    def is_logged(self) -> bool:
        """Whether the readings stand in a file."""
        return self.sha256 is not None

    @property
    def is_seat(self) -> bool:
        """Whether it is the seat of a solenoid, and no port."""
        return self.device is not None

    @property
    def of(self) -> str:
        """The name of the port, or of the solenoid."""
        return self.port or self.device or ""

    @property
    def told_of(self) -> str:
        """What leaks, in words: a port by its name, `the seat of Heron`."""
        return f"the seat of {self.device}" if self.is_seat else self.of

    @property
    def gauge_key(self) -> str:
        """Which gauge it was: its name, else its accuracy."""
        return self.gauge_id or self.found.gauge


class PressureTaken(Kept, kw_only=True):
    """The pressure at one tap in one state of the running machine; `state` such as idle, load or a gear."""

    tap: _Name
    kpa_gauge: Annotated[float, msgspec.Meta(ge=-101.325, le=10_000)]
    fluid_celsius: Annotated[float, msgspec.Meta(ge=-50, le=200)]
    state: _Name
    gauge: _Gauge | None = None
    gauge_id: _Text | None = None
    note: _Text | None = None

    def __post_init__(self) -> None:
        """An accuracy that cannot be read is refused here, not when somebody asks for it."""
        if self.gauge is not None:
            parse_meter(self.gauge)


class SweepTest(Kept, kw_only=True):
    """Pressure against current of one solenoid, up and down: a file kept beside the journal, and what was found."""

    device: _Name
    sha256: _Sha256
    file_name: _Name
    size_bytes: int
    rated_ampere: float | None = None
    gauge_id: _Text | None = None
    found: SweepFound
    note: _Text | None = None
    program: str = ""


def _file_problems(*parts: object) -> list[Problem]:
    given = [part is not None for part in parts]
    if all(given) or not any(given):
        return []
    return [Problem(where="file", found="half of it", expected="hash, name and size together")]


def _reading_problems(test: LeakTest) -> list[Problem]:
    wanted = () if test.is_logged else TYPED_OF[test.method]
    own = {name: getattr(test, name) for names in TYPED_OF.values() for name in names}
    counts = {len(own[name]) for name in wanted}
    problems = [
        Problem(where=name, found="readings", expected=f"none of these {_beside(test)}")
        for name, values in own.items()
        if values and name not in wanted
    ]
    if wanted and (len(counts) > 1 or 0 in counts):
        found = ", ".join(f"{len(own[name])} of {name}" for name in wanted)
        problems.append(Problem(where="readings", found=found, expected="as many of each, one at least"))
    return problems


def _beside(test: LeakTest) -> str:
    return "beside a file" if test.is_logged else f"with the method {test.method.value}"
