"""Settings: one table, kept whole or not at all, and damage never stops the program."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.fakes.runners import HeldRunner, InlineRunner
from valvebench.archive.kept_file import KeptFile
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.ui import theme
from valvebench.ui.settings import MOST_RECENT, Settings, SettingsHolder, read_settings, settings_bytes, table


class Page:
    def __init__(self, folder: Path, *, save=None, runner=None) -> None:
        path = folder / "own" / "settings.json"
        self.file = KeptFile(path) if save is None else KeptFile(path, save=save)
        self.words: list[str] = []
        self.runner = runner or InlineRunner()
        self.holder = SettingsHolder(self.file, self.runner, say=self.words.append)

    @property
    def path(self) -> Path:
        return self.file.path


@pytest.fixture
def page(tmp_path):
    return Page(tmp_path)


def test_every_line_of_the_table_says_what_it_does():
    assert [line.name for line in table()] == list(Settings.__struct_fields__)
    assert all(line.text for line in table())
    assert [line.default for line in table()][:3] == ["light", 1.0, ""]


def test_the_palettes_are_those_of_the_window():
    for name in theme.THEMES:
        assert read_settings(json.dumps({"palette": name}).encode())[1] == ()


def test_the_first_start_has_the_usual_values_and_no_message(page):
    assert page.holder.load() == Settings()
    assert page.holder.problem == ""
    assert not page.path.exists()


def test_a_change_is_kept_for_the_next_start(page, tmp_path):
    page.holder.change(palette="dark", zoom=1.5, by="Ann \u00fc")
    again = Page(tmp_path)
    assert again.holder.load() == Settings(palette="dark", zoom=1.5, by="Ann \u00fc")
    assert again.holder.problem == ""


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"\x00\xff", id="no text"),
        pytest.param(b"[1, 2]", id="no table"),
        pytest.param(b'{"palette": "dark"', id="torn"),
        pytest.param(b'{"zoom": NaN}', id="not a number"),
        pytest.param(b'{"zoom": 50}', id="out of bounds"),
        pytest.param(b'{"palette": "pink"}', id="unknown colours"),
        pytest.param(b'{"recent": [{"path": 3}]}', id="wrong type inside"),
        pytest.param(b'{"zoom": 1, "zoom": 2}', id="said twice"),
    ],
)
def test_damage_is_set_aside_with_a_message_and_the_program_starts(page, raw):
    page.path.parent.mkdir()
    page.path.write_bytes(raw)
    assert page.holder.load() == Settings()
    assert page.holder.problem.startswith("The settings were damaged (")
    assert not page.path.exists()
    assert page.path.with_name("settings.json.damaged").read_bytes() == raw


def test_one_wrong_value_leaves_the_others(page):
    page.path.parent.mkdir()
    page.path.write_bytes(b'{"palette": "dark", "zoom": "big", "from_a_later_version": 1}')
    assert page.holder.load() == Settings(palette="dark")
    assert "zoom" in page.holder.problem


def test_a_folder_in_place_of_the_file_is_told(page):
    page.path.mkdir(parents=True)
    assert page.holder.load() == Settings()
    assert page.holder.problem.startswith("The settings could not be read")


def test_a_disk_that_refuses_keeps_the_change_for_this_window_and_says_so(tmp_path):
    def full(path, raw):
        raise WorldFailed(f"{path}: not saved (No space left). Make room on the disk and save again.")

    page = Page(tmp_path, save=full)
    page.holder.change(palette="dark")
    assert page.holder.now.palette == "dark"
    assert page.words[0].startswith("The settings hold until the window is closed, but were not kept.")
    assert "Make room" in page.words[0]


def test_a_read_only_place_is_told_and_not_a_crash(tmp_path):
    (tmp_path / "own").touch()
    page = Page(tmp_path)
    page.holder.change(by="Ann")
    assert page.holder.now.by == "Ann"
    assert "cannot be made" in page.words[0]


@pytest.mark.parametrize("changes", [{"zoom": 9.0}, {"palette": "pink"}, {"by": "x" * 201}])
def test_what_cannot_be_is_refused_and_nothing_changes(page, changes):
    with pytest.raises(BadInput):
        page.holder.change(**changes)
    assert page.holder.now == Settings()


def test_recent_sessions_are_few_and_each_stands_once(page):
    for count in range(MOST_RECENT + 5):
        page.holder.opened(Path(f"/jobs/{count}"), title=f"Job {count}", about="x" * 500)
    page.holder.opened(Path("/jobs/7"), title="Job 7", about="")
    recent = page.holder.now.recent
    assert len(recent) == MOST_RECENT
    assert [one.title for one in recent[:2]] == ["Job 7", f"Job {MOST_RECENT + 4}"]
    assert len({one.path for one in recent}) == MOST_RECENT


def test_a_pinned_session_stays_whatever_is_opened_after_it(page):
    page.holder.opened(Path("/jobs/0"), title="Job 0", about="")
    page.holder.pin("/jobs/0", is_pinned=True)
    for count in range(1, MOST_RECENT + 5):
        page.holder.opened(Path(f"/jobs/{count}"), title=f"Job {count}", about="")
    assert len(page.holder.now.recent) == MOST_RECENT
    assert page.holder.now.recent[-1].title == "Job 0"
    page.holder.opened(Path("/jobs/0"), title="Job 0", about="")
    assert page.holder.now.recent[0].is_pinned


def test_with_everything_pinned_the_newest_still_finds_a_place(page):
    for count in range(MOST_RECENT + 1):
        page.holder.opened(Path(f"/jobs/{count}"), title=f"Job {count}", about="")
        page.holder.pin(f"/jobs/{count}", is_pinned=True)
    titles = [one.title for one in page.holder.now.recent]
    assert (titles[0], len(titles), "Job 0" in titles) == (f"Job {MOST_RECENT}", MOST_RECENT, False)


def test_a_pinned_session_that_is_not_there_now_is_not_forgotten(page):
    for name in ("stick", "disk"):
        page.holder.opened(Path(f"/{name}/1"), title=name, about="")
    page.holder.pin("/stick/1", is_pinned=True)
    page.holder.forget_missing(frozenset())
    assert [one.title for one in page.holder.now.recent] == ["stick"]


def test_a_list_kept_before_there_were_pins_is_read():
    raw = b'{"recent":[{"path":"/jobs/1","title":"Job 1","about":""}]}'
    settings, problems = read_settings(raw)
    assert (settings.recent[0].is_pinned, problems) == (False, ())


def test_a_path_that_is_no_text_is_not_remembered(page):
    page.holder.opened(Path("/jobs/\udcff"), title="Job", about="")
    assert page.holder.now.recent == ()


def test_a_change_waits_for_no_disk(tmp_path):
    runner = HeldRunner()
    runner.is_held = True
    page = Page(tmp_path, runner=runner)
    page.holder.change(zoom=1.1)
    assert page.holder.now.zoom == 1.1
    assert not page.path.exists()
    runner.release()
    assert read_settings(page.path.read_bytes())[0].zoom == 1.1


def test_a_fault_of_ours_is_not_hidden(tmp_path):
    page = Page(tmp_path, save=lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        page.holder.change(zoom=1.1)


def test_the_file_reads_back_as_it_was():
    settings = Settings(palette="high_contrast", zoom=0.8, by="A", jobs_folder="x")
    assert read_settings(settings_bytes(settings)) == (settings, ())
