"""Flex tests as entries: typed in one go, or from a logger's file that is kept before its entry."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import msgspec

from valvebench.bench.flex_log import FlexFiles, FlexLog
from valvebench.bench.heat_find import LogFile
from valvebench.model.entry import body_from, sha256_of
from valvebench.model.errors import bad
from valvebench.model.flex import FlexFound, FlexTest
from valvebench.model.meter import parse_meter

_LONGEST_NAME: Final = 200
_SAID_OF: Final = frozenset({"from", "to", "at", "flexed", "celsius", "temperature", "range_ohm", "note", "leads"})
"""Fields that nothing found in the readings depends on."""
_FOUND_BY: Final = frozenset({"meter", "meter_is_assumed", "column"})


def typed_body(fields: Mapping[str, Any], *, source: str = "record flex") -> FlexTest:
    """The entry of typed readings (raises BadInput with every problem)."""
    body = body_from("flex", {name: value for name, value in fields.items() if value is not None}, source=source)
    if not isinstance(body, FlexTest):
        raise TypeError("flex makes a FlexTest")
    return body


def logged_body(log: FlexLog, file: LogFile, fields: Mapping[str, Any], *, program: str) -> FlexTest:
    """The entry of a logger's file with what is found in it; heavy, so ask beside the window.

    Parameters
    ----------
    log : the readings in the file
    file : as it is kept
    fields : nodes, place, meter and the like, as the entry spells them

    Returns
    -------
    FlexTest

    Raises
    ------
    BadInput : where a field is wrong, or the file says nothing: every reading open, or too few.
    """
    found = found_of(log, fields.get("meter"))
    data = {
        **fields,
        "sha256": sha256_of(file.raw),
        "file_name": file.name[-_LONGEST_NAME:],
        "size_bytes": len(file.raw),
        "column": log.column,
        "found": msgspec.to_builtins(found),
        "program": program,
    }
    return typed_body(data)


def found_of(log: FlexLog, meter: str | None) -> FlexFound:
    """What a file says (raises BadInput where it says nothing)."""
    from valvebench.diagnose import flex
    from valvebench.diagnose.flex_words import FEWEST

    found = flex.look_at(flex.FlexSeries(log.ohm, log.t_s), parse_meter(meter) if meter is not None else None)
    values = found.n - found.open_n
    if not values:
        raise bad("ohm", "open in every reading", "a resistance that can be followed", " ".join(found.advice))
    if values < FEWEST and not found.events:
        raise bad("ohm", f"{values} readings", f"at least {FEWEST}", " ".join(found.advice))
    return found


def changed_flex(body: FlexTest, changes: Mapping[str, Any], *, raw: bytes | None, files: FlexFiles) -> dict[str, Any]:
    """The fields of a corrected flex test; what touches the find of a file reads the kept file again.

    Returns
    -------
    dict
        Fields of the entry, None where one is not set any more.

    Raises
    ------
    BadInput : where readings are typed for a file, the file is gone or changed, or says nothing so.
    """
    if not body.is_logged or not set(changes) & (_FOUND_BY | {"ohm", "t_s"}):
        return dict(changes)
    if "ohm" in changes:
        raise bad("--ohms", "typed readings", "no readings beside the file", "Withdraw it, and record what was typed.")
    if raw is None:
        raise bad(f"blobs/{(body.sha256 or '')[:12]}...", "missing or changed", "the file, to look at it again")
    column = changes.get("column") or body.column
    log = files.flex_of(raw, source=body.file_name or "file", column=column)
    found = found_of(log, changes.get("meter") or body.meter)
    return {**changes, "column": log.column, "found": msgspec.to_builtins(found)}
