"""What the Pins page shows of a session that is still being read."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import VARIANT
from valvebench.bench.glimpse import Glimpse, Seen
from valvebench.model.entry import OpenJob, Reading
from valvebench.model.variant_rules import read_variant
from valvebench.ui.pins.glimpsed import JUDGING, GlimpseView, show_glimpse

TERN = read_variant(VARIANT, source="the bench")


@pytest.fixture
def view():
    readings = (
        Seen(7, Reading(from_node="1", to_node="3", ohm=5.5, celsius=20.0), "Gull"),
        Seen(8, Reading(from_node="1", to_node="case", open=True, range_ohm=60e6, celsius=20.0), "isolation"),
        Seen(9, Reading(from_node="2", to_node="3", repeats_ohm=(2000.0, 2200.0), celsius=20.0), "Heron"),
    )
    made = create_autospec(GlimpseView, instance=True)
    show_glimpse(made, Glimpse(OpenJob(session="s", job="T-1"), TERN, readings))
    return made


def test_readings_stand_there_as_the_meter_showed_them_and_none_has_a_verdict(view):
    (rows,) = view.show_rows.call_args.args
    assert [(row.number, row.between, row.what, row.ohm) for row in rows] == [
        (7, "1\u20133", "Gull", "5.50"),
        (8, "1\u2013case", "isolation", "> 60 M"),
        (9, "2\u20133", "Heron", "2.10 k"),
    ]
    assert {(row.verdict, row.at_ref, row.limits, row.state) for row in rows} == {(None, JUDGING, "", JUDGING)}


def test_nothing_can_be_typed_before_the_whole_session_was_read(view):
    view.set_enabled.assert_called_once_with(False)


def test_the_connector_of_the_variant_is_there(view):
    view.set_variant.assert_called_once_with(TERN)
