"""The tables of the variant editor: which cell holds what, and where it stands in the file."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from valvebench.model.draft_field import Cell, Field, Part, words_of
from valvebench.model.draft_refit_fields import CHECKLIST, FASTENERS, FLUID, ORDER_WITH, PART_NUMBERS
from valvebench.model.words import Duty, Place, Reaction, SourceKind, SwitchState

KINDS: Final = (
    ("solenoid", "solenoid"),
    ("temperature_sensor", "temperature sensor"),
    ("speed_sensor", "speed sensor"),
    ("switch", "switch"),
    ("diode", "diode"),
    ("link", "link"),
    ("electronics", "electronics"),
)
DUTIES: Final = tuple((word, "on/off" if word == Duty.ON_OFF.value else text) for word, text in words_of(Duty))
LAYOUTS: Final = (("grid", "grid"), ("ring", "ring"), ("free", "free"))
SIDES: Final = (("mating", "mating"), ("wire", "wire"))
METHODS: Final = (("ear", "ear"), ("steady", "steady"), ("vacuum", "vacuum"), ("decay", "decay"))
SOURCES: Final = words_of(SourceKind)
REACTIONS: Final = words_of(Reaction)

_SOURCE: Final = (
    Field(
        key="source",
        title="Source",
        path=("source", "kind"),
        cell=Cell.CHOICE,
        choices=SOURCES,
        also=("where from", "origin"),
        width_px=92,
    ),
    Field(
        key="source_text",
        title="Page or bodies",
        path=("source", "text"),
        also=("page", "source text", "manual", "reference"),
        width_px=176,
    ),
    Field(key="n", title="n", path=("source", "n"), cell=Cell.WHOLE, also=("bodies", "good bodies"), width_px=48),
)

_BODY: Final = (
    Field(key="key", title="Key", path=("key",)),
    Field(key="title", title="Title", path=("title",)),
    Field(key="note", title="Note", path=("note",)),
    Field(key="electronics", title="Electronics on board", path=("electronics_on_board",), cell=Cell.YES),
    Field(key="isolation", title="Isolation at least, Ω", path=("isolation", "min_ohm"), cell=Cell.OHM),
    Field(
        key="source",
        title="Source of that limit",
        path=("isolation", "source", "kind"),
        cell=Cell.CHOICE,
        choices=SOURCES,
    ),
    Field(key="source_text", title="Page or bodies", path=("isolation", "source", "text")),
    Field(key="n", title="Good bodies, n", path=("isolation", "source", "n"), cell=Cell.WHOLE),
    Field(key="clutches", title="Clutches", path=("clutches",), cell=Cell.LIST),
    Field(key="picture_body", title="Picture of the body", path=("pictures", "body", "file")),
    Field(key="sha_body", title="Picture of the body", path=("pictures", "body", "sha256")),
    Field(key="picture_case", title="Picture of the case", path=("pictures", "case", "file")),
    Field(key="sha_case", title="Picture of the case", path=("pictures", "case", "sha256")),
)

_FACES: Final = (
    Field(key="name", title="Connector", path=("name",), also=("name", "face"), width_px=120),
    Field(key="layout", title="Layout", path=("layout",), cell=Cell.CHOICE, choices=LAYOUTS),
    Field(key="rows", title="Rows", path=("rows",), cell=Cell.WHOLE, width_px=72),
    Field(key="columns", title="Columns", path=("columns",), cell=Cell.WHOLE, width_px=80),
    Field(
        key="seen_from",
        title="Drawn from",
        path=("seen_from",),
        cell=Cell.CHOICE,
        choices=SIDES,
        also=("side", "seen from"),
    ),
)

_PINS: Final = (
    Field(key="name", title="Pin", path=("name",), also=("name", "number", "no", "contact"), width_px=80),
    Field(key="face", title="Connector", path=("face",), also=("face", "plug"), width_px=120),
    Field(key="x", title="x", path=("x",), cell=Cell.NUMBER, also=("column",), width_px=80),
    Field(key="y", title="y", path=("y",), cell=Cell.NUMBER, also=("row",), width_px=80),
)

_DEVICES: Final = (
    Field(key="name", title="Name", path=("name",), also=("device", "solenoid", "part", "coil"), width_px=108),
    Field(key="kind", title="Kind", path=("kind",), cell=Cell.CHOICE, choices=KINDS, also=("type",), width_px=160),
    Field(key="duty", title="Duty", path=("duty",), cell=Cell.CHOICE, choices=DUTIES, also=("drive",), width_px=76),
    Field(
        key="from",
        title="From",
        path=("between", 0),
        also=("pin", "pin 1", "pin a", "from pin", "first pin", "node a"),
        width_px=60,
    ),
    Field(
        key="to",
        title="To",
        path=("between", 1),
        also=("pin 2", "pin b", "to pin", "second pin", "node b", "ground", "return"),
        width_px=60,
    ),
    Field(
        key="low",
        title="Low Ω",
        path=("low_ohm",),
        cell=Cell.OHM,
        also=("low", "min", "minimum", "lower", "lower limit", "ohm min", "min ohm", "low ohm"),
        width_px=76,
    ),
    Field(
        key="high",
        title="High Ω",
        path=("high_ohm",),
        cell=Cell.OHM,
        also=("high", "max", "maximum", "upper", "upper limit", "ohm max", "max ohm", "high ohm"),
        width_px=76,
    ),
    Field(
        key="ref",
        title="At °C",
        path=("ref_celsius",),
        cell=Cell.CELSIUS,
        also=("at", "temperature", "reference temperature", "ref", "°c", "celsius", "ref celsius", "temp"),
        width_px=84,
    ),
    Field(key="k", title="k", path=("k",), cell=Cell.NUMBER, also=("constant", "conductor constant"), width_px=60),
    Field(key="matched", title="Matched set", path=("matched_set",), also=("set", "matched"), width_px=100),
    *_SOURCE,
    Field(
        key="rest",
        title="At rest",
        path=("normally",),
        cell=Cell.CHOICE,
        choices=words_of(SwitchState),
        also=("normally", "rest"),
        width_px=76,
    ),
    Field(
        key="with",
        title="Goes with",
        path=("closes_with",),
        also=("closes with", "port", "across", "in series with"),
        width_px=92,
    ),
    Field(key="anode", title="Anode at", path=("anode",), also=("anode",), width_px=76),
    Field(
        key="ampere", title="Most A", path=("max_ampere",), cell=Cell.NUMBER, also=("max ampere", "ampere"), width_px=72
    ),
    Field(
        key="hysteresis",
        title="Most hysteresis %",
        path=("max_hysteresis_pct",),
        cell=Cell.NUMBER,
        also=("hysteresis", "max hysteresis pct", "max hysteresis", "hysteresis pct"),
        width_px=132,
    ),
    Field(
        key="seat",
        title="Seat ml/min",
        path=("max_seat_ml_min",),
        cell=Cell.NUMBER,
        also=("seat leak", "max seat ml min", "seat"),
        width_px=92,
    ),
    Field(
        key="seat_kpa",
        title="Seat kPa",
        path=("seat_kpa_gauge",),
        cell=Cell.NUMBER,
        also=("seat kpa gauge", "seat pressure"),
        width_px=76,
    ),
    Field(key="points", title="Sensor table", path=("points",), cell=Cell.POINTS, also=("points",), width_px=220),
    Field(key="note", title="Note", path=("note",), also=("remark", "comment"), width_px=200),
)

_PORTS: Final = (
    Field(key="name", title="Port", path=("name",), also=("name",), width_px=80),
    Field(key="place", title="Place", path=("place",), cell=Cell.CHOICE, choices=words_of(Place), width_px=72),
    Field(key="x", title="x", path=("x",), cell=Cell.NUMBER, width_px=60),
    Field(key="y", title="y", path=("y",), cell=Cell.NUMBER, width_px=60),
    Field(key="feeds", title="Feeds", path=("feeds",), also=("clutch", "circuit"), width_px=92),
    Field(key="method", title="Method", path=("method",), cell=Cell.CHOICE, choices=METHODS, width_px=84),
    Field(
        key="kpa",
        title="kPa gauge",
        path=("kpa_gauge",),
        cell=Cell.NUMBER,
        also=("kpa", "pressure", "pressure kpa"),
        width_px=84,
    ),
    Field(key="expect", title="Expect", path=("expect",), cell=Cell.EXPECT, also=("expectation",), width_px=260),
    Field(
        key="max_ml",
        title="Most ml/min",
        path=("max_ml_min",),
        cell=Cell.NUMBER,
        also=("leak", "max ml min", "ml min"),
        width_px=96,
    ),
)

_FEATURES: Final = (
    Field(key="name", title="Feature", path=("name",), also=("name",), width_px=140),
    Field(key="values", title="Can be", path=("values",), cell=Cell.LIST, also=("values",), width_px=160),
    Field(key="this", title="Here", path=("this",), also=("this", "value"), width_px=100),
    Field(key="must_match", title="Must match", path=("must_match",), cell=Cell.YES, width_px=92),
    Field(key="ask", title="Ask at the bench", path=("ask",), also=("ask",), width_px=240),
    Field(key="ask_phone", title="Ask by phone", path=("ask_phone",), width_px=240),
)

_GEARS: Final = (
    Field(key="name", title="Gear", path=("gear",), also=("name",), width_px=72),
    Field(key="clutches", title="Clutches on", path=("apply",), cell=Cell.LIST, also=("clutches",), width_px=240),
    Field(
        key="solenoids",
        title="Solenoids",
        path=("solenoids",),
        cell=Cell.STATES,
        also=("solenoid chart",),
        width_px=360,
    ),
)

_SWITCHES: Final = Field(
    key="switches", title="Switches", path=("switches",), cell=Cell.CODES, also=("code", "states"), width_px=300
)
_SELECTOR_CODES: Final = (
    Field(key="name", title="Lever", path=("position",), also=("position", "selector", "gear", "name"), width_px=80),
    _SWITCHES,
    *_SOURCE,
)
_PRESSURE_CODES: Final = (
    Field(key="name", title="Gear", path=("position",), also=("position", "lever", "name"), width_px=80),
    _SWITCHES,
    *_SOURCE,
)

_TAPS: Final = (
    Field(key="name", title="Tap", path=("name",), also=("name", "gauge port", "test port"), width_px=96),
    Field(key="shows", title="Shows", path=("shows",), also=("feeds", "line", "clutch", "circuit"), width_px=140),
    Field(key="state", title="State", path=("state",), also=("condition", "when", "gear", "load"), width_px=100),
    Field(
        key="low",
        title="Low kPa",
        path=("low_kpa",),
        cell=Cell.NUMBER,
        also=("low", "min", "minimum", "lower", "min kpa", "kpa min", "from kpa"),
        width_px=84,
    ),
    Field(
        key="high",
        title="High kPa",
        path=("high_kpa",),
        cell=Cell.NUMBER,
        also=("high", "max", "maximum", "upper", "max kpa", "kpa max", "to kpa"),
        width_px=84,
    ),
    Field(
        key="from",
        title="Fluid from °C",
        path=("low_celsius",),
        cell=Cell.CELSIUS,
        also=("from", "from celsius", "low celsius", "min celsius", "from c"),
        width_px=108,
    ),
    Field(
        key="to",
        title="Fluid up to °C",
        path=("high_celsius",),
        cell=Cell.CELSIUS,
        also=("to", "up to", "to celsius", "high celsius", "max celsius", "to c"),
        width_px=108,
    ),
    *_SOURCE,
)

FIELDS: Final[Mapping[Part, tuple[Field, ...]]] = MappingProxyType(
    {
        Part.BODY: _BODY,
        Part.FACES: _FACES,
        Part.PINS: _PINS,
        Part.DEVICES: _DEVICES,
        Part.PORTS: _PORTS,
        Part.FEATURES: _FEATURES,
        Part.GEARS: _GEARS,
        Part.FASTENERS: FASTENERS,
        Part.FLUID: FLUID,
        Part.CHECKLIST: CHECKLIST,
        Part.PART_NUMBERS: PART_NUMBERS,
        Part.ORDER_WITH: ORDER_WITH,
        Part.SELECTOR_CODES: _SELECTOR_CODES,
        Part.PRESSURE_CODES: _PRESSURE_CODES,
        Part.TAPS: _TAPS,
    }
)

_COIL: Final = {
    "low": ("low_ohm",),
    "high": ("high_ohm",),
    "ref": ("ref_celsius",),
    "k": ("k",),
    "matched": ("matched_set",),
}
_OF_KIND: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "solenoid": {
            **_COIL,
            "duty": ("duty",),
            "rest": ("normally",),
            "ampere": ("max_ampere",),
            "hysteresis": ("max_hysteresis_pct",),
            "seat": ("max_seat_ml_min",),
            "seat_kpa": ("seat_kpa_gauge",),
        },
        "speed_sensor": _COIL,
        "temperature_sensor": {"points": ("points",), "with": ("in_series_with",)},
        "switch": {"rest": ("at_rest",), "with": ("closes_with",), "high": ("closed_max_ohm",)},
        "diode": {"with": ("across",), "anode": ("anode",)},
        "link": {"high": ("max_ohm",)},
        "electronics": {},
    }
)
_OF_EVERY_KIND: Final = frozenset({"name", "kind", "from", "to", "source", "source_text", "n", "note"})
COIL_KINDS: Final = frozenset({"solenoid", "speed_sensor"})


def place_of(part: Part, key: str) -> int:
    """The number of a column."""
    return next(i for i, field in enumerate(FIELDS[part]) if field.key == key)


def field_of(part: Part, key: str) -> Field:
    """The column of that key."""
    return FIELDS[part][place_of(part, key)]


def path_of(part: Part, field: Field, kind: str) -> tuple[str | int, ...] | None:
    """Where a cell stands in its row of the file; None where it means nothing for a device of this kind."""
    if part is not Part.DEVICES or field.key in _OF_EVERY_KIND:
        return field.path
    return _OF_KIND[kind].get(field.key) if kind in _OF_KIND else field.path


_KEPT_OF: Final = MappingProxyType({"temperature_sensor": frozenset({"beta", "steinhart_hart"})})


def kept_keys(kind: str) -> frozenset[str]:
    """Keys of a device that no column shows; they stay with a row of this kind."""
    return _KEPT_OF.get(kind, frozenset())
