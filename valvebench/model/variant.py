"""One hardware version of a valve body, as its file describes it.  Schema: `valvebench schema variant`."""

from __future__ import annotations

from typing import Annotated, Literal, dataclass_transform

import msgspec

from valvebench.model.words import CheckTime, CodeState, Duty, Place, Reaction, SourceKind, SwitchState

Ohm = Annotated[float, msgspec.Meta(ge=0, description="ohm")]
Positive = Annotated[float, msgspec.Meta(gt=0)]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Fraction = Annotated[float, msgspec.Meta(ge=0, le=1)]
Node = Name
"""A pin, `case`, an internal joint, or a device terminal such as `Heron.1`."""


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Facts(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every part of a variant: frozen, named fields, unknown keys refused."""


class Face(Facts, kw_only=True):
    """A connector as drawn, seen from its mating side unless said otherwise."""

    name: Name
    layout: Literal["grid", "ring", "free"] = "grid"
    rows: int | None = None
    columns: int | None = None
    seen_from: Literal["mating", "wire"] = "mating"


class Pin(Facts, kw_only=True):
    """A contact of a face; x and y are steps of the grid or fractions of the face."""

    name: Name
    face: Name | None = None
    x: float | None = None
    y: float | None = None


class Source(Facts, kw_only=True):
    """Where a limit comes from; `n` good bodies when measured or learned."""

    kind: SourceKind
    text: str = ""
    n: int | None = None


class Beta(Facts, kw_only=True):
    """A falling sensor by the Beta equation, with its tolerance."""

    r_ohm: Positive
    at_celsius: float = 25.0
    b_kelvin: Positive
    tolerance_pct: Positive = 5.0


class SteinhartHart(Facts, kw_only=True):
    """A falling sensor by 1/T = A + B ln R + C (ln R)^3, with its tolerance."""

    a: float
    b: float
    c: float
    tolerance_pct: Positive = 5.0


class Device(Facts, kw_only=True, tag_field="kind"):
    """What is wired behind two nodes."""

    name: Name
    between: tuple[Node, Node]
    source: Source | None = None
    note: str = ""


class Coil(Device, kw_only=True):
    """A device that is read as a winding, limits in ohm at `ref_celsius` (null: not stated)."""

    low_ohm: Ohm | None = None
    high_ohm: Ohm | None = None
    ref_celsius: float | None = 20.0
    k: Annotated[float, msgspec.Meta(gt=50)] = 234.5
    matched_set: Name | None = None


class Solenoid(Coil, kw_only=True, tag="solenoid"):
    """A solenoid; `normally` and `max_ampere` serve tests by function, `max_hysteresis_pct` (of the span) a sweep.

    `max_seat_ml_min` is the most air it may let through where it shuts, with `seat_kpa_gauge` before it.
    """

    duty: Duty | None = None
    normally: SwitchState | None = None
    max_ampere: Positive | None = None
    max_hysteresis_pct: Positive | None = None
    max_seat_ml_min: Positive | None = None
    seat_kpa_gauge: Positive | None = None

    @property
    def seat(self) -> Port:
        """The hole it shuts, with its limit: blown into like a port."""
        return Port(name=self.name, method="steady", kpa_gauge=self.seat_kpa_gauge, max_ml_min=self.max_seat_ml_min)


class SpeedSensor(Coil, kw_only=True, tag="speed_sensor"):
    """A speed sensor; only a wound one has limits in ohm."""


class TemperatureSensor(Device, kw_only=True, tag="temperature_sensor"):
    """A sensor by table rows of (celsius, low ohm, high ohm), or by an equation.

    `in_series_with` names a switch that the same two nodes are read through: open, the sensor reads open.
    """

    points: tuple[tuple[float, Positive, Positive], ...] = ()
    beta: Beta | None = None
    steinhart_hart: SteinhartHart | None = None
    in_series_with: Name | None = None


class Switch(Device, kw_only=True, tag="switch"):
    """A pressure or selector switch; `closes_with` names the port whose air moves it."""

    at_rest: SwitchState | None = None
    closes_with: Name | None = None
    closed_max_ohm: Positive | None = None


class Diode(Device, kw_only=True, tag="diode"):
    """A diode, for example one that damps a solenoid; polarity of the reading matters.

    It conducts with the red (positive) tip on its `anode`, one of the two nodes it lies between.
    """

    across: Name | None = None
    anode: Node | None = None


class Link(Device, kw_only=True, tag="link"):
    """A plain connection."""

    max_ohm: Positive | None = None


class Electronics(Device, kw_only=True, tag="electronics"):
    """Electronics on board: not to be probed with an ohmmeter unless the maker says so."""


AnyDevice = Solenoid | SpeedSensor | TemperatureSensor | Switch | Diode | Link | Electronics


class Isolation(Facts, kw_only=True):
    """How well every net must be isolated from the case and from the others."""

    min_ohm: Positive
    source: Source | None = None


class Expectation(Facts, kw_only=True):
    """What a port ought to do for a selector position and solenoid states."""

    reaction: Reaction
    selector: str | None = None
    solenoids: dict[str, Literal["on", "off"]] = {}
    at: str | None = None


class Port(Facts, kw_only=True):
    """A hole one can blow or draw air through; x, y are fractions of the picture."""

    name: Name
    place: Place = Place.BODY
    x: Fraction | None = None
    y: Fraction | None = None
    feeds: str | None = None
    method: Literal["ear", "steady", "vacuum", "decay"] = "ear"
    kpa_gauge: Positive | None = None
    expect: tuple[Expectation, ...] = ()
    max_ml_min: Positive | None = None


class TapWindow(Facts, kw_only=True):
    """What a tap should show in one state [kPa gauge], for fluid in a range of temperatures [degrees Celsius]."""

    state: Name
    low_kpa: float | None = None
    high_kpa: float | None = None
    low_celsius: float | None = None
    high_celsius: float | None = None
    source: Source | None = None


class Tap(Facts, kw_only=True):
    """A place where a gauge is screwed in; `shows` names the clutch or line behind it."""

    name: Name
    shows: str = ""
    windows: tuple[TapWindow, ...] = ()


class Picture(Facts, kw_only=True):
    """A photo kept beside the variant file, known by its SHA-256."""

    sha256: Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
    file: Annotated[str, msgspec.Meta(min_length=1, max_length=200, pattern=r"^[^/\\:]+$")]


class Feature(Facts, kw_only=True):
    """Something one can look at to tell variants apart; `picture` shows it on this variant."""

    name: Name
    values: tuple[str, ...] = ()
    this: str | None = None
    must_match: bool = False
    ask: str = ""
    ask_phone: str = ""
    picture: Picture | None = None


class PartNumber(Facts, kw_only=True):
    """A number the part is ordered by, and the one that took its place."""

    number: Name
    superseded_by: str | None = None


class OrderLine(Facts, kw_only=True):
    """Something to order with the part, such as a seal set."""

    text: Name
    number: str | None = None
    note: str = ""


class Fastener(Facts, kw_only=True):
    """A bolt by place: length in mm, torque in Nm; `order` is its turn when they are tightened."""

    place: Name
    length_mm: Positive | None = None
    torque_nm: Positive | None = None
    count: int = 1
    order: int | None = None
    note: str = ""


class FluidWindow(Facts, kw_only=True):
    """Where the level is right: fluid temperatures in degrees Celsius."""

    by: Literal["overflow", "dipstick"]
    low_celsius: float | None = None
    high_celsius: float | None = None
    kind: str = ""
    note: str = ""


class ChecklistLine(Facts, kw_only=True):
    """Something to look after at the refit; one that is not required may be passed over."""

    text: Name
    required: bool = True
    when: CheckTime | None = None


class Pictures(Facts, kw_only=True):
    """What the ports stand on: a photo of the body, one of the case."""

    body: Picture | None = None
    case: Picture | None = None

    def of(self, place: Place) -> Picture | None:
        """The photo of a place."""
        return self.case if place is Place.CASE else self.body


class CodeRow(Facts, kw_only=True):
    """How the switches stand in one selector position or gear; a switch that is not named does not matter."""

    position: Name
    switches: dict[str, CodeState] = {}
    source: Source | None = None


class Variant(Facts, kw_only=True):
    """A whole variant file."""

    format: Literal[1]
    key: Annotated[str, msgspec.Meta(min_length=1, max_length=100, pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")]
    title: Name
    pins: tuple[Pin, ...]
    note: str = ""
    faces: tuple[Face, ...] = ()
    devices: tuple[AnyDevice, ...] = ()
    isolation: Isolation | None = None
    electronics_on_board: bool = False
    ports: tuple[Port, ...] = ()
    taps: tuple[Tap, ...] = ()
    pictures: Pictures | None = None
    clutches: tuple[str, ...] = ()
    gears: tuple[str, ...] = ()
    apply_chart: dict[str, tuple[str, ...]] = {}
    solenoid_chart: dict[str, dict[str, Literal["on", "off"]]] = {}
    selector_codes: tuple[CodeRow, ...] = ()
    pressure_codes: tuple[CodeRow, ...] = ()
    features: tuple[Feature, ...] = ()
    part_numbers: tuple[PartNumber, ...] = ()
    order_with: tuple[OrderLine | str, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    fluid: FluidWindow | None = None
    checklist: tuple[ChecklistLine | str, ...] = ()

    @property
    def order_lines(self) -> tuple[OrderLine, ...]:
        """What to order with it; a bare text of the file is a line of nothing else."""
        return tuple(OrderLine(text=line) if isinstance(line, str) else line for line in self.order_with)

    @property
    def checklist_lines(self) -> tuple[ChecklistLine, ...]:
        """The checklist; a bare text of the file is a required line without a time."""
        return tuple(ChecklistLine(text=line) if isinstance(line, str) else line for line in self.checklist)

    @property
    def named_pictures(self) -> tuple[Picture, ...]:
        """Every photo the file names: of body and case, then of features."""
        boards = [self.pictures.of(place) for place in Place] if self.pictures is not None else []
        found = (*boards, *(feature.picture for feature in self.features))
        return tuple(picture for picture in found if picture is not None)

    def device_named(self, name: str) -> AnyDevice | None:
        """The device of that name."""
        return next((device for device in self.devices if device.name == name), None)

    def device_between(self, a: str, b: str) -> AnyDevice | None:
        """The device wired straight between two nodes, in either order."""
        pair = {a, b}
        return next((device for device in self.devices if set(device.between) == pair), None)

    def port_named(self, name: str) -> Port | None:
        """The port of that name."""
        return next((port for port in self.ports if port.name == name), None)

    def seat_named(self, name: str) -> Port | None:
        """The seat of the solenoid of that name."""
        device = self.device_named(name)
        return device.seat if isinstance(device, Solenoid) else None

    def tap_named(self, name: str) -> Tap | None:
        """The tap of that name."""
        return next((tap for tap in self.taps if tap.name == name), None)
