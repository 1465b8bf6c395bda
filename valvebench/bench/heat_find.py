"""What one run of a logger's file says, and the entry that keeps it; arrays come in only when it is asked for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

import msgspec

from valvebench.model.entry import body_from, sha256_of
from valvebench.model.errors import bad
from valvebench.model.heat import HeatFound, HeatTest
from valvebench.model.meter import parse_meter

if TYPE_CHECKING:
    from valvebench.diagnose.heat_data import HeatRun

USUAL_PROBE_KELVIN: Final = 2.0
"""Half-width of a contact probe taped to the can and soaked: common practice, no source."""
MOST_EVENTS_KEPT: Final = 500
"""An intermittent contact may open ten thousand times; the file holds them all, the entry the first of them."""
_LONGEST_NAME: Final = 200


class TakenWith(NamedTuple):
    """What the person said of a log: settled rounds, soaked start, meter, half-width of the probe [K]."""

    is_settled: bool = False
    is_soaked: bool = False
    meter: str | None = None
    celsius_accuracy: float = USUAL_PROBE_KELVIN


class LogFile(NamedTuple):
    """A log as it is kept beside the journal."""

    raw: bytes
    name: str


def settled(run: HeatRun, taken: TakenWith) -> HeatRun:
    """The run without its times where each line was read after the temperature had settled."""
    return run._replace(t_s=None) if taken.is_settled else run


def find_of(run: HeatRun, taken: TakenWith, k_celsius: float) -> HeatFound:
    """Compare a run with the conductor it is wound of, as an entry keeps the answer; heavy, so ask beside the window.

    Parameters
    ----------
    run : samples, probe [degC], resistance [ohm], times [s]
    taken : what the person said of the log
    k_celsius : conductor constant [degC]

    Returns
    -------
    HeatFound

    Raises
    ------
    BadInput : where nothing can be said of the run.

    Source
    ------
    `diagnose.heat_run.analyse`.
    """
    from valvebench.diagnose.heat_data import HeatSetUp
    from valvebench.diagnose.heat_run import analyse

    meter = parse_meter(taken.meter) if taken.meter else None
    set_up = HeatSetUp(k_celsius, meter, taken.celsius_accuracy, taken.is_soaked)
    return kept_find(analyse(settled(run, taken), set_up))


def kept_find(found: HeatFound) -> HeatFound:
    """What an entry holds of a find: no more events than a journal bears (raises BadInput: a result is no number)."""
    _refuse_what_is_no_number(msgspec.to_builtins(found))
    left = len(found.events) - MOST_EVENTS_KEPT
    if left <= 0:
        return found
    words = f"{left} more openings and steps follow in the file; {MOST_EVENTS_KEPT} are kept here."
    return msgspec.structs.replace(found, events=found.events[:MOST_EVENTS_KEPT], reasons=(*found.reasons, words))


def _refuse_what_is_no_number(value: object) -> None:
    """A find that is no number says nothing (raises BadInput); a journal could not hold it either."""
    if isinstance(value, float) and not math.isfinite(value):
        raise bad("heat run", "a result that is no number", "a run that can be followed", "Look at the file's values.")
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for one in value:
            _refuse_what_is_no_number(one)


def heat_test(
    file: LogFile,
    device: str,
    taken: TakenWith,
    found: HeatFound,
    *,
    column: str,
    program: str,
    note: str | None = None,
) -> HeatTest:
    """The entry of one device (raises BadInput where a field is none that a journal holds)."""
    data = {
        "device": device,
        "sha256": sha256_of(file.raw),
        "file_name": file.name[-_LONGEST_NAME:],
        "size_bytes": len(file.raw),
        "column": column or None,
        **taken._asdict(),
        "found": msgspec.to_builtins(found),
        "note": note,
        "program": program,
    }
    body = body_from("heat-run", {name: value for name, value in data.items() if value is not None})
    if not isinstance(body, HeatTest):
        raise TypeError("heat-run makes a HeatTest")
    return body


def taken_with(body: HeatTest) -> TakenWith:
    """What was said of the log of a kept run."""
    return TakenWith(body.is_settled, body.is_soaked, body.meter, body.celsius_accuracy)
