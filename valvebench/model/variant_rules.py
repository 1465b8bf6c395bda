"""What a variant file must satisfy beyond its types: names that exist, limits in order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from valvebench.model.errors import BadInput, Problem, nearest
from valvebench.model.refit_rules import COLDEST_CELSIUS, HOTTEST_CELSIUS, in_order, refit_findings
from valvebench.model.strict_json import Path, lines_of, loads
from valvebench.model.tap_rules import tap_findings
from valvebench.model.validate import Finding, build, finding, path_text
from valvebench.model.variant import Coil, Device, Diode, Port, Solenoid, Switch, TemperatureSensor, Variant
from valvebench.model.variant_codes import code_findings
from valvebench.model.words import CASE, Reaction


def read_variant(raw: bytes, *, source: str) -> Variant:
    """A variant from the bytes of its file.

    Raises
    ------
    BadInput : with every problem of the file, each with line, path, found and expected.
    """
    data = loads(raw, source=source)
    variant, findings = check_variant(data)
    if variant is None:
        lines = lines_of(raw.decode("utf-8"))  # once: a bad file may hold thousands of problems
        raise BadInput([_with_line(lines, finding) for finding in findings], source=source)
    return variant


def check_variant(data: object) -> tuple[Variant | None, list[Finding]]:
    """The variant that decoded data describes, or None with everything that is wrong with it."""
    variant, findings = build(data, Variant)
    if variant is not None:
        findings = list(_rule_findings(variant))
    return (None if findings else variant), findings


def check_written(data: object) -> tuple[Variant | None, list[Finding]]:
    """As `check_variant`, with the rules that hold only for what is written from now on.

    A file of an earlier program, above all one frozen in a session, is never refused for them.
    """
    variant, findings = build(data, Variant)
    if variant is not None:
        findings = [*_rule_findings(variant), *refit_findings(variant)]
    return (None if findings else variant), findings


def _with_line(lines: dict[Path, int], finding: Finding) -> Problem:
    path = finding.path
    while path not in lines and path:
        path = path[:-1]
    problem = finding.problem
    return Problem(
        where=path_text(finding.path),
        found=problem.found,
        expected=problem.expected,
        what_to_do=problem.what_to_do,
        line=lines.get(path),
    )


def _rule_findings(variant: Variant) -> Iterator[Finding]:
    yield from _twice("pins", (pin.name for pin in variant.pins))
    yield from _twice("faces", (face.name for face in variant.faces))
    yield from _twice("devices", (device.name for device in variant.devices))
    yield from _twice("ports", (port.name for port in variant.ports))
    yield from _twice("taps", (tap.name for tap in variant.taps))
    yield from _twice("features", (feature.name for feature in variant.features))
    yield from _pin_findings(variant)
    for i, device in enumerate(variant.devices):
        yield from _device_findings(variant, device, ("devices", i))
    for i, port in enumerate(variant.ports):
        yield from _port_findings(variant, port, ("ports", i))
    yield from _chart_findings(variant)
    yield from code_findings(variant)
    yield from tap_findings(variant)
    yield from _feature_findings(variant)


def _twice(section: str, names: Iterable[str]) -> Iterator[Finding]:
    seen: set[str] = set()
    for i, name in enumerate(names):
        if name in seen:
            yield finding((section, i, "name"), repr(name), "a name used once")
        seen.add(name)


def _known(path: Path, name: str, names: Iterable[str], what: str) -> Iterator[Finding]:
    choices = list(names)
    if name not in choices:
        yield finding(path, repr(name), f"{what} of this variant", nearest(name, choices))


def _pin_findings(variant: Variant) -> Iterator[Finding]:
    faces = [face.name for face in variant.faces]
    for i, pin in enumerate(variant.pins):
        if pin.name == CASE:
            yield finding(("pins", i, "name"), "'case'", "another name; 'case' is the casting")
        if pin.face is not None:
            yield from _known(("pins", i, "face"), pin.face, faces, "a face")


def _device_findings(variant: Variant, device: Device, path: Path) -> Iterator[Finding]:
    if device.between[0] == device.between[1]:
        yield finding((*path, "between"), repr(list(device.between)), "two different nodes")
    if isinstance(device, Coil):
        yield from in_order((*path, "low_ohm"), device.low_ohm, device.high_ohm)
        if device.ref_celsius is not None and not COLDEST_CELSIUS <= device.ref_celsius <= HOTTEST_CELSIUS:
            yield finding((*path, "ref_celsius"), f"{device.ref_celsius:g}", "-50 to 180 degrees Celsius, or null")
        if isinstance(device, Solenoid) and device.low_ohm is not None and device.low_ohm <= 0:
            yield finding((*path, "low_ohm"), f"{device.low_ohm:g}", "a limit above zero: a coil of nothing is shorted")
    if isinstance(device, TemperatureSensor):
        yield from _sensor_findings(device, path)
        yield from _series_findings(variant, device, path)
    if isinstance(device, Diode) and device.anode not in (None, *device.between):
        yield finding(
            (*path, "anode"), repr(device.anode), f"{device.between[0]} or {device.between[1]}, where it ends"
        )
    closes_with = getattr(device, "closes_with", None)
    if closes_with is not None:
        yield from _known((*path, "closes_with"), closes_with, [port.name for port in variant.ports], "a port")


def _series_findings(variant: Variant, device: TemperatureSensor, path: Path) -> Iterator[Finding]:
    if device.in_series_with is not None:
        switches = [other.name for other in variant.devices if isinstance(other, Switch)]
        yield from _known((*path, "in_series_with"), device.in_series_with, switches, "a switch")


def _sensor_findings(device: TemperatureSensor, path: Path) -> Iterator[Finding]:
    for i, (celsius, low, high) in enumerate(device.points):
        yield from in_order((*path, "points", i), low, high)
        if not COLDEST_CELSIUS <= celsius <= HOTTEST_CELSIUS:
            yield finding((*path, "points", i), f"{celsius:g}", "a temperature from -50 to 180 degrees Celsius")
    rows = [celsius for celsius, _, _ in device.points]
    if len(set(rows)) != len(rows):
        yield finding((*path, "points"), "a temperature twice", "one row for each temperature")


def _port_findings(variant: Variant, port: Port, path: Path) -> Iterator[Finding]:
    ports = [other.name for other in variant.ports]
    solenoids = [device.name for device in variant.devices if isinstance(device, Solenoid)]
    for i, expectation in enumerate(port.expect):
        here: Path = (*path, "expect", i)
        for name in expectation.solenoids:
            yield from _known((*here, "solenoids", name), name, solenoids, "a solenoid")
        if expectation.reaction is Reaction.COMES_OUT and expectation.at is None:
            yield finding((*here, "at"), "nothing", "the port where the air comes out")
        if expectation.at is not None:
            yield from _known((*here, "at"), expectation.at, ports, "a port")


def _chart_findings(variant: Variant) -> Iterator[Finding]:
    solenoids = [device.name for device in variant.devices if isinstance(device, Solenoid)]
    for gear, clutches in variant.apply_chart.items():
        yield from _known(("apply_chart", gear), gear, variant.gears, "a gear")
        for i, clutch in enumerate(clutches):
            yield from _known(("apply_chart", gear, i), clutch, variant.clutches, "a clutch")
    for gear, states in variant.solenoid_chart.items():
        yield from _known(("solenoid_chart", gear), gear, variant.gears, "a gear")
        for name in states:
            yield from _known(("solenoid_chart", gear, name), name, solenoids, "a solenoid")


def _feature_findings(variant: Variant) -> Iterator[Finding]:
    for i, feature in enumerate(variant.features):
        if feature.this is not None and feature.values and feature.this not in feature.values:
            yield from _known(("features", i, "this"), feature.this, feature.values, "one of the values")
