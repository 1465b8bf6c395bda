"""The photos a draft names: of body and case behind their ports, and one for each feature."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from valvebench.model.draft_field import Part
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft, Row, Spot, with_cells, with_rows
from valvebench.model.words import Place

PhotoOf = Place | int
"""A board of ports, or the row of a feature."""

_PICTURE = "picture"


def board_pictures(draft: Draft) -> dict[Place, Picture]:
    """The photos behind the ports."""
    found = {}
    for place in Place:
        sha256, file = draft.body(f"sha_{place.value}"), draft.body(f"picture_{place.value}")
        if sha256 and file:
            found[place] = Picture(sha256=sha256, file=file)
    return found


def feature_picture(draft: Draft, row: int) -> Picture | None:
    """The photo of the feature in a row; None where there is none, or no such row."""
    rows = draft.rows(Part.FEATURES)
    said = _kept(rows[row]).get(_PICTURE) if row < len(rows) else None
    if not isinstance(said, Mapping) or said.keys() != {"sha256", "file"}:
        return None
    return Picture(sha256=said["sha256"], file=said["file"])


def with_photo(draft: Draft, of: PhotoOf, picture: Picture | None) -> Draft:
    """The draft with another photo of something, or without one."""
    return _with_board(draft, of, picture) if isinstance(of, Place) else _with_feature(draft, of, picture)


def photo_words(draft: Draft, of: PhotoOf) -> str:
    """What a photo shows, as a sentence names it."""
    return f"the {of.value}" if isinstance(of, Place) else draft.text(Part.FEATURES, of, "name") or "this feature"


def _with_board(draft: Draft, place: Place, picture: Picture | None) -> Draft:
    texts = {
        Spot(Part.BODY, 0, f"picture_{place.value}"): picture.file if picture is not None else "",
        Spot(Part.BODY, 0, f"sha_{place.value}"): picture.sha256 if picture is not None else "",
    }
    return with_cells(draft, texts)


def _with_feature(draft: Draft, row: int, picture: Picture | None) -> Draft:
    rows = list(draft.rows(Part.FEATURES))
    kept = {key: value for key, value in _kept(rows[row]).items() if key != _PICTURE}
    if picture is not None:
        kept[_PICTURE] = {"sha256": picture.sha256, "file": picture.file}
    rows[row] = replace(rows[row], kept=json.dumps(kept, ensure_ascii=False) if kept else "")
    return with_rows(draft, Part.FEATURES, rows)


def _kept(row: Row) -> dict[str, Any]:
    return dict(json.loads(row.kept or "{}"))
