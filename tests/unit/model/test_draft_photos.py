"""The photo of a feature: kept with its row, through every edit, to the file and back."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import VARIANT
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import draft_of
from valvebench.model.draft_lacks import check_draft
from valvebench.model.draft_photos import board_pictures, feature_picture, photo_words, with_photo
from valvebench.model.errors import BadInput
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import with_merged, without_rows
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Place

DOT = Picture(sha256="a" * 64, file="dot.png")
BODY = Picture(sha256="b" * 64, file="body.png")


@pytest.fixture
def draft():
    features = [{"name": name, "values": ["dot", "bar"], "this": "dot"} for name in ("plate mark", "cast mark")]
    return draft_of({**VARIANT, "features": features})


def written(draft):
    return json.dumps(check_draft(draft).data).encode()


def test_it_stands_in_the_file_as_a_picture_of_that_feature(draft):
    variant = read_variant(written(with_photo(draft, 1, DOT)), source="made up")
    assert [feature.picture for feature in variant.features] == [None, DOT]
    assert variant.named_pictures == (DOT,)


def test_boards_come_before_features_and_each_is_taken_away_alone(draft):
    both = with_photo(with_photo(draft, 0, DOT), Place.BODY, BODY)
    assert read_variant(written(both), source="made up").named_pictures == (BODY, DOT)
    assert with_photo(both, Place.BODY, None) == with_photo(draft, 0, DOT)
    assert with_photo(with_photo(both, 0, None), Place.BODY, None) == draft
    assert board_pictures(both) == {Place.BODY: BODY}


def test_it_stays_with_its_feature_when_rows_come_go_and_are_pasted_over(draft):
    shown = with_photo(draft, 1, DOT)
    assert feature_picture(without_rows(shown, Part.FEATURES, [0]), 0) == DOT
    pasted = with_merged(shown, Part.FEATURES, [{"name": "cast mark", "this": "bar"}])
    assert feature_picture(pasted, 1) == DOT


def test_a_row_that_is_not_there_has_no_photo(draft):
    assert feature_picture(draft, 7) is None


@pytest.mark.parametrize(("of", "words"), [(Place.CASE, "the case"), (0, "plate mark")])
def test_what_it_shows_is_named(draft, of, words):
    assert photo_words(draft, of) == words


@pytest.mark.parametrize("file", ["../dot.png", "a/dot.png", "c:dot.png", ""])
def test_a_file_name_that_leads_elsewhere_is_refused(draft, file):
    data = check_draft(draft).data
    data["features"][0]["picture"] = {"sha256": "a" * 64, "file": file}
    with pytest.raises(BadInput, match=r"features\[0\]\.picture\.file|plate mark"):
        read_variant(json.dumps(data).encode(), source="made up")
