"""Faults of ours: told in a quiet line, kept in a log, and the session goes on."""

from __future__ import annotations

import sys
import threading

import pytest
from PySide6.QtCore import Qt, QtMsgType, Signal, qWarning
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from valvebench.archive.verify import verify
from valvebench.diagnose.explained import Ask
from valvebench.model.errors import WorldFailed
from valvebench.model.words import AccessPoint
from valvebench.ui.archive import view as archive_view
from valvebench.ui.archive.again import AgainTyped
from valvebench.ui.archive.presenter import Filters
from valvebench.ui.behind import BEHIND
from valvebench.ui.frame import ARCHIVE, FINDINGS
from valvebench.ui.heat.take_shown import Options
from valvebench.ui.identify.starting import StartTyped
from valvebench.ui.trouble import Log, Trouble
from valvebench.ui.trouble_line import SAFE


@pytest.fixture
def trouble(tmp_path, monkeypatch):
    """The hooks in place, as while the program runs; the test's own are back at the end."""
    for module, name in ((sys, "excepthook"), (threading, "excepthook")):
        monkeypatch.setattr(module, name, getattr(module, name))
    made = Trouble(Log(lambda: tmp_path / "log"))
    made.install()
    yield made
    made.remove()
    made.deleteLater()


@pytest.fixture
def watched(trouble, open_window, sample):
    person = open_window(sample("in-work"))
    trouble.happened.connect(person.window.show_trouble)
    person.folder = person.window.folder
    return person


def told(person):
    line = person.window.trouble_line
    return line.words() if line.isVisible() else ""


def still_works(person):
    """The session is as it was written, and the next reading is kept."""
    person.window.runner.wait()
    QApplication.processEvents()
    person.window.show_page("Pins")
    while person.window.beside_pins.rounds.is_on:  # begun by its signal, as it should be
        person.key(Qt.Key.Key_Escape)
    person.pins.field.clear()
    person.keep("5.24")
    assert verify(person.folder).ok


def test_an_exception_in_a_slot_is_told_logged_and_copied(watched, trouble):
    watched.window.job_page.found.note_typed.connect(lambda _: 1 / 0)
    watched.window.job_page.found.note_typed.emit("x")
    watched.wait(lambda: told(watched) == f"Something went wrong: ZeroDivisionError: division by zero. {SAFE}")
    line = watched.window.trouble_line
    line.details_button.click()
    assert line.details.isVisible()
    assert "ZeroDivisionError" in line.details.toPlainText()
    line.copy_button.click()
    assert "Traceback" in QGuiApplication.clipboard().text()
    assert "ZeroDivisionError" in trouble.log.path.read_text("utf-8")
    line.close_button.click()
    assert not line.isVisible()


def test_an_exception_in_another_thread_is_told_in_the_window(watched):
    thread = threading.Thread(target=lambda: 1 / 0)
    thread.start()
    thread.join()
    watched.wait(lambda: "ZeroDivisionError" in told(watched))
    still_works(watched)


def test_a_message_of_qt_goes_to_the_log_and_only_a_serious_one_to_the_window(watched, trouble):
    qWarning("a small thing")
    assert "a small thing" in trouble.log.path.read_text("utf-8")
    assert told(watched) == ""

    class Context:
        file, line = "x.cpp", 7

    trouble._from_qt(QtMsgType.QtCriticalMsg, Context(), "a large thing")
    watched.wait(lambda: "a large thing" in told(watched))


def test_a_log_that_cannot_be_written_is_no_second_fault(tmp_path):
    (tmp_path / "log").touch()
    log = Log(lambda: tmp_path / "log")
    log.write("one")
    log.write("two")
    log.close()
    assert log.path is None


def test_a_place_for_the_log_that_cannot_be_told_is_no_second_fault():
    log = Log(_refuse)
    log.write("one")
    assert log.path is None


def test_the_log_turns_over_and_stays_small(tmp_path):
    log = Log(lambda: tmp_path)
    for _ in range(30):
        log.write("x" * 100_000)
    log.close()
    assert len(list(tmp_path.iterdir())) == 4
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) < 2_200_000


def test_ctrl_c_still_ends_the_program(trouble, capsys):
    seen = []
    trouble.happened.connect(lambda *words: seen.append(words))
    trouble.caught(KeyboardInterrupt, KeyboardInterrupt(), None)
    assert seen == []
    capsys.readouterr()


# -- exceptions injected into every slot and presenter -----------------------------------------

SIGNALS = {
    "typed": ("5",),
    "kept": ("5",),
    "pin_chosen": ("3",),
    "withdrawn": ((2,),),
    "answered": ("pass",),
    "port_chosen": ("x",),
    "clicks_heard": (1,),
    "group_stepped": (1,),
    "group_chosen": (None,),
    "solenoid_chosen": (0,),
    "gauge_typed": ("x", "y"),
    "set_up_typed": None,
    "fluid_typed": ({"colour": "red"},),
    "note_typed": ("x",),
    "complaint_changed": ("5-6", "hot", "bump"),
    "complaint_typed": ("4-5", "hot", "bump"),
    "photo_typed": ("none.png", "mark"),
    "photo_named": (None,),
    "taken_back": (2,),
    "go_to": ("Findings", ""),
    "check_asked": ("",),
    "volts_asked": ("",),
    "way_chosen": (0,),
    "pictures_asked": ("no such folder/out.xlsx",),
    "bundle_asked": ("no such folder/out.xlsx",),
    "asked": None,
    "outcome_typed": None,
    "anchor_typed": ("tag_handed_over", "x"),
    "export_asked": ("no such folder/out.xlsx",),
    "report_asked": ("no such folder/out.xlsx",),
    "tag_asked": (".pdf",),
    "claim_asked": (".pdf",),
    "run_chosen": (2,),
    "named": ("none.csv",),
    "options_changed": (Options(is_soaked=True),),
    "device_chosen": ("Gull", "Heron"),
    "job_chosen": ("complaint",),
    "shown": (True,),
    "form_typed": None,
    "kpa_typed": None,
    "form_kept": None,
    "line_chosen": (0,),
    "solenoid_named": ("Gull",),
    "fields_typed": ("1", "x"),
    "pasted": ("x",),
    "method_chosen": (1,),
    "file_named": ("none.csv",),
    "gone": ("P6", "x"),
    "picture_typed": ("none.png",),
    "start_asked": (StartTyped(job="T-9"),),
    "chosen": ("x",),
    "filtered": (Filters(),),
    "device_named": ("0",),
    "meter_chosen": (0,),
    "value_opened": ("abcd",),
    "changed": ("device", "", ""),
    "again_asked": (AgainTyped(low="x"),),
    "backup_asked": ("",),
    "restore_asked": ("",),
    "tables_asked": ("",),
}


class Broken:
    """Stands for a view: whatever is asked of it fails, as with a fault of ours."""

    def __getattr__(self, name):
        raise RuntimeError(f"injected into {name}")


def _built_later(window):
    """The pages of the rail that are built at their first visit."""
    for word in window.rail.pages()[:-1]:
        window.show_page(word)
    return [word for word in window.later.pages if word in window.rail.pages()]


def parts(window):
    """Every page or card with what decides for it."""
    job, page = window.job, window.job_page
    behind = {word.lower(): _behind(window, word) for word in BEHIND}
    later = {word.lower(): (window._page(word), window.later.presenters[word]) for word in _built_later(window)}
    return (
        behind
        | later
        | {
            "pins": (window.pins_page, window.pins),
            "rounds": (window.beside_pins.board, window.beside_pins.rounds),
            "job": (page, job.job),
            "found": (page.found, job.found),
            "suspects": (page.suspects, job.suspects),
            "check": (page.check, job.check),
            "finish": (page.finish, job.finish),
            "hand": (page.hand, job.hand),
            "after": (page.after, job.after),
            "take": (window._page("Heat").take_card, window.later.heat.taking),
            "explain": (window._page("Findings").explain_card, window.later.explaining),
            "leak": _leak(window),
        }
        | _archive(window)
    )


def _leak(window):
    window.go_to("Ports", "leak P6")
    return window.later.leak.page, window.later.leak.presenter


def _archive(window):
    window.show_page(ARCHIVE)
    archive = window.archive
    for word in archive_view.PARTS[1:]:
        archive.show_part(word)
    words = dict(zip(("trend", "fails", "again", "safe"), archive_view.PARTS[1:], strict=True))
    made = {name: (archive.page.parts[word], archive.parts[word]) for name, word in words.items()}
    return {"archive": (archive.page.list, archive.presenter)} | made


def _wait_for_workers(window):
    for runner in (window.runner, window.exporter, window.thinker, window.archive.runner, window.archive.worker):
        runner.wait()


def _behind(window, word):
    window.behind.show(word)
    return window.behind.made[word]


PARTS = [
    *("pins", "rounds", "job", "found", "suspects", "check", "finish", "hand", "after"),
    *("ports", "findings", "heat", "take", "explain", "taps", "sweep"),
    *("leak", "identify", "archive", "trend", "fails", "again", "safe"),
]


def arguments(widget, name):
    given = SIGNALS.get(name, ())
    if given is not None:
        return given
    if name == "set_up_typed":
        return (widget.typed_set_up(),)
    return (widget.form() if hasattr(widget, "form") else {},)


def own_signals(widget):
    """Its own, and those of what it is made from in the same folder."""
    folder = type(widget).__module__.rpartition(".")[0]
    kinds = [kind for kind in type(widget).__mro__ if kind.__module__.rpartition(".")[0] == folder]
    return [name for kind in kinds for name, value in vars(kind).items() if isinstance(value, Signal)]


@pytest.mark.parametrize("part", PARTS)
def test_a_fault_in_any_presenter_keeps_session_and_program(watched, part):
    """Each signal of the page in turn, while everything the presenter shows fails."""
    assert set(parts(watched.window)) == set(PARTS), "a page that is new belongs into the list"
    widget, presenter = parts(watched.window)[part]
    if part == "explain":  # works only while somebody looks
        watched.window.show_page(FINDINGS)
        _wait_for_workers(watched.window)
    view = presenter._view
    for name in own_signals(widget):
        presenter._view = Broken()
        getattr(widget, name).emit(*arguments(widget, name))
        _wait_for_workers(watched.window)
        QApplication.processEvents()
        presenter._view = view
    assert SAFE in told(watched)
    still_works(watched)


@pytest.mark.parametrize("part", PARTS)
def test_a_fault_in_any_slot_keeps_session_and_program(watched, part):
    """A slot that fails beside the real one, for every signal of the page."""
    widget, _ = parts(watched.window)[part]
    for name in own_signals(widget):
        if name in {"close_asked", "withdrawn", "taken_back", "undo_asked", "redo_asked"}:
            continue  # they change what counts, which is their work
        watched.window.trouble_line.hide()
        slot = _failing(name)
        getattr(widget, name).connect(slot)
        getattr(widget, name).emit(*arguments(widget, name))
        watched.wait(lambda name=name: f"injected into {name}" in told(watched))
        getattr(widget, name).disconnect(slot)
        _wait_for_workers(watched.window)
        QApplication.processEvents()
    still_works(watched)


ASKED_KEYS = ("kept", "opened", "skip_asked", "previous_asked", "left", "findings_asked", "pin_chosen", "turn_asked")


@pytest.mark.parametrize("name", ASKED_KEYS)
def test_a_fault_while_findings_asks_for_a_warm_reading_keeps_session_and_program(watched, name):
    """Each key in turn, while everything that is shown of what was asked fails."""
    asked, page = watched.window.beside_pins.asked, watched.pins
    asked.start(Ask("3", "7", AccessPoint.CASE_CONNECTOR, "warm", 0.1, 900.0), 80.0)
    assert asked.is_asking
    view, asked._view = asked._view, Broken()
    getattr(page, name).emit(*SIGNALS.get(name, ()))
    watched.wait(lambda: SAFE in told(watched))
    asked._view = view
    asked.end()
    still_works(watched)


def _failing(name):
    def slot(*_):
        raise RuntimeError(f"injected into {name}")

    return slot


def test_a_fault_between_preparing_and_writing_does_not_block_the_next_entry(watched):
    """The place of the entry that never went on its way is given up."""
    watched.window.keeper.prepare(watched.window.desk.session.items[0].body)
    assert watched.window.keeper.is_busy
    watched.window.show_trouble("RuntimeError", "details")
    assert not watched.window.keeper.is_busy
    still_works(watched)


def test_a_fault_while_a_session_opens_leaves_the_ways_in(trouble, open_window, program, monkeypatch):
    person = open_window()
    trouble.happened.connect(person.window.show_trouble)
    monkeypatch.setattr(program, "open_desk", lambda *_, **__: 1 / 0, raising=False)
    person.window.start_page.open_asked.emit(program.sample_jobs()[0].path)
    person.wait(lambda: "ZeroDivisionError" in told(person))
    monkeypatch.setattr(program, "open_desk", lambda *_, **__: _refuse(), raising=False)
    person.window.start_page.open_asked.emit(program.sample_jobs()[0].path)
    person.wait(lambda: person.window.start_page._said.words() == "not today")


def _refuse():
    raise WorldFailed("not today")
