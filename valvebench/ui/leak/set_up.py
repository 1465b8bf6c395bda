"""What is said of a leak test beside its readings: fields as they are typed, and as an entry spells them.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from valvebench.model.air_tests import LeakTest
from valvebench.model.errors import BadInput, bad
from valvebench.model.leak import LeakMethod
from valvebench.model.meter import Meter, parse_meter
from valvebench.model.numbers import decimal
from valvebench.physics.air import STANDARD_AMBIENT_KPA_ABS
from valvebench.ui.leak.typed import kpa_meanings

Texts = Mapping[str, str]
"""Fields by name, as they are typed; a field that is not there is empty."""

BORE, STATED, CALIBRATED = "bore", "conductance", "calibrated"
KNOWN, EXPANDED = "known", "expansion"
CHOICES: Final = MappingProxyType(
    {
        "restriction": (
            "Restriction",
            ((BORE, "a bore"), (STATED, "conductance"), (CALIBRATED, "calibrate it")),
        ),
        "volume": ("Hose and vessel", ((KNOWN, "known volume"), (EXPANDED, "by expansion"))),
        "reference": ("Volumes at", (("iso8778", "20 \u00b0C, 100 kPa"), ("dry0", "0 \u00b0C, 101.325 kPa"))),
    }
)
"""Label, and the words that stand for each choice; the first is usual."""


@dataclass(frozen=True, kw_only=True)
class Field:
    """One line that is typed."""

    label: str
    hint: str = ""
    is_text: bool = False
    is_pressure: bool = False


FIELDS: Final = MappingProxyType(
    {
        "restriction_mm": Field(label="Its bore, mm", hint="such as 0.3"),
        "restriction_c": Field(label="Conductance, dm\u00b3/(s bar)", hint="such as 0.004"),
        "restriction_b": Field(label="Critical ratio", hint="0.35 if unknown"),
        "restriction_pct": Field(label="Doubt of it, %", hint="3 if unknown"),
        "cal_mm": Field(label="Known bore at the port, mm", hint="such as 0.5"),
        "cal_pct": Field(label="Doubt of that, %", hint="3 if unknown"),
        "cal_supply": Field(label="Supply with it, kPa", is_pressure=True),
        "cal_port": Field(label="Port gauge with it, kPa", is_pressure=True),
        "known_hole_mm": Field(label="Known hole, mm", hint="such as 0.5"),
        "known_pct": Field(label="Doubt of it, %", hint="3 if unknown"),
        "volume_ml": Field(label="Volume, ml", hint="hose and all"),
        "volume_pct": Field(label="Doubt of it, %", hint="5 if unknown"),
        "exp_ml": Field(label="Known chamber, ml", hint="vented, rigid"),
        "exp_pct": Field(label="Doubt of it, %", hint="1 if unknown"),
        "exp_from": Field(label="Before it is opened, kPa", is_pressure=True),
        "exp_to": Field(label="At rest after it, kPa", is_pressure=True),
        "hose_id": Field(label="Which hose", hint="its name", is_text=True),
        "blank_ml_min": Field(label="Blank test, ml/min", hint="hose plugged"),
        "held_s": Field(label="Supply kept open, s", hint="15, or 30"),
        "drift_celsius": Field(label="Drift of the body, \u00b1 K", hint="1 if unknown"),
        "zero_kpa": Field(label="Gauge when vented, kPa", hint="read it first"),
        "gauge": Field(label="Gauge accuracy", hint="such as 1%+1x1", is_text=True),
        "gauge_id": Field(label="Which gauge", hint="its name", is_text=True),
        "celsius": Field(label="Air, \u00b0C", hint="20 if not read"),
        "ambient_kpa_abs": Field(label="Barometer, kPa", hint="if there is one"),
        "max_ml_min": Field(label="Most allowed, ml/min", hint="none: no verdict"),
    }
)
NEEDED: Final = MappingProxyType(
    {
        BORE: ("restriction_mm",),
        STATED: ("restriction_c",),
        CALIBRATED: ("cal_mm", "cal_supply", "cal_port"),
        LeakMethod.VACUUM.value: ("known_hole_mm",),
        KNOWN: ("volume_ml",),
        EXPANDED: ("exp_ml", "exp_from", "exp_to"),
    }
)
_OWN: Final = MappingProxyType(
    {
        BORE: ("restriction_mm", "restriction_pct"),
        STATED: ("restriction_c", "restriction_b", "restriction_pct"),
        CALIBRATED: ("cal_mm", "cal_pct", "cal_supply", "cal_port"),
        KNOWN: ("volume_ml", "volume_pct"),
        EXPANDED: ("exp_ml", "exp_pct", "exp_from", "exp_to"),
    }
)
_OF_VESSEL: Final = ("hose_id", "blank_ml_min", "held_s", "drift_celsius")
_EVERYWHERE: Final = ("zero_kpa", "gauge", "gauge_id", "celsius", "ambient_kpa_abs", "max_ml_min", "reference")
_ENTRY: Final = (
    *("restriction_mm", "restriction_c", "restriction_b", "restriction_pct", "known_hole_mm", "known_pct"),
    *("volume_ml", "volume_pct", "hose_id", "blank_ml_min", "held_s", "drift_celsius"),
    *("zero_kpa", "gauge", "gauge_id", "celsius", "ambient_kpa_abs"),
)
"""What an entry keeps under the same name."""
_OF_THE_RUN: Final = frozenset({"held_s"})
_OF_THE_DAY: Final = frozenset({"zero_kpa", "blank_ml_min", "celsius", "ambient_kpa_abs"})
DAY: Final = 10
"""So many signs of a time say the day."""
_USUAL_KNOWN_PCT: Final = 3.0
_USUAL_CHAMBER_PCT: Final = 1.0
_ASSUMED_GAUGE: Final = Meter(percent=1.0, counts=1.0, step=1.0)
_U_BAROMETER_KPA, _U_PLACE_KPA = 0.2, 2.0


def choice(texts: Texts, name: str) -> str:
    """The word that is chosen."""
    words = [word for word, _ in CHOICES[name][1]]
    return texts[name] if texts.get(name) in words else words[0]


def way_of(method: LeakMethod, texts: Texts) -> str:
    """How what has to be known is known."""
    if method is LeakMethod.STEADY:
        return choice(texts, "restriction")
    return choice(texts, "volume") if method is LeakMethod.DECAY else method.value


def shown_fields(method: LeakMethod, texts: Texts) -> tuple[str, ...]:
    """The fields and choices that this method asks for, in their order."""
    way = way_of(method, texts)
    if method is LeakMethod.STEADY:
        own: tuple[str, ...] = ("restriction", *_OWN[way])
    elif method is LeakMethod.VACUUM:
        own = ("known_hole_mm", "known_pct")
    else:
        own = ("volume", *_OWN[way], *_OF_VESSEL)
    return (*own, *_EVERYWHERE)


def missing(method: LeakMethod, texts: Texts) -> tuple[str, ...]:
    """The fields without which there is no number."""
    return tuple(name for name in NEEDED[way_of(method, texts)] if not texts.get(name, "").strip())


@dataclass(frozen=True, kw_only=True)
class Said:
    """The set-up as an entry spells it; `problems` by field; `computed` in words; `notes` keep what it came from."""

    fields: Mapping[str, Any]
    problems: Mapping[str, str]
    computed: str = ""
    note: str = ""


def read(method: LeakMethod, texts: Texts) -> Said:
    """The typed fields as numbers, each problem at its field."""
    fields: dict[str, Any] = {"method": method.value, "reference": choice(texts, "reference")}
    problems: dict[str, str] = {}
    for name in shown_fields(method, texts):
        text = texts.get(name, "").strip()
        if not text or name in CHOICES:
            continue
        try:
            fields[name] = _value(name, text)
        except BadInput as error:
            problems[name] = error.problems[0].text()
    return _with_known(method, texts, fields, problems)


def _value(name: str, text: str) -> object:
    field = FIELDS[name]
    if name == "gauge":
        parse_meter(text, where=field.label)
    if field.is_text:
        return text
    if field.is_pressure or name == "zero_kpa":
        value = kpa_meanings(text)[0] if any(sign.isalpha() for sign in text) else decimal(text, where=field.label)
        if field.is_pressure and not value > 0:
            raise bad(field.label, text, "a pressure above the air around")
        return value
    return decimal(text, where=field.label)


def _with_known(method: LeakMethod, texts: Texts, fields: dict[str, Any], problems: dict[str, str]) -> Said:
    """What is calibrated or measured here in place of its readings, which go into the note."""
    way = way_of(method, texts)
    own = {name: fields.pop(name) for name in list(fields) if name.startswith(("cal_", "exp_"))}
    is_whole = way in (CALIBRATED, EXPANDED) and all(name in own for name in NEEDED[way])
    if not is_whole or problems:
        return Said(fields=fields, problems=problems)
    try:
        made, words, note = (_calibrated if way == CALIBRATED else _expanded)(own, fields)
    except BadInput as error:
        return Said(fields=fields, problems={NEEDED[way][-1]: error.problems[0].text()})
    return Said(fields={**fields, **made}, problems=problems, computed=words, note=note)


_Made = tuple[dict[str, float], str, str]


def _gauge(fields: Mapping[str, Any]) -> Meter:
    return parse_meter(fields["gauge"]) if "gauge" in fields else _ASSUMED_GAUGE


def _calibrated(own: Mapping[str, float], fields: Mapping[str, Any]) -> _Made:
    from valvebench.diagnose.leak_known import Ambient, Hole, calibrated
    from valvebench.physics.air import conductance_of_bore

    zero, barometer = fields.get("zero_kpa", 0.0), fields.get("ambient_kpa_abs")
    around = Ambient(barometer or STANDARD_AMBIENT_KPA_ABS, _U_PLACE_KPA if barometer is None else _U_BAROMETER_KPA)
    pct = own.get("cal_pct", _USUAL_KNOWN_PCT)
    hole = Hole(float(conductance_of_bore(own["cal_mm"], cd=1.0)), pct)
    supply, port = own["cal_supply"], own["cal_port"]
    found = calibrated(supply - zero, port - zero, known=hole, gauge=_gauge(fields), ambient=around)
    words = f"Calibrated: {found.value:.4g} dm\u00b3/(s bar), standard uncertainty {found.pct:.2g} %."
    note = (
        f"Restriction calibrated against a bore of {own['cal_mm']:g} mm ({pct:g} %): supply {supply:g} kPa, port "
        f"{port:g} kPa."
    )
    return {"restriction_c": found.value, "restriction_pct": found.pct}, words, note


def _expanded(own: Mapping[str, float], fields: Mapping[str, Any]) -> _Made:
    from valvebench.diagnose.leak_known import expanded

    zero, pct = fields.get("zero_kpa", 0.0), own.get("exp_pct", _USUAL_CHAMBER_PCT)
    before, after = own["exp_from"], own["exp_to"]
    found = expanded(own["exp_ml"], pct, from_kpa_gauge=before - zero, to_kpa_gauge=after - zero, gauge=_gauge(fields))
    words = f"Measured: {found.value:.4g} ml, standard uncertainty {found.pct:.2g} %."
    note = f"Volume by expansion into {own['exp_ml']:g} ml ({pct:g} %): {before:g} to {after:g} kPa."
    return {"volume_ml": found.value, "volume_pct": found.pct}, words, note


def texts_of(body: LeakTest, before: Texts, *, is_today: bool) -> dict[str, str]:
    """The fields as they stood for a kept test; what it does not say stays as it was.

    What belongs to one run is said anew, and on another day what belongs to a day.
    """
    texts = dict(before)
    for name in _ENTRY:
        if name in _OF_THE_RUN or (name in _OF_THE_DAY and not is_today):
            continue
        value = getattr(body, name)
        if value is not None:
            texts[name] = value if isinstance(value, str) else f"{value:.6g}"
    texts["reference"] = body.reference
    if body.method is LeakMethod.STEADY:
        texts["restriction"] = BORE if body.restriction_mm is not None else STATED
    if body.method is LeakMethod.DECAY:
        texts["volume"] = KNOWN
    return texts


def field_of(where: str) -> str:
    """The field that an option of the command is, empty for none: `--known-hole-mm`."""
    name = where.split(" ", maxsplit=1)[0].removeprefix("--").replace("-", "_")
    return name if where.startswith("--") and name in FIELDS else ""
