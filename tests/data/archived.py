"""Closed sessions for the archive, written as a person would.  Every name and number is made up."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.data.made_up import variant_data
from valvebench.compose import create_job, open_desk
from valvebench.model.entry import AnyBody, Outcome, Reading
from valvebench.model.meter import PRESETS
from valvebench.model.words import LeadState, TemperatureSource

VARIANT_RAW = json.dumps(variant_data()).encode()
PAIRS = {"Heron": ("3", "11"), "Gull": ("4", "11"), "Plover": ("8", "case"), "Fluid": ("12", "6")}


class DayClock:
    """Begins where it is told and ticks a second each time it is asked."""

    def __init__(self, day: str = "2031-05-06") -> None:
        self.at = datetime.fromisoformat(day).replace(tzinfo=UTC) + timedelta(hours=9)

    def now(self) -> str:
        self.at += timedelta(seconds=1)
        return self.at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def reading(device: str, ohm: float, *, celsius: float = 23.0, **more: object) -> Reading:
    a, b = PAIRS[device]
    plain = {
        "celsius": celsius,
        "meter": PRESETS["hundredths"].text(),
        "leads": LeadState.NULLED,
        "temperature": TemperatureSource.TAPED,
    }
    return Reading(from_node=a, to_node=b, ohm=ohm, **{**plain, **more})


def session_in(
    root: Path,
    job: str,
    bodies: Iterable[AnyBody] = (),
    *,
    day: str = "2031-05-06",
    is_closed: bool = True,
    outcome: Outcome | None = None,
    variant_raw: bytes | None = VARIANT_RAW,
    pictures: tuple[bytes, ...] = (),
    **more: object,
) -> Path:
    """A session folder below `root`, closed on that day; returns it."""
    folder = root / job.replace("/", "_")
    desk = create_job(
        folder, {"job": job, **more}, variant_raw=variant_raw, by="Ann", clock=DayClock(day), pictures=pictures
    )
    for body in bodies or (reading("Heron", 5.2), reading("Gull", 5.3)):
        desk.record(body)
    if is_closed:
        desk.close()
    if outcome is not None:
        desk.record(outcome)
    desk.release()
    return folder


def add_to(folder: Path, *bodies: AnyBody, day: str = "2031-08-01") -> None:
    """More entries at the end of a session."""
    desk = open_desk(folder, clock=DayClock(day))
    for body in bodies:
        desk.record(body)
    desk.release()


def everything(store) -> dict[str, list[tuple[object, ...]]]:
    """All rows of all tables of an archive, the full text's own ones too."""
    names = store.database.rows("SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'fts' ORDER BY name")
    return {name: [tuple(row) for row in store.database.rows(f"SELECT * FROM {name}")] for (name,) in names}
