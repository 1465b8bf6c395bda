"""What the Identify page decides, without Qt: what is asked, what is kept, what may be done with the answer."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import msgspec
import pytest

from tests.fakes.identify_bench import TABLE, Bench, library
from tests.unit.diagnose.identify_library import feature, variant
from valvebench.bench.ordering import Sure
from valvebench.diagnose.identified import CANNOT_SEE, SOMETHING_ELSE, Ask
from valvebench.model.entry import Close, FeatureSeen
from valvebench.model.variant import Picture
from valvebench.model.words import JobKind, Seen, WhichPart
from valvebench.ui.identify.presenter import NO_FEATURES, NO_SUCH_ANSWER, SETTLE_FIRST, STILL_WORKING
from valvebench.ui.identify.sheets import OrderPresenter
from valvebench.ui.identify.shown import LOOK_AGAIN, MUST_MATCH, OF_THE_NEW, STILL_OPEN, TELLS_MOST, TOLD_ONLY, leads_of
from valvebench.ui.identify.starting import NOT_YET, StartingPresenter, StartTyped, StartView
from valvebench.ui.job.exports import ExportView
from valvebench.ui.keeper import CLOSED


def all_of(bench, key):
    """Every feature seen as that variant has it."""
    for name, value in zip(("plate mark", "ears", "cast mark", "spigot"), TABLE[key], strict=True):
        bench.answer(name, value)


def test_a_digit_keeps_the_answer_and_the_next_feature_comes():
    bench = Bench()
    first = bench.question
    assert first.lead == TELLS_MOST
    bench.page.answered("1")
    assert bench.looks == [FeatureSeen(name=first.feature, value=first.answers[0].value)]
    assert bench.question.feature != first.feature


def test_every_feature_can_be_answered_with_cannot_see_and_something_else():
    bench = Bench()
    asked = bench.question.feature
    bench.page.answered("0")
    bench.answer(asked, SOMETHING_ELSE)
    assert [look.value for look in bench.looks] == [CANNOT_SEE, SOMETHING_ELSE]


def test_a_digit_that_is_no_answer_keeps_nothing():
    bench = Bench()
    bench.page.choose("ears")
    bench.page.answered("3")
    assert bench.looks == []
    assert bench.said == NO_SUCH_ANSWER


def test_a_key_pressed_before_the_next_feature_is_worked_out_answers_nothing():
    bench = Bench()
    bench.thinker.is_held = True
    bench.page.answered("1")
    bench.page.answered("1")
    assert len(bench.looks) == 1
    assert bench.said == STILL_WORKING
    bench.thinker.release()
    bench.page.answered("1")
    assert len(bench.looks) == 2


def test_of_several_requests_only_the_newest_is_worked_out():
    bench = Bench()
    bench.thinker.is_held = True
    shown = bench.view.show_verdict.call_count
    for _ in range(3):
        bench.page.came_to_front()
    bench.thinker.release()
    assert bench.view.show_verdict.call_count == shown + 1
    assert bench.read == 2, "the others were not even begun"


def test_an_answer_that_comes_late_is_not_shown(monkeypatch):
    bench, late = Bench(), []
    monkeypatch.setattr(bench.thinker, "run", lambda work, *, done, failed: late.append((work(), done)))
    bench.page.came_to_front()
    bench.page.came_to_front()
    shown = bench.view.show_verdict.call_count
    (old, done), (new, done_new) = late
    done_new(new)
    done(old)
    assert bench.view.show_verdict.call_count == shown + 1


def test_how_it_is_seen_holds_until_it_is_turned_and_an_enquiry_begins_by_phone():
    bench = Bench(kind=JobKind.ENQUIRY)
    bench.page.answered("1")
    bench.page.seen_turned()
    bench.page.answered("1")
    assert [look.seen for look in bench.looks] == [Seen.PHONE, Seen.US]


def test_on_the_telephone_the_lay_question_is_asked_and_nothing_twice():
    asked = [
        variant(key, feature("mark", mark, ("a", "b")), feature("ears", ears, ("c", "d")))
        for key, mark, ears in (("knot", "a", "c"), ("rail", "b", "d"))
    ]
    bench = Bench(kind=JobKind.ENQUIRY, variants=asked)
    first = bench.question.feature
    bench.page.answered("1")
    assert bench.question.feature != first
    bench.page.choose(first)
    assert bench.question.lead == TOLD_ONLY


def test_what_a_voice_could_not_see_is_looked_at_once_the_part_is_here():
    bench = Bench(kind=JobKind.ENQUIRY)
    first = bench.question.feature
    bench.page.answered("0")
    assert bench.question.feature != first
    assert first in bench.page.which_now().look_next
    bench.page.seen_turned()
    bench.page.came_to_front()
    assert bench.question.feature == first


def test_the_first_contradiction_asks_for_a_second_look_at_once_and_both_are_entries():
    bench = Bench()
    bench.answer("plate mark", "dot")
    bench.answer("cast mark", "star")
    bench.answer("spigot", "left")
    bench.answer("ears", "four")
    assert (bench.question.feature, bench.question.lead) == ("ears", LOOK_AGAIN)
    bench.page.answered(next(one.key for one in bench.question.answers if one.value == "four"))
    assert [look.value for look in bench.looks if look.name == "ears"] == ["four", "four"]
    assert "also on a second look" in " ".join(bench.verdict.against)
    assert bench.page.confirmed() is None


def test_confirmed_only_once_every_must_match_point_was_seen():
    bench = Bench()
    for name, value in (("cast mark", "star"), ("spigot", "left"), ("plate mark", "dot")):
        bench.answer(name, value)
        bench.answer(name, value)
    assert bench.page.confirmed() is None
    assert (bench.question.feature, bench.question.lead) == ("ears", MUST_MATCH)
    bench.answer("ears", "three")
    assert bench.verdict.head.startswith("Confirmed: it is")
    assert bench.page.confirmed().key == "knot"
    left = bench.page.answer_now.found._replace(first=(), next=(Ask("spigot", 0.1),))
    assert leads_of(left, Seen.US) == {"spigot": STILL_OPEN}
    assert bench.page.which_now().sure is Sure.CONFIRMED


def test_what_was_told_by_phone_alone_never_confirms():
    bench = Bench(kind=JobKind.ENQUIRY)
    all_of(bench, "knot")
    all_of(bench, "knot")
    assert bench.page.confirmed() is None
    assert bench.page.which_now().sure is not Sure.CONFIRMED
    assert "Not seen by us or in a photo: plate mark and ears." in bench.verdict.holds


def test_chances_are_words_that_never_say_certain():
    bench = Bench()
    all_of(bench, "knot")
    all_of(bench, "knot")
    assert {bar.words for bar in bench.verdict.bars} == {"better than 99 in 100", "less than 1 in 100"}
    assert bench.verdict.bars[-1].is_none


def test_the_new_part_is_asked_for_its_must_match_points_and_stands_beside_the_old_one():
    bench = Bench()
    bench.page.part_turned()
    assert bench.view.show_nothing.call_args.args[0] == SETTLE_FIRST
    bench.page.part_turned()
    all_of(bench, "knot")
    head = bench.verdict.head
    bench.page.part_turned()
    assert bench.question.lead == OF_THE_NEW
    bench.answer("plate mark", "dot")
    bench.answer("ears", "four")
    assert bench.verdict.head == head
    assert [look.part for look in bench.looks[-2:]] == [WhichPart.NEW] * 2
    assert {point.feature: point.new for point in bench.points} == {
        "plate mark": "dot: fits",
        "ears": "four: does not fit",
    }


def test_undo_withdraws_redo_restores_and_a_line_can_be_taken_back():
    bench = Bench()
    before = bench.verdict
    bench.page.answered("1")
    bench.page.taking_back.undo()
    assert bench.looks == []
    assert bench.verdict == before
    bench.page.taking_back.redo()
    assert len(bench.looks) == 1
    bench.page.taking_back.withdraw(2)
    assert bench.looks == []
    assert [entry.kind for entry in bench.desk.session.entries[1:]] == ["feature", "withdraw", "restore", "withdraw"]


def test_a_feature_left_for_later_comes_last():
    bench = Bench()
    first = bench.question.feature
    bench.page.skip()
    bench.page.answered("1")
    assert bench.question.feature != first
    bench.page.previous()
    assert bench.question.feature == first, "from the first one back to the last"


def test_many_answers_are_turned_over_eight_at_once():
    values = tuple(f"v{n}" for n in range(11))
    bench = Bench(variants=[variant(key, feature("code", key, values)) for key in ("v0", "v9")])
    assert bench.question.has_more
    bench.page.more_asked()
    bench.page.answered("2")
    assert bench.looks[0].value == "v9"


def test_a_photo_is_kept_with_its_feature_and_shown_with_it():
    bench = Bench()
    name = bench.question.feature
    bench.page.photos.typed("mark.png")
    (photo,) = (item.body for item in bench.desk.session.items_of("photo"))
    assert photo.of == name
    assert bench.view.show_picture.call_args.args[0] is not None


def test_a_full_disk_keeps_nothing_and_says_so():
    bench = Bench()
    asked = bench.question.feature
    bench.store.is_full = True
    bench.page.answered("1")
    assert bench.looks == []
    assert bench.said.startswith("Not saved.")
    assert bench.question.feature == asked


def test_a_closed_session_takes_nothing():
    bench = Bench()
    bench.desk.record(Close(verdict="not_finished", scope=""))
    bench.page.came_to_front()
    bench.page.answered("1")
    assert bench.said == CLOSED
    assert bench.looks == []


def test_a_library_without_features_says_what_to_do():
    bench = Bench(variants=[variant("knot")])
    assert bench.view.show_nothing.call_args.args[0] == NO_FEATURES


def test_the_library_is_read_anew_when_somebody_comes_back():
    bench = Bench()
    assert bench.read == 1
    bench.page.answered("1")
    assert bench.read == 1
    bench.page.left()
    bench.page.came_to_front()
    assert bench.read == 2


# -- an order sheet, a job ---------------------------------------------------------------------


class Papers:
    """Writes nothing, and remembers what was asked."""

    def __init__(self):
        self.asked = []

    def write_paper(self, folder, paper, target, *, step, which, new):
        self.asked.append((target.name, which.sure))
        return True


def test_one_key_writes_the_sheet_twice_from_what_was_found(tmp_path):
    bench, papers = Bench(), Papers()
    view = create_autospec(ExportView, instance=True)
    sheet = OrderPresenter(view, tmp_path / "T-1", papers, bench.disk, which=bench.page.which_now)
    bench.thinker.is_held = True
    bench.page.came_to_front()
    sheet.order()
    assert papers.asked == []
    bench.thinker.release()
    sheet.order()
    assert papers.asked == [("T-1-order.xlsx", Sure.OPEN), ("T-1-order.pdf", Sure.OPEN)]
    assert "T-1-order.xlsx and T-1-order.pdf" in view.say.call_args.args[0]


class Jobs:
    """Makes sessions in memory."""

    def __init__(self, tmp_path):
        self.folder, self.made = tmp_path, []

    def jobs_folder(self):
        return self.folder

    def file_of_variant(self, of, _):
        return Path(f"{of.key}.json")

    def create_job(self, folder, job, *, variant=None, by=None):
        self.made.append((folder, dict(job), variant))
        return Bench().desk


def starting(bench, tmp_path):
    view, jobs, opened = create_autospec(StartView, instance=True), Jobs(tmp_path), []

    class Settings:
        class now:  # noqa: N801  as the real one is asked
            jobs_folder = variants_folder = by = ""

    made = StartingPresenter(
        view,
        bench.keeper,
        jobs,
        Settings,
        (bench.disk, lambda folder, desk: opened.append(desk)),
        confirmed=bench.page.confirmed,
    )
    made.refresh()
    return made, view, jobs, opened


def test_a_job_is_begun_with_a_confirmed_variant_and_the_session_stays_as_it_is(tmp_path):
    bench = Bench()
    all_of(bench, "knot")
    all_of(bench, "knot")
    made, view, jobs, opened = starting(bench, tmp_path)
    count = len(bench.desk.session.entries)
    assert view.show_can.call_args.kwargs == {"can": True}
    made.start(StartTyped(job="T-9", vehicle="Harbour shuttle 7"))
    assert jobs.made == [
        (tmp_path / "job-T-9", {"job": "T-9", "vehicle": "Harbour shuttle 7", "kind": "complaint"}, Path("knot.json"))
    ]
    assert len(opened[0].session.items_of("feature")) == 8
    assert len(bench.desk.session.entries) == count


def test_a_variant_that_is_not_confirmed_cannot_be_used(tmp_path):
    made, view, jobs, _ = starting(Bench(), tmp_path)
    assert view.show_can.call_args.kwargs == {"can": False}
    made.start(StartTyped(job="T-9"))
    assert jobs.made == []
    assert view.say_start.call_args.args[0] == NOT_YET


def test_an_enquiry_that_stays_open_becomes_a_job_without_a_variant(tmp_path):
    bench = Bench(kind=JobKind.ENQUIRY)
    bench.page.answered("1")
    made, view, jobs, opened = starting(bench, tmp_path)
    made.start(StartTyped())
    assert jobs.made == []
    made.start(StartTyped(job="T-9", customer="Skua & Sons"))
    assert jobs.made[0][1:] == ({"job": "T-9", "customer": "Skua & Sons", "kind": "bench_check"}, None)
    (look,) = (item.body for item in opened[0].session.items_of("feature"))
    assert look.seen is Seen.PHONE
    assert view.say_start.called


def test_the_library_of_these_tests_differs_in_every_pair():
    assert len({variant.features for variant in library()}) == 3


# --- what the library shows of a feature --------------------------------------------------


def pictured():
    """Of the plate mark and of the ears every variant keeps a photo; its bytes name it."""
    return [
        msgspec.structs.replace(
            one,
            features=tuple(
                msgspec.structs.replace(feature, picture=Picture(sha256=f"{place}" * 64, file=f"{feature.this}.png"))
                if feature.name in ("plate mark", "ears")
                else feature
                for feature in one.features
            ),
        )
        for place, one in enumerate(library())
    ]


@pytest.fixture
def shown():
    return Bench(variants=pictured(), photo=lambda picture: picture.file.encode())


def examples(bench):
    return [(one.value, one.title, one.image) for one in bench.view.show_examples.call_args.args[0]]


def test_each_value_is_shown_with_the_variant_it_was_taken_of(shown):
    shown.page.choose("plate mark")
    assert examples(shown) == [
        ("none", "Quillon Tern, teal", b"none.png"),
        ("dot", "Quillon Tern, knot", b"dot.png"),
        ("bar", "Quillon Tern, rail", b"bar.png"),
    ]


def test_a_feature_without_photos_takes_those_of_the_one_before_away(shown):
    shown.page.choose("plate mark")
    shown.page.choose("cast mark")
    assert examples(shown) == []


def test_photos_that_come_late_are_not_shown_beside_another_feature(shown):
    shown.disk.is_held = True
    shown.page.choose("ears")
    shown.page.choose("cast mark")
    shown.view.show_examples.reset_mock()
    shown.disk.release()
    assert [list(call.args[0]) for call in shown.view.show_examples.call_args_list] == [[]]


def test_no_photo_is_asked_for_where_the_library_keeps_none():
    bench = Bench()
    assert not bench.view.show_examples.called
