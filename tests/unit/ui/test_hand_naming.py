"""Names are asked last, one part at a time; the saved variant is the truth of the body and claims no more."""

from __future__ import annotations

import pytest

from tests.fakes.hand_bench import HandBench, NamingBench
from tests.fakes.hand_bodies import ODD_PART, TWELVE, body_of
from valvebench.model.entry import Note
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import SourceKind
from valvebench.ui.hand.naming import BodyTyped, PartTyped, key_of


@pytest.fixture
def naming(tmp_path):
    bench = HandBench(pins=12)
    bench.read(TWELVE)
    return NamingBench(bench, tmp_path)


def accept(naming, *, until: str = "") -> None:
    """Enter on every default, up to the part whose question names these pins."""
    while not naming.view.show_body.called:
        if until and until in naming.part.title:
            return
        naming.names.part_typed(PartTyped(name=naming.part.name, kind=naming.part.kind))


def saved(naming):
    (path,) = naming.folder.glob("*.json")
    return read_variant(path.read_bytes(), source=str(path))


def test_each_part_is_asked_for_with_its_doubt_and_a_name_to_accept(naming):
    part = naming.part
    assert part.title == "What is between 2 and 11?"
    assert "12.5 \u03a9 as read" in part.about
    assert "\u00b1" in part.about
    assert (part.name, part.kind, part.progress) == ("Coil 1", "solenoid", "1 of 7")


def test_a_sensor_is_guessed_and_the_guess_can_be_overruled(naming):
    accept(naming, until="6 and 12")
    assert (naming.part.name, naming.part.kind) == ("Sensor 1", "temperature_sensor")
    naming.names.part_typed(PartTyped(name="Turns", kind="speed_sensor"))
    accept(naming)
    naming.names.body_typed(BodyTyped(title="Tern X"))
    assert type(saved(naming).device_named("Turns")).__name__ == "SpeedSensor"


def test_enter_all_the_way_saves_the_truth(naming):
    accept(naming)
    assert naming.body.title == "Body of job T-7"
    naming.names.body_typed(BodyTyped(title=naming.body.title, connector="A", key=""))
    body = saved(naming)
    assert {frozenset(one.between) for one in body.devices} == TWELVE.wires
    assert (body.key, body.faces[0].name, len(body.pins)) == ("body-of-job-t-7", "A", 12)
    assert naming.saved == [naming.folder / "body-of-job-t-7.json"]


def test_limits_say_one_good_body_and_the_odd_one_lends_none(naming):
    accept(naming)
    naming.names.body_typed(BodyTyped(title="Tern X"))
    devices = {frozenset(one.between): one for one in saved(naming).devices}
    odd = devices.pop(ODD_PART)
    assert (odd.low_ohm, odd.high_ohm) == (None, None)
    assert {(one.source.kind, one.source.n) for one in devices.values()} == {(SourceKind.MEASURED, 1)}
    assert "not the maker\u2019s" in " ".join(naming.body.about)


def test_an_odd_one_of_another_kind_keeps_its_limits_and_leaves_the_set(naming):
    accept(naming, until="9 and 11")
    assert "odd one out" in naming.part.about
    assert naming.part.set_words == "of one kind with 3\u201311, 5\u201311, 7\u201311"
    naming.names.part_typed(PartTyped(name="Dunlin", kind="solenoid", is_in_set=False))
    accept(naming)
    naming.names.body_typed(BodyTyped(title="Tern X"))
    dunlin = saved(naming).device_named("Dunlin")
    assert dunlin.matched_set is None
    assert dunlin.low_ohm < 6.4 < dunlin.high_ohm


def test_two_parts_cannot_have_one_name(naming):
    naming.names.part_typed(PartTyped(name="Heron"))
    naming.names.part_typed(PartTyped(name="Heron"))
    field, words = naming.problem
    assert (field, "Heron is between 2\u201311 already" in words) == ("name", True)


def test_back_keeps_what_was_said(naming):
    naming.names.part_typed(PartTyped(name="Heron"))
    naming.names.back()
    assert naming.part.name == "Heron"
    naming.names.back()
    naming.view.show_walk.assert_called_once()
    naming.names.begin(naming.bench.walk.found)
    assert naming.part.name == "Heron"


def test_nothing_is_overwritten(naming):
    (naming.folder / "tern-x.json").write_text("kept", encoding="ascii")
    accept(naming)
    naming.names.body_typed(BodyTyped(title="Tern X"))
    field, words = naming.problem
    assert (field, "is there already" in words) == ("key", True)
    assert (naming.folder / "tern-x.json").read_text(encoding="ascii") == "kept"


def test_a_disk_that_refuses_is_said_and_tried_again(naming):
    accept(naming)
    naming.disk_is_full = True
    naming.names.body_typed(BodyTyped(title="Tern X"))
    assert naming.problem[1].startswith("Not saved")
    naming.view.show_saved.assert_not_called()
    naming.disk_is_full = False
    naming.names.body_typed(BodyTyped(title="Tern X"))
    naming.view.show_saved.assert_called_once()


def test_the_journal_names_the_file_that_was_made(naming):
    accept(naming)
    naming.names.body_typed(BodyTyped(title="Tern X"))
    note = naming.bench.desk.session.items[-1].body
    assert isinstance(note, Note)
    assert "Variant tern-x made from these readings" in note.text


def test_a_title_is_asked_for(naming):
    accept(naming)
    naming.names.body_typed(BodyTyped(title=" "))
    assert naming.problem[0] == "title"
    assert not list(naming.folder.iterdir())


def test_an_unfinished_wiring_is_saved_as_such(tmp_path):
    bench = HandBench(pins=12)
    bench.read(TWELVE, most=26)
    naming = NamingBench(bench, tmp_path)
    accept(naming)
    assert naming.body.about[0].startswith("The wiring is not settled yet")
    naming.names.body_typed(BodyTyped(title="Tern half"))
    assert saved(naming).devices


def test_a_closed_contact_is_a_link_or_a_switch(tmp_path):
    bench = HandBench(pins=2)
    bench.read(body_of(2, [("1", "case", 0.1)]))
    naming = NamingBench(bench, tmp_path)
    assert (naming.part.name, naming.part.kind) == ("Link 1", "link")
    naming.names.part_typed(PartTyped(name="Reel", kind="switch"))
    naming.names.body_typed(BodyTyped(title="Tern X"))
    assert saved(naming).device_named("Reel").at_rest.value == "closed"


@pytest.mark.parametrize(
    ("title", "key"), [("Tern, body 4", "tern-body-4"), ("\u00fc", "part-in-hand"), ("../etc", "etc")]
)
def test_a_key_is_made_from_the_title(title, key):
    assert key_of(title) == key
