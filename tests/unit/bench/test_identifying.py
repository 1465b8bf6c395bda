"""Identifying the part of an open session: what counts of its entries, what is read once."""

from __future__ import annotations

import json

import pytest

from tests.unit.diagnose.identify_library import FAULTS, PRIORS, coil, feature, variant
from valvebench import compose
from valvebench.archive.chain import GENESIS
from valvebench.bench.identifying import Assumed, Identifying, as_asked, looks_of
from valvebench.diagnose.identified import CANNOT_SEE, Look, Question
from valvebench.model.entry import Correct, FeatureSeen, OpenJob, Reading, Withdraw, decode_line, encode_line, sha256_of
from valvebench.model.errors import BadInput
from valvebench.model.session import fold
from valvebench.model.variant import Picture
from valvebench.model.words import Seen, TemperatureSource, WhichPart

MARKS = ("none", "dot", "bar")
LIBRARY = [
    variant(key, feature("plate mark", mark, MARKS, must_match=True), devices=[coil("Heron", ("1", "2"), ohm)])
    for key, mark, ohm in (("knot", "dot", 5.0), ("rail", "bar", 12.0))
]


def session(*bodies):
    prev, entries = GENESIS, []
    for n, body in enumerate((OpenJob(session="s", job="T-1"), *bodies), start=1):
        line = encode_line(n=n, at="2031-05-06T09:00:00.000Z", by="Ann", body=body, prev=prev)
        prev = sha256_of(line)
        entries.append(decode_line(line, source="made up"))
    return fold(tuple(entries))


def identifying(read):
    def library():
        read.append("variants")
        return LIBRARY

    return Identifying(variants=library, assumed=lambda: Assumed(PRIORS, FAULTS))


def test_features_and_readings_count_and_the_library_is_read_once():
    read = []
    knows = identifying(read)
    warm = Reading(from_node="1", to_node="2", ohm=5.0, celsius=20.0, temperature=TemperatureSource.TAPED)
    alone = knows.identify(session(FeatureSeen(name="plate mark", value="dot")))
    both = knows.identify(session(FeatureSeen(name="plate mark", value="dot"), warm))
    assert alone.leading == both.leading == ("knot",)
    assert both.p_best > alone.p_best
    assert read == ["variants"]


def test_a_look_at_the_new_part_says_nothing_about_the_old_one():
    beside = FeatureSeen(name="plate mark", value="bar", part=WhichPart.NEW)
    assert looks_of(session(beside)) == ()


def test_a_look_of_an_older_journal_is_of_the_old_part():
    head = b'{"n":2,"at":"2031-05-06T09:00:00.000Z","by":"Ann","kind":"feature",'
    line = head + b'"body":{"name":"plate mark","value":"dot"},"prev":"' + b"0" * 64 + b'"}'
    assert decode_line(line, source="made up").body.part is WhichPart.OLD


def test_what_counts_is_as_corrected_and_not_withdrawn():
    seen = FeatureSeen(name="plate mark", value="bar", seen=Seen.PHONE)
    changed = Correct(entry=2, body={"name": "plate mark", "value": "dot"}, why="light")
    assert looks_of(session(seen)) == (Look("plate mark", "bar", Seen.PHONE, 2),)
    assert looks_of(session(seen, changed)) == (Look("plate mark", "dot", Seen.US, 2),)
    assert looks_of(session(seen, Withdraw(entry=2, why="slip"))) == ()


def test_two_entries_are_two_looks():
    bar = FeatureSeen(name="plate mark", value="bar")
    found = identifying([]).identify(session(bar, bar))
    assert {(one.variant, one.looks) for one in found.contradictions} == {("knot", 2)}


def test_a_reading_before_the_part_has_soaked_is_left_out_and_named():
    wet = Reading(from_node="1", to_node="2", ohm=5.0, celsius=20.0, temperature=TemperatureSource.NOT_SOAKED)
    found = identifying([]).identify(session(wet))
    assert [(one.entry, one.what) for one in found.left_out] == [(2, "reading")]
    assert found.p_none == pytest.approx(0.02)


def test_capitals_and_blanks_do_not_matter():
    question = Question("plate mark", MARKS)
    looked = (Look("Plate  Mark", "DOT "), Look("plate mark", "Cannot See"), Look("rim", "Dot"))
    assert as_asked(looked, [question]) == (
        Look("plate mark", "dot"),
        Look("plate mark", CANNOT_SEE),
        Look("rim", "Dot"),
    )


def test_words_that_differ_in_capitals_alone_are_left_as_typed():
    question = Question("mark", ("dot", "DOT"))
    assert as_asked([Look("mark", "Dot")], [question]) == (Look("mark", "Dot"),)


def test_the_examples_serve_where_there_are_no_own_variants(tmp_path):
    keys = {one.key for one in compose.Program().identifying(str(tmp_path)).identifier().variants}
    assert {"tern-body-1", "tern-body-2"} <= keys
    (tmp_path / "own.json").write_text(
        json.dumps({"format": 1, "key": "own", "title": "Own", "pins": [{"name": "1"}]}), "utf-8"
    )
    (tmp_path / "broken.json").write_text("{", "utf-8")
    own = compose.Program().identifying(str(tmp_path)).identifier().variants
    assert [one.key for one in own] == ["own"]


def test_a_library_with_one_key_twice_says_so():
    twice = Identifying(variants=lambda: LIBRARY * 2, assumed=lambda: Assumed(PRIORS, FAULTS))
    with pytest.raises(BadInput, match="key 'knot' 2 times"):
        twice.identifier()


# --- what the library shows of a feature --------------------------------------------------

DOT, BAR, OTHER = (Picture(sha256=letter * 64, file=f"{letter}.png") for letter in "abc")
RAWS = {DOT.sha256: b"a dot", BAR.sha256: b"a bar", OTHER.sha256: b"another dot"}


def pictured(*shown):
    variants = [
        variant(f"v{n}", feature(name, value, MARKS, picture=picture), devices=[])
        for n, (name, value, picture) in enumerate(shown)
    ]
    photo = {picture.sha256: RAWS.get(picture.sha256) for *_, picture in shown if picture is not None}
    return Identifying(
        variants=lambda: variants, assumed=lambda: Assumed(PRIORS, FAULTS), photo=lambda one: photo[one.sha256]
    )


def test_each_value_of_a_feature_is_shown_once_in_the_order_of_the_answers():
    knows = pictured(("plate mark", "bar", BAR), ("plate mark", "dot", DOT), ("plate mark", "dot", OTHER))
    found = knows.pictures_of("plate mark")
    assert [(one.value, one.title, one.raw) for one in found] == [
        ("dot", "Quillon Tern, v1", b"a dot"),
        ("bar", "Quillon Tern, v0", b"a bar"),
    ]


def test_a_photo_that_is_missing_gives_way_to_one_that_is_there():
    lost = Picture(sha256="d" * 64, file="d.png")
    knows = pictured(("plate mark", "dot", lost), ("plate mark", "dot", OTHER), ("plate mark", "bar", None))
    assert [one.raw for one in knows.pictures_of("plate mark")] == [b"another dot"]


def test_nothing_is_shown_of_a_feature_nobody_keeps_a_photo_of():
    knows = pictured(("plate mark", "dot", DOT), ("plate mark", "bar", BAR))
    assert knows.pictures_of("cast mark") == ()


def test_the_invented_variants_show_how_their_marks_differ(tmp_path):
    found = compose.Program().identifying(str(tmp_path / "none")).pictures_of("plate mark")
    assert [one.value for one in found] == ["none", "dot", "bar"]
    assert all(one.raw.startswith(b"\x89PNG") for one in found)
