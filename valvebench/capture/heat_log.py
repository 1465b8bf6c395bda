"""A logger's file -> the heat runs in it, or one message with everything that is wrong."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.bench.heat_log import HeatLog, Step, Stopped
from valvebench.capture.columns import Array, Clock, Column, Signs, moment
from valvebench.capture.faults import Faults
from valvebench.capture.headings import EXPECTED, Heading, headings, is_header
from valvebench.capture.lines import Line, lines_of
from valvebench.diagnose.heat_data import HeatRun

_STRETCH: Final = 50_000
_TOLD_EVERY: Final = 2_000
_HEADER_WITHIN: Final = 50
_MOST_DEVICES: Final = 100
_LONGEST_NAME: Final = 100
_NO_TIME: Final = "Was each line read after the temperature had settled? Then say so (--rounds)."
_TOO_MANY_CELLS: Final = "With a decimal comma, separate by ; or tab."


class Layout(NamedTuple):
    """Where the time, the probe, the resistances and the device stand."""

    width: int
    time: Heading | None
    probe: Heading
    ohms: tuple[Heading, ...]
    device: Heading | None


def heat_log(raw: bytes, *, source: str, is_rounds: bool = False, step: Step | None = None) -> HeatLog:
    """Read the runs of a file (raises BadInput; Stopped where `step` says not to go on).

    Parameters
    ----------
    raw : text with a header line, or an .xlsx workbook whose first sheet has one
    source : name of the file, for messages
    is_rounds : each line was read after the temperature had settled; times do not count then
    step : hears after each stretch how many lines were read, and says whether to go on

    Returns
    -------
    HeatLog
        Times in s since the first line where they were a clock, probe in degC, ohm; open is infinite.
    """
    faults = Faults(source)
    lines = lines_of(raw, faults)
    cells = header_of(lines, faults)
    named = headings(cells)
    layout = _layout(named, faults, is_rounds=is_rounds)
    first = next(lines, None)
    if first is None:
        faults.stop("file", "a header and nothing below it", "readings")
    gathered, devices = _gathered(_counted(itertools.chain([first], lines), step), layout, faults)
    faults.raise_if_any()
    not_used = tuple(one.text for one in named if one.holds == "other" and one.text)
    if layout.device is not None:
        return HeatLog(_by_device(gathered, devices, layout), has_shared_lines=False, not_used=not_used)
    runs = {one.device: _run(gathered, layout, one) for one in layout.ohms}
    return HeatLog(runs, has_shared_lines=True, not_used=not_used)


def _counted(lines: Iterator[Line], step: Step | None) -> Iterator[Line]:
    """The same lines, telling from time to time how many they were (raises Stopped)."""
    for count, line in enumerate(lines):
        if step is not None and count % _TOLD_EVERY == 0 and not step(count):
            raise Stopped("Reading was stopped; nothing was kept.")
        yield line


def header_of(lines: Iterator[Line], faults: Faults) -> Sequence[str]:
    """The first line that names columns; what a logger writes above it is passed over."""
    first: Line | None = None
    for line in itertools.islice(lines, _HEADER_WITHIN):
        first = first or line
        if is_header(line[1]):
            return line[1]
    number, cells = first or (1, [])
    found = ", ".join(cell.strip() for cell in cells)[:80]
    raise faults.stopped("header", ascii(found) if found else "nothing", EXPECTED, line=number)


def _layout(named: Sequence[Heading], faults: Faults, *, is_rounds: bool) -> Layout:
    of = {kind: [one for one in named if one.holds == kind] for kind in ("time", "probe", "ohm", "device")}
    for kind in ("time", "probe", "device"):
        if len(of[kind]) > 1:
            faults.add("header", f"{kind} in {of[kind][0].where} and {of[kind][1].where}", "it once")
    if not of["probe"]:
        faults.add("header", "no probe temperature", "probe_celsius")
    if not of["time"] and not is_rounds:
        faults.add("header", "no time column", "t_s, or a clock", _NO_TIME)
    _check_devices(of["ohm"], faults, has_device_column=bool(of["device"]))
    faults.raise_if_any()
    time = of["time"][0] if of["time"] and not is_rounds else None
    return Layout(len(named), time, of["probe"][0], tuple(of["ohm"]), of["device"][0] if of["device"] else None)


def _check_devices(ohms: Sequence[Heading], faults: Faults, *, has_device_column: bool) -> None:
    names = [one.device for one in ohms]
    if has_device_column and names != [""]:
        faults.add("header", f"a device column beside {', '.join(one.text for one in ohms)}", "device and ohm")
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        faults.add("header", f"{twice[0] or 'ohm'} twice", "each device once")
    if "" in names and len(names) > 1:
        faults.add("header", "ohm without a name beside named ones", "NAME_ohm for each device")
    if any(len(name) > _LONGEST_NAME for name in names):
        faults.add("header", "a very long name of a device", f"at most {_LONGEST_NAME} letters")


def _gathered(lines: Iterator[Line], layout: Layout, faults: Faults) -> tuple[dict[int, Array], list[str]]:
    """Numbers of each column by its place, and the device of each line."""
    signs, devices = Signs(), list[str]()
    columns: dict[int, Column] = {}
    while stretch := list(itertools.islice(lines, _STRETCH)):
        numbers = [number for number, _ in stretch]
        cells = list(zip(*(_fitted(line, layout.width, faults) for line in stretch), strict=True))
        if not columns:
            columns = _columns(layout, [column[0].strip() for column in cells], signs, faults)
        for place, column in columns.items():
            column.take(cells[place], numbers)
        if layout.device is not None:
            devices += _devices(cells[layout.device.place], numbers, layout.device, faults)
    return {place: column.values() for place, column in columns.items()}, devices


def _fitted(line: Line, width: int, faults: Faults) -> Sequence[str]:
    """Cells of a line, as many as the header has; cells that are missing at the end are empty."""
    number, cells = line
    if len(cells) == width:
        return cells
    if any(cell.strip() for cell in cells[width:]):
        faults.add("line", f"{len(cells)} cells", f"{width}, as the header has", _TOO_MANY_CELLS, line=number)
    return (*cells[:width], *[""] * (width - len(cells)))


def _columns(layout: Layout, first: Sequence[str], signs: Signs, faults: Faults) -> dict[int, Column]:
    columns = {one.place: Column(one, signs, faults) for one in (layout.probe, *layout.ohms)}
    time = layout.time
    if time is not None:
        is_clock = moment(first[time.place]) is not None
        columns[time.place] = Clock(time, signs, faults) if is_clock else Column(time, signs, faults)
    return columns


def _devices(cells: Sequence[str], lines: Sequence[int], heading: Heading, faults: Faults) -> list[str]:
    names = [cell.strip() for cell in cells]
    for name, line in zip(names, lines, strict=True):
        if not name or len(name) > _LONGEST_NAME:
            faults.add(heading.where, "nothing" if not name else "a very long name", "a device's name", line=line)
    if len(set(names)) > _MOST_DEVICES:
        faults.stop(heading.where, f"{len(set(names))} devices", f"at most {_MOST_DEVICES}")
    return names


def _run(gathered: Mapping[int, Array], layout: Layout, ohm: Heading) -> HeatRun:
    t_s = gathered[layout.time.place] if layout.time is not None else None
    return HeatRun(gathered[layout.probe.place], gathered[ohm.place], t_s)


def _by_device(gathered: Mapping[int, Array], devices: Sequence[str], layout: Layout) -> dict[str, HeatRun]:
    whole, of_line = _run(gathered, layout, layout.ohms[0]), np.array(devices)
    runs = {}
    for name in dict.fromkeys(devices):
        own = of_line == name
        t_s = whole.t_s[own] if whole.t_s is not None else None
        runs[name] = HeatRun(whole.probe_celsius[own], whole.ohm[own], t_s)
    return runs
