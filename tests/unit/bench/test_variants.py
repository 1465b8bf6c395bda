"""Variant files of an editor: one copy of what stood there before, nothing written that cannot be read again."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import VARIANT, variant_of
from valvebench.bench.variants import VariantFiles, WrongDraft
from valvebench.model.draft_field import Part
from valvebench.model.draft_names import with_cell
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.variant_draft import Spot, empty_draft
from valvebench.model.variant_rules import read_variant

TITLE = Spot(Part.BODY, 0, "title")
RAW = json.dumps(VARIANT).encode()


def plain_save(path, raw):
    path.write_bytes(raw)


def files(save=plain_save):
    return VariantFiles(read=lambda path: path.read_bytes(), save=save)


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "body.json"
    path.write_bytes(RAW)
    return path


def test_opened_and_saved_it_is_the_same_variant(path):
    one = files()
    one.save(path, one.load(path))
    assert read_variant(path.read_bytes(), source="after") == variant_of()


def test_what_stood_there_before_is_kept_once(path):
    one = files()
    draft = one.load(path)
    for title in ("first", "second"):
        one.save(path, with_cell(draft, TITLE, title))
    assert path.with_name("body.json.bak").read_bytes() == RAW
    assert read_variant(path.read_bytes(), source="after").title == "second"


def test_a_new_file_has_nothing_to_keep(tmp_path, path):
    one = files()
    one.save(tmp_path / "new.json", one.load(path))
    assert sorted(file.name for file in tmp_path.iterdir()) == ["body.json", "new.json"]


def test_a_wrong_draft_is_refused_with_everything_wrong_and_touches_nothing(path):
    with pytest.raises(WrongDraft) as caught:
        files().save(path, empty_draft())
    assert [lack.spot.key for lack in caught.value.lacks] == ["key", "title"]
    assert "Not saved: put these right first." in str(caught.value)
    assert [file.name for file in path.parent.iterdir()] == ["body.json"]
    assert path.read_bytes() == RAW


def test_a_disk_that_refuses_the_copy_leaves_the_file_alone(path):
    def refuse(target, _):
        raise WorldFailed(f"{target}: not saved (no space left).")

    one = files(refuse)
    draft = one.load(path)
    with pytest.raises(WorldFailed, match="no space"):
        one.save(path, draft)
    assert path.read_bytes() == RAW


def test_a_file_that_is_no_variant_is_not_opened(path):
    path.write_bytes(b'{"format": 1}')
    with pytest.raises(BadInput, match="key"):
        files().load(path)
