"""A leak test while it is taken: the entry as it would be kept, and what it says; heavy, so beside the window."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec

from valvebench.bench.air_log import AirFiles
from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_runs import AirReading, leak_body
from valvebench.judge.leak import watched
from valvebench.judge.leak_rows import leak_row
from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest
from valvebench.model.session import Item
from valvebench.model.variant import Variant
from valvebench.model.words import Rule


class Taken(NamedTuple):
    """What stands on the page: set-up and typed readings as the entry spells them, and the file where there is one.

    `is_watched`: it was looked at while the pressure fell.
    """

    fields: Mapping[str, Any]
    file: LogFile | None = None
    is_watched: bool = False


class Looked(NamedTuple):
    """The entry as it would be kept, with its judged row."""

    body: LeakTest
    row: Row
    file: LogFile | None


def look_at(
    taken: Taken, variant: Variant | None, files: AirFiles, *, program: str, rule: Rule | None = None
) -> Looked:
    """What the readings say so far (raises BadInput where they say nothing)."""
    body = leak_body(AirReading(files, taken.file), taken.fields, variant, program=program)
    if taken.is_watched:
        body = msgspec.structs.replace(body, found=watched(body.found))
    row = leak_row(variant, Item(n=0, kind="leak", at="", by="", body=body), rule)
    if row is None:
        raise TypeError("a leak test has a row")
    return Looked(body, row, taken.file)
