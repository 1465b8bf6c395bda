"""Taps of a draft: a row for each window, although the file keeps the windows of a tap together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from valvebench.model.draft_field import Part
from valvebench.model.strict_json import Path
from valvebench.model.variant_draft import Draft

_OF_TAP: Final = ("name", "shows")
_SAYS_WINDOW: Final = ("state", "low", "high", "from", "to", "source", "source_text", "n")


def rows_of_taps(taps: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """The rows of the file's taps; what a tap shows stands in its first."""
    for tap in taps:
        windows: Sequence[Mapping[str, Any]] = tap.get("windows") or ({},)
        for place, window in enumerate(windows):
            shows = {"shows": tap["shows"]} if place == 0 and tap.get("shows") else {}
            yield {"name": tap["name"], **shows, **window}


def taps_of_rows(items: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The taps as the file has them: rows of one name are windows of one tap."""
    taps: list[dict[str, Any]] = []
    for item, (place, _) in zip(items, _placed([str(one.get("name", "")) for one in items]), strict=True):
        if place == len(taps):
            taps.append({"name": item.get("name", ""), "windows": []})
        tap = taps[place]
        if "shows" in item:
            tap.setdefault("shows", item["shows"])
        if window := {key: value for key, value in item.items() if key not in _OF_TAP}:
            tap["windows"].append(window)
    order = (*_OF_TAP, "windows")
    return [{key: tap[key] for key in order if key in tap and tap[key] not in ([], None)} for tap in taps]


def _placed(names: Sequence[str]) -> Iterator[tuple[int, str]]:
    """Which tap each row belongs to; rows without a name stand for themselves."""
    places: dict[str, int] = {}
    count = 0
    for name in names:
        place = places.get(name, count) if name else count
        count = max(count, place + 1)
        if name:
            places[name] = place
        yield place, name


def row_at(draft: Draft, path: Path) -> int:
    """The row that a path of the file below `taps` speaks of: `(0, "windows", 1, "state")`."""
    tap = path[0] if path else 0
    rows = [row for row, (place, _) in enumerate(_placed(draft.texts(Part.TAPS, "name"))) if place == tap]
    if len(path) > 2 and path[1] == "windows" and isinstance(path[2], int):
        said = [row for row in rows if any(draft.text(Part.TAPS, row, key) for key in _SAYS_WINDOW)]
        return said[path[2]] if path[2] < len(said) else (rows or [0])[0]
    return (rows or [0])[0]


def rest_of(path: Path) -> Path:
    """A path of the file below `taps` as a row has it."""
    return path[3:] if len(path) > 2 and path[1] == "windows" else path[1:]
