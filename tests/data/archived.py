"""Closed sessions for the archive, written as a person would.  Every name and number is made up."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.data.made_up import variant_data
from valvebench.archive.archives import Archives
from valvebench.compose import create_job, open_desk
from valvebench.model.entry import AnyBody, Outcome, Reading
from valvebench.model.meter import PRESETS
from valvebench.model.words import Comeback, LeadState, TemperatureSource

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
    **more: object,
) -> Path:
    """A session folder below `root`, closed on that day; returns it."""
    folder = root / job.replace("/", "_")
    desk = create_job(folder, {"job": job, **more}, variant_raw=variant_raw, by="Ann", clock=DayClock(day))
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


def small_archive(folder: Path, root: Path) -> Path:
    """An archive with a comeback, a part without one, and months of readings; returns its folder.  All made up."""
    archives = Archives(folder, clock=DayClock("2031-12-01"), open_desk=open_desk)
    store = archives.open()
    shop = {"customer": "Harbour Shuttle, invented", "serial": "0418-77", "part": "QV-1"}
    jobs = [
        session_in(root, "2117", day="2031-02-03", vehicle="boat bus 7", supplier="Skua & Son", **shop),
        session_in(root, "2118", [reading("Heron", 6.4)], day="2031-02-20", serial="0420-13", supplier="Tern Ltd"),
        session_in(
            root,
            "2131",
            [reading("Heron", 5.25), reading("Gull", 5.31)],
            day="2031-03-14",
            outcome=Outcome(fitted=True, comeback=Comeback.NO, months=6.0),
            **shop | {"serial": "0421-02"},
        ),
        session_in(
            root,
            "2203",
            [reading("Heron", 5.9), reading("Gull", 5.33)],
            day="2031-08-19",
            comeback_of="2117",
            outcome=Outcome(comeback=Comeback.HOT, months=5.5, odometer_km=184_210.0),
            **shop,
        ),
    ]
    for path in jobs:
        store.add(path)
    store.add(session_in(root, "2209", day="2031-11-28", is_closed=False, customer="Ferry Yard, invented"))
    store.close()
    return folder
