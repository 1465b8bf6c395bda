"""The Start page: three kinds of job, recent sessions, drops, and what the world refuses."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import last
from tests.fakes.runners import InlineRunner
from valvebench.model.entry import BODY_OF_KIND, Connector, body_from
from valvebench.model.errors import WorldFailed
from valvebench.model.words import JobKind
from valvebench.ui.services import Listed
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.start.drops import Dropped, Kind, as_path, what_is
from valvebench.ui.start.kinds import FIELDS, KIND_WORDS, first_fields, more_fields
from valvebench.ui.start.presenter import (
    CLEARED,
    FROM_BUNDLE,
    NO_NUMBER,
    NONE_BEFORE,
    PHOTO_FIRST,
    HandTyped,
    JobTyped,
    StartPresenter,
    StartView,
    folder_name,
)


class MemoryFile:
    """Settings in memory."""

    def __init__(self) -> None:
        self.raw: bytes | None = None

    def read(self):
        return self.raw

    def write(self, raw):
        self.raw = raw

    def set_aside(self):
        return Path("aside")


class World:
    """Remembers what it was asked to make or open."""

    def __init__(self) -> None:
        self.made: list[tuple[Path, dict, Path | None, str | None]] = []
        self.opened: list[tuple[Path, str | None]] = []
        self.problem: Exception | None = None

    def create_job(self, folder, job, *, variant=None, by=None):
        self._check()
        self.made.append((folder, dict(job), variant, by))
        return "desk"

    def open_desk(self, folder, *, by=None):
        self._check()
        self.opened.append((folder, by))
        return "desk"

    def take_in_bundle(self, file, root):
        self._check()
        return root / file.stem

    def work_on_sample(self, folder, root):
        return root / folder.name

    def sample_jobs(self):
        return (Listed("one", "half done", Path("samples/one")),)

    def variants(self):
        return (Listed("Tern, invented", "tern", Path("tern.json")),)

    def own_variants(self, folder):
        self._check()
        return (Listed("Own, invented", "own", Path(folder or "mine") / "own.json"),)

    def jobs_folder(self):
        return Path("jobs")

    def _check(self):
        if self.problem is not None:
            raise self.problem


class Page:
    def __init__(self) -> None:
        self.view, self.world, self.runner = create_autospec(StartView, instance=True), World(), InlineRunner()
        self.settings = SettingsHolder(MemoryFile(), self.runner, say=lambda _: None)
        self.failed: list[Exception] = []
        self.start = StartPresenter(
            self.view,
            self.world,
            self.settings,
            self.runner,
            open_with=self._open_with,
            clock=lambda: datetime(2031, 5, 6, 14, 12, 33, tzinfo=UTC),
        )

    def _open_with(self, work):
        self.runner.run(work, done=lambda _: None, failed=self.failed.append)

    @property
    def problems(self):
        return last(self.view.show_problems)[0]

    @property
    def said(self):
        return self.view.say.call_args


@pytest.fixture
def page():
    return Page()


def test_it_is_never_empty(page):
    page.start.start()
    assert last(page.view.show_fields)[0][0] == "job"
    page.view.show_samples.assert_called_once()
    assert [call.args[0][0].title for call in page.view.show_variants.call_args_list] == [
        "Tern, invented",
        "Own, invented",
    ]


def test_a_folder_of_own_variants_that_cannot_be_read_is_told_and_the_page_stays(page):
    page.world.problem = WorldFailed("the share is away")
    page.start.start()
    assert (page.said.args, page.said.kwargs) == (("the share is away",), {"is_problem": True})


def test_every_field_of_a_job_belongs_to_the_complaint_form():
    names = {field.name for field in FIELDS}
    assert set(first_fields(JobKind.COMPLAINT)) | set(more_fields(JobKind.COMPLAINT)) == names
    known = set(BODY_OF_KIND["open-job"].__struct_fields__)
    beside_the_form = {"session", "kind", "variant", "require_air", "program", "revises", "revises_why"}
    assert known - names == beside_the_form
    assert set(KIND_WORDS) == set(JobKind)


def test_a_bench_check_asks_for_no_vehicle():
    asked = {*first_fields(JobKind.BENCH_CHECK), *more_fields(JobKind.BENCH_CHECK)}
    assert not asked & {"vehicle", "odometer_km", "shift", "when", "feel"}
    assert first_fields(JobKind.BENCH_CHECK) == ("job", "serial", "part")


def test_a_job_is_made_with_what_was_typed(page):
    page.settings.change(by="Ann")
    fields = {"job": "T 17/4", "serial": "0418", "customer": "", "odometer_km": "184210,5"}
    page.start.job_asked(JobTyped(fields=fields, variant="tern.json", is_air_required=True))
    ((folder, job, variant, by),) = page.world.made
    assert (folder, variant, by) == (Path("jobs/job-T-17-4"), Path("tern.json"), "Ann")
    assert job == {
        "job": "T 17/4",
        "serial": "0418",
        "odometer_km": 184210.5,
        "require_air": True,
        "kind": "complaint",
    }
    body_from("open-job", {"session": "s"} | job)


def test_a_bench_check_keeps_nothing_of_a_vehicle_typed_before(page):
    fields = {"job": "9", "vehicle": "Shuttle 7", "feel": "bump"}
    page.start.job_asked(JobTyped(kind=JobKind.BENCH_CHECK, fields=fields))
    assert page.world.made[0][1] == {"job": "9", "kind": "bench_check"}


def test_an_enquiry_gets_a_number(page):
    page.start.job_asked(JobTyped(kind=JobKind.ENQUIRY, fields={"job": "", "customer": "a voice"}))
    ((folder, job, _, _),) = page.world.made
    assert job == {"customer": "a voice", "job": "E-20310506-141233", "kind": "enquiry"}
    assert folder == Path("jobs/job-E-20310506-141233")


@pytest.mark.parametrize(
    ("fields", "name", "words"),
    [
        pytest.param({}, "job", NO_NUMBER, id="no number"),
        pytest.param({"job": "9", "odometer_km": "many"}, "odometer_km", "odometer: found 'many'", id="no kilometres"),
    ],
)
def test_what_is_wrong_is_told_beside_its_field_and_nothing_is_made(page, fields, name, words):
    page.start.job_asked(JobTyped(fields=fields))
    assert page.problems[name].startswith(words)
    assert page.world.made == []


def test_new_jobs_go_where_the_settings_say(page):
    page.settings.change(jobs_folder="elsewhere")
    page.start.job_asked(JobTyped(fields={"job": "9"}))
    assert page.world.made[0][0] == Path("elsewhere/job-9")


@pytest.mark.parametrize(
    ("job", "folder"),
    [("2217", "job-2217"), ("a/b\\c:", "job-a-b-c"), ("..", "job"), ("x" * 300, "job-" + "x" * 80)],
)
def test_a_folder_name_is_safe_everywhere(job, folder):
    assert folder_name(job) == folder


def test_what_was_typed_for_a_job_is_forgotten_once_it_stands_open(page):
    """The serial of one body in the job of the next would be a wrong record."""
    page.start.job_asked(JobTyped(kind=JobKind.COMPLAINT, fields={"job": "2301"}, variant="", is_air_required=False))
    assert not page.view.forget_job.called, "it may still fail, and then nothing typed may be lost"
    page.start.opened()
    assert (page.view.forget_job.call_count, page.view.forget_hand.call_count) == (1, 0)
    page.start.opened()
    assert page.view.forget_job.call_count == 1


def test_opening_another_session_loses_nothing_typed(page):
    page.start.job_asked(JobTyped(kind=JobKind.COMPLAINT, fields={"job": "2301"}, variant="", is_air_required=False))
    page.start.open_asked(Path("job-9"))
    page.start.opened()
    assert not page.view.forget_job.called


def test_a_sample_is_opened_as_a_copy(page):
    page.start.sample_asked(Path("samples/one"))
    assert page.world.opened == [(Path("jobs/one"), None)]


def test_a_copy_of_a_sample_goes_where_the_settings_say(page):
    page.settings.change(jobs_folder="elsewhere")
    page.start.sample_asked(Path("samples/one"))
    assert page.world.opened == [(Path("elsewhere/one"), None)]


def test_what_cannot_be_opened_reaches_the_window(page):
    page.world.problem = WorldFailed("job-9: this session is open in another window or command.")
    page.start.open_asked(Path("job-9"))
    assert [str(error) for error in page.failed] == ["job-9: this session is open in another window or command."]


# -- recent ------------------------------------------------------------------------------------


def remember(page, folder):
    folder.mkdir()
    (folder / "journal.jsonl").touch()
    page.settings.opened(folder, title=f"Job {folder.name}", about="0418")


def test_recent_sessions_newest_first_and_only_those_that_are_there(page, tmp_path):
    for name in ("old", "gone", "new"):
        remember(page, tmp_path / name)
    (tmp_path / "gone" / "journal.jsonl").unlink()
    page.start.refresh_recent()
    assert [one.title for one in last(page.view.show_recent)[0]] == ["Job new", "Job old"]
    assert len(page.settings.now.recent) == 2


def test_pinned_sessions_stand_first_and_the_newest_is_named(page, tmp_path):
    for name in ("old", "mid", "new"):
        remember(page, tmp_path / name)
    page.start.refresh_recent()
    page.start.pin_asked(tmp_path / "old", True)
    shown = page.view.show_recent.call_args
    assert [(one.title, one.is_pinned) for one in shown.args[0]] == [
        ("Job old", True),
        ("Job new", False),
        ("Job mid", False),
    ]
    assert shown.kwargs == {"newest": tmp_path / "new"}


def test_clearing_leaves_what_is_pinned_and_says_that_nothing_is_lost(page, tmp_path):
    for name in ("old", "new"):
        remember(page, tmp_path / name)
    page.start.refresh_recent()
    page.start.pin_asked(tmp_path / "old", True)
    page.start.clear_asked()
    assert [one.title for one in page.settings.now.recent] == ["Job old"]
    assert last(page.view.say) == (CLEARED,)
    page.start.pin_asked(tmp_path / "old", False)
    page.start.clear_asked()
    assert page.view.show_recent.call_args.kwargs == {"newest": None}
    assert (tmp_path / "old" / "journal.jsonl").exists()


def test_the_last_session_is_opened_by_one_key(page, tmp_path):
    remember(page, tmp_path / "old")
    remember(page, tmp_path / "gone")
    (tmp_path / "gone" / "journal.jsonl").unlink()
    page.start.refresh_recent()
    page.start.last_asked()
    assert page.world.opened == [(tmp_path / "old", None)]


def test_without_a_last_session_the_key_says_so(page):
    page.start.last_asked()
    assert last(page.view.say) == (NONE_BEFORE,)


# -- drops -------------------------------------------------------------------------------------


@pytest.fixture
def things(tmp_path):
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "journal.jsonl").touch()
    (tmp_path / "plain").mkdir()
    for name in ("tern.json", "mark.PNG", "report.pdf"):
        (tmp_path / name).touch()
    return tmp_path


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("job", Kind.SESSION),
        ("job/journal.jsonl", Kind.SESSION),
        ("tern.json", Kind.VARIANT),
        ("mark.PNG", Kind.PHOTO),
        ("report.pdf", Kind.NOTHING),
        ("plain", Kind.NOTHING),
    ],
)
def test_what_was_dropped_is_told_by_name_and_folder(things, name, kind):
    found = what_is([things / name])
    assert found.kind is kind
    assert bool(found.why) == (kind is Kind.NOTHING)


def test_one_thing_at_a_time(things):
    assert what_is([things / "job", things / "tern.json"]).why.startswith("2 things were dropped: one at a time")
    assert what_is([]).why.startswith("Nothing with a place on this computer was dropped")


def test_a_dropped_session_is_opened_a_variant_chosen_a_photo_refused_in_words(page):
    page.start.dropped(Dropped(Kind.SESSION, Path("a/job-9")))
    assert page.world.opened == [(Path("a/job-9"), None)]
    assert page.settings.now.last_folder == "a"
    page.start.dropped(Dropped(Kind.VARIANT, Path("b/own.json")))
    assert last(page.view.choose_variant) == (Path("b/own.json"), "own.json")
    page.start.dropped(Dropped(Kind.PHOTO, Path("mark.png")))
    assert page.said.args == (PHOTO_FIRST,)
    page.start.dropped(Dropped(Kind.NOTHING, Path("x.pdf"), "x.pdf is none of these."))
    assert (page.said.args, page.said.kwargs) == (("x.pdf is none of these.",), {"is_problem": True})


def test_a_path_is_taken_as_typed_quoted_or_as_an_address():
    assert as_path(' "a b/c" ') == Path("a b/c")
    assert as_path("file:///a%20b/c") == Path("/a b/c")


# -- the part in hand --------------------------------------------------------------------------


class DeskWith:
    """Remembers what was kept in it; its disk can refuse."""

    def __init__(self) -> None:
        self.kept: list = []
        self.is_full = self.is_released = False

    def record(self, body):
        if self.is_full:
            raise WorldFailed("no space left")
        self.kept.append(body)

    def release(self):
        self.is_released = True


def in_hand(page, **typed):
    desk = DeskWith()
    made = page.world.made
    page.world.create_job = lambda folder, job, *, by=None: made.append((folder, dict(job), None, by)) or desk
    page.start.hand_asked(HandTyped(**typed))
    return desk


def test_the_part_in_hand_is_a_bench_check_whose_connector_is_kept_first(page):
    desk = in_hand(page, job="2221", pins="12")
    folder, job, _, _ = page.world.made[0]
    assert (folder, job) == (Path("jobs/job-2221"), {"job": "2221", "kind": "bench_check"})
    assert desk.kept == [Connector(pins=12, rows=2, case=True)]


def test_rows_and_casting_are_the_persons_to_say(page):
    assert in_hand(page, job="2221", pins="3", rows="5", has_case=False).kept == [Connector(pins=3, rows=3, case=False)]


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"pins": "12"}, {"job"}),
        ({"job": "1"}, {"pins"}),
        ({"job": "1", "pins": "0"}, {"pins"}),
        ({"job": "1", "pins": "201"}, {"pins"}),
        ({"job": "1", "pins": "\u0661\u0662"}, {"pins"}),
        ({"job": "1", "pins": "2.5", "rows": "many"}, {"pins", "rows"}),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_made(page, typed, wrong):
    in_hand(page, **typed)
    assert set(last(page.view.show_hand_problems)[0]) == wrong
    assert not page.world.made


def test_a_disk_that_fills_while_the_connector_is_kept_leaves_no_session_locked(page):
    desk = DeskWith()
    desk.is_full = True
    page.world.create_job = lambda *_, **__: desk
    page.start.hand_asked(HandTyped(job="2221", pins="12"))
    assert desk.is_released
    assert str(page.failed[0]) == "no space left"


def test_a_bench_check_with_the_variant_saved_just_now(page):
    page.start.check_with(Path("own/tern-x.json"))
    assert last(page.view.choose_kind)[0] is JobKind.BENCH_CHECK
    assert last(page.view.show_fields)[0] == first_fields(JobKind.BENCH_CHECK)
    assert last(page.view.choose_variant) == (Path("own/tern-x.json"), "tern-x")


HEAD = "3:" + "0123456789abcdef" * 4


@pytest.mark.parametrize(
    "ask",
    [
        lambda page: page.start.open_asked(Path("mail/job-7.zip")),
        lambda page: page.start.dropped(Dropped(Kind.BUNDLE, Path("mail/job-7.zip"))),
    ],
    ids=["by its name", "dropped"],
)
def test_a_bundle_becomes_a_session_among_the_jobs_and_its_head_is_to_be_compared(page, ask):
    ask(page)
    assert page.world.opened == [(Path("jobs/job-7"), None)]
    assert page.settings.now.last_folder == "mail"
    assert page.start.opened(HEAD) == FROM_BUNDLE.format(name="job-7.zip", head="3:0123456789abcdef")
    assert page.start.opened(HEAD) == ""


def test_a_bundle_that_cannot_be_opened_is_not_told_of_the_next_session(page):
    page.world.problem = WorldFailed("not as it was written")
    page.start.open_asked(Path("mail/job-7.zip"))
    assert [str(error) for error in page.failed] == ["not as it was written"]
    page.world.problem = None
    page.start.open_asked(Path("jobs/other"))
    assert page.start.opened(HEAD) == ""


def test_a_folder_that_is_called_like_a_bundle_is_a_folder(page, tmp_path):
    (tmp_path / "odd.zip").mkdir()
    page.start.open_asked(tmp_path / "odd.zip")
    assert page.world.opened == [(tmp_path / "odd.zip", None)]
    assert what_is([Path("a/B.ZIP")]) == Dropped(Kind.BUNDLE, Path("a/B.ZIP"))
