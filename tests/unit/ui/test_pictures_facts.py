"""What the pictures of a session say: title, job, day, limits with their source, and what is invented."""

from __future__ import annotations

import json

import pytest

from tests.unit.report.samples import VARIANT, session_of
from valvebench.bench.story import INVENTED
from valvebench.judge.session import judge_session
from valvebench.model.entry import Note, OpenJob, Reading
from valvebench.model.errors import BadInput
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import TemperatureSource, Verdict
from valvebench.ui.pictures.facts import INVENTED_JOB, INVENTED_LIMITS, file_names, pictures_of

COMMON = {"celsius": 20.0, "meter": "0.5%+5x0.01", "temperature": TemperatureSource.TAPED}
GULL = Reading(from_node="1", to_node="7", ohm=5.2, **COMMON)
BAD_GULL = Reading(from_node="1", to_node="7", ohm=7.2, **{**COMMON, "celsius": 60.0})
OPEN_GULL = Reading(from_node="1", to_node="7", open=True, range_ohm=6e7, **COMMON)


def variant(**more):
    return read_variant(json.dumps(json.loads(VARIANT) | more).encode(), source="test")


def drawn(*bodies, of=None, **about):
    session = session_of(*bodies, job=OpenJob(session="s", job="T-1", serial="0418-77", **about))
    of = of or variant()
    return pictures_of(session, of, judge_session(session, of), program="valvebench test")


def words(picture):
    return "\n".join((picture.title, picture.about.job, picture.about.invented, *picture.told))


def test_the_connector_then_each_solenoid_that_was_read_in_the_order_of_the_variant():
    heron = Reading(from_node="2", to_node="7", ohm=13.0, **COMMON)
    assert [one.name for one in drawn(heron, GULL)] == ["Connector", "Solenoid Gull", "Solenoid Heron"]


def test_names_sort_and_hold_no_sign_a_disk_could_refuse():
    pictures = drawn(GULL, of=variant(faces=[{"name": "A/B: 1"}]))
    assert file_names(pictures) == ["01-Connector-A-B--1.png", "02-Solenoid-Gull.png"]
    many = file_names(pictures * 60)
    assert many == sorted(many)
    assert many[0].startswith("001-")


def test_a_plot_says_job_day_limits_source_and_rule():
    told = words(drawn(GULL, vehicle="shuttle 7")[1])
    for part in (
        "Solenoid Gull against its temperature",
        "Job T-1 \u00b7 shuttle 7 \u00b7 Quillon Tern, test body \u00b7 body serial 0418-77 \u00b7 2031-05-06",
        "Limits: 4.90 to 5.50 \u03a9 at 20 \u00b0C; manual: invented, page 1.",
        "Judged by the rule: Proved only.",
        "expanded uncertainty",
    ):
        assert part in told


def test_a_limit_without_its_temperature_says_that_it_is_assumed():
    heron = Reading(from_node="2", to_node="7", ohm=13.0, **COMMON)
    told = words(drawn(heron)[1])
    assert (
        "12.0 to 15.0 \u03a9 at 20 \u00b0C (assumed: the source does not state it); measured on one good body" in told
    )


def test_the_verdict_of_a_plot_is_that_of_all_its_readings():
    plot = drawn(GULL, BAD_GULL)[1]
    assert (plot.verdict, plot.verdict_words) == (Verdict.FAIL, "Fail, from 2 rows of readings")
    assert [mark[3] for mark in plot.plot.marks] == [Verdict.PASS, Verdict.FAIL]


def test_an_open_reading_cannot_be_drawn_and_is_not_left_out_in_silence():
    assert "1 row of readings has no number to draw, such as open." in words(drawn(GULL, OPEN_GULL)[1])
    assert len(drawn(OPEN_GULL)) == 1


def test_no_band_is_spoken_of_where_there_is_none():
    curlew = Reading(from_node="3", to_node="7", ohm=9.0, **COMMON)
    told = words(drawn(curlew)[1])
    assert "no limit stated" in told
    assert "band" not in told


def test_the_connector_has_the_marks_of_its_pins_and_its_devices_in_words():
    face = drawn(GULL, BAD_GULL)[0]
    assert face.marks["1"] is Verdict.FAIL
    assert face.marks["7"] is None  # the common shows faults of its own only
    first = face.lines[0]
    assert (first.verdict, first.words) == (Verdict.FAIL, "Solenoid Gull, 1\u20137: fail")
    assert first.limits == "4.90 to 5.50 \u03a9 at 20 \u00b0C; manual: invented, page 1"
    assert "Isolation to the case: at least 1.00 M\u03a9; source not stated." in face.told


@pytest.mark.parametrize(("seen_from", "side"), [("mating", "mating"), ("wire", "wire")])
def test_the_connector_says_which_side_it_shows(seen_from, side):
    face = drawn(of=variant(faces=[{"name": "A", "seen_from": seen_from}]))[0]
    assert face.title == f"Connector A, seen from the {side} side"
    assert face.is_turned is (side == "wire")


@pytest.mark.parametrize(
    ("bodies", "note", "said"),
    [
        pytest.param([Note(text=INVENTED)], "", INVENTED_JOB, id="a demo job"),
        pytest.param([], "Invented example.", INVENTED_LIMITS, id="an invented variant"),
        pytest.param([], "copied from page 3", "", id="a real one"),
    ],
)
def test_what_is_invented_is_said(bodies, note, said):
    assert {one.about.invented for one in drawn(GULL, *bodies, of=variant(note=note))} == {said}


def test_without_a_variant_there_is_nothing_to_draw_and_it_says_what_to_do():
    session = session_of(GULL)
    with pytest.raises(BadInput, match="a job with a variant"):
        pictures_of(session, None, judge_session(session, None), program="valvebench test")
