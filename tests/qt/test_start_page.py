"""The Start page, settings and keys in a real window, by keyboard alone."""

from __future__ import annotations

import shutil

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QShortcut
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel

from valvebench.model.errors import WorldFailed
from valvebench.model.words import JobKind
from valvebench.ui import app as ui_app
from valvebench.ui import fonts, theme
from valvebench.ui.main_window import MainWindow

CTRL = Qt.KeyboardModifier.ControlModifier
ESC = Qt.Key.Key_Escape


def buttons(window):
    return {b.accessibleName(): b for b in window.findChildren(QAbstractButton) if b.isVisible()}


def said(person):
    return person.window.start_page._said.words()


def drop(window, *paths):
    """Drag files over the window and let them go."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    keys = (Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    enter = QDragEnterEvent(QPoint(50, 50), *keys)
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(50, 50), *keys))


# -- kinds -------------------------------------------------------------------------------------


def test_each_kind_asks_only_for_what_it_needs(open_window):
    person = open_window()
    new = person.window.start_page.new
    shown = {}
    for kind, option in new.kinds.items():
        option.click()
        shown[kind] = [name for name, field in new.fields.items() if field.isVisible()]
    assert shown[JobKind.BENCH_CHECK] == ["job", "serial", "part"]
    assert shown[JobKind.ENQUIRY] == ["customer", "part"]
    assert "vehicle" in shown[JobKind.COMPLAINT]


def test_more_shows_the_rest_and_less_hides_it_again(open_window):
    person = open_window()
    new = person.window.start_page.new
    assert not new.fields["supplier"].isVisible()
    new.more.setFocus()
    person.key(Qt.Key.Key_Space)
    assert all(field.isVisible() for field in new.fields.values())
    assert new.more.accessibleName() == "Less"
    person.key(Qt.Key.Key_Space)
    assert not new.fields["supplier"].isVisible()


def test_a_complaint_from_the_pick_lists_with_free_words(open_window, tmp_path):
    person = open_window()
    new = person.window.start_page.new
    person.type("2231")
    new.fields["when"].setFocus()
    person.key(Qt.Key.Key_Down)
    person.key(Qt.Key.Key_Down)
    new.fields["feel"].setFocus()
    person.type("bump, then a flare")
    new.air.setFocus()
    person.key(Qt.Key.Key_Space)
    new.fields["feel"].setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None)
    job = person.window.desk.session.job
    assert (job.when, job.feel, job.require_air) == ("cold", "bump, then a flare", True)


def test_an_enquiry_needs_no_number(open_window):
    person = open_window()
    person.window.start_page.new.kinds[JobKind.ENQUIRY].click()
    person.window.start_page.new.go.setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None)
    assert person.window.desk.session.job.job.startswith("E-")


def test_a_job_without_number_says_so_beside_the_field(open_window):
    person = open_window()
    person.key(Qt.Key.Key_Enter)
    field = person.window.start_page.job
    assert field.entry.accessibleDescription().startswith("A job needs a number")
    assert QApplication.focusWidget() is field.entry


def test_a_variant_file_from_anywhere(open_window, program, tmp_path):
    person = open_window()
    own = tmp_path / "mine.json"
    shutil.copy(program.variants()[0].path, own)
    new = person.window.start_page.new
    new.ask_for_file = lambda *_: str(own)
    new.file.click()
    assert new.variant.word() == str(own)
    assert person.window.settings.now.last_folder == str(tmp_path)
    person.window.start_page.job.setFocus()
    person.type("9")
    person.key(Qt.Key.Key_Enter)
    person.wait(person.judged)
    assert person.window.desk.variant is not None


# -- the world refuses -------------------------------------------------------------------------


def test_a_session_open_elsewhere_is_told_and_what_was_typed_stays(open_window, sample, program):
    folder = sample("in-work")
    other = program.open_desk(folder)
    person = open_window()
    person.window.start_page.folder.set_text(str(folder))
    person.window.start_page.folder.entry.setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: "open in another window or command. Close it there" in said(person))
    assert person.window.start_page.folder.text() == str(folder)
    other.release()
    person.window.start_page.folder.entry.setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(person.judged)


@pytest.mark.parametrize("words", ["Choose a folder that may be written to.", "Make room on the disk and save again."])
def test_a_job_that_cannot_be_made_is_told_with_what_to_do(open_window, program, words, monkeypatch):
    def refuse(*_, **__):
        raise WorldFailed(f"job-9: not saved. {words}")

    monkeypatch.setattr(program, "create_job", refuse, raising=False)
    person = open_window()
    person.type("9")
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: words in said(person))
    assert person.window.start_page.job.text() == "9"
    monkeypatch.undo()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None)


def test_another_session_that_cannot_be_opened_leaves_the_one_at_hand(open_window, sample, tmp_path):
    person = open_window(sample("in-work"))
    desk = person.window.desk
    person.key(Qt.Key.Key_O, CTRL)
    assert "Back to job 2217, key Esc" in buttons(person.window)
    drop(person.window, tmp_path / "settings")
    assert "holds no journal.jsonl" in said(person) or "holds no journal.jsonl" in person.window.trouble_line.words()
    assert person.window.desk is desk
    person.key(ESC)
    person.keep("5.24")


# -- recent and back ---------------------------------------------------------------------------


def test_a_session_opened_before_is_one_button_away(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.leave_session()
    person.window.show_start()
    person.wait(lambda: "Job 2217, key Ctrl+L" in buttons(person.window))
    buttons(person.window)["Job 2217, key Ctrl+L"].setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None)
    person.wait(person.judged)
    assert person.window.desk.session.job.job == "2217"


def test_the_last_session_is_one_key_away_from_any_field(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.leave_session()
    person.window.show_start()
    person.wait(lambda: "Job 2217, key Ctrl+L" in buttons(person.window))
    assert person.window.start_page.job.entry.hasFocus()
    person.key(Qt.Key.Key_L, CTRL)
    person.wait(lambda: person.window.desk is not None)
    person.wait(person.judged)


def test_a_session_is_pinned_and_the_list_cleared_by_keyboard(open_window, sample, program):
    person = open_window(sample("healthy-spare"))
    person.window.open_session(sample("in-work"))
    person.wait(lambda: person.window.desk is not None and person.window.desk.job.job == "2217")
    person.window.show_start()
    person.wait(lambda: "Pin Job 2218" in buttons(person.window))
    buttons(person.window)["Pin Job 2218"].setFocus()
    person.key(Qt.Key.Key_Space)
    assert QApplication.focusWidget().accessibleName() == "Unpin Job 2218"
    person.wait(lambda: "Job 2218" in buttons(person.window))
    names = list(buttons(person.window))
    assert names.index("Job 2218") < names.index("Job 2217, key Ctrl+L")
    buttons(person.window)["Clear the list of sessions opened last"].setFocus()
    person.key(Qt.Key.Key_Space)
    person.wait(lambda: "Job 2218, key Ctrl+L" in buttons(person.window))
    assert not any(name.startswith(("Job 2217", "Clear")) for name in buttons(person.window))
    assert "pinned ones stay" in said(person)
    person.window.runner.wait()
    assert b'"is_pinned":true' in program.settings_file().read()


def tab_order(person):
    """What Tab reaches, from the first field round to it again."""
    start = QApplication.focusWidget()
    reached = [start]
    for _ in range(80):
        person.key(Qt.Key.Key_Tab)
        if QApplication.focusWidget() is start:
            return reached
        reached.append(QApplication.focusWidget())
    return reached


def test_everything_on_the_page_is_reached_by_tab(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_start()
    person.wait(lambda: "Pin Job 2217" in buttons(person.window))
    reached = {widget.accessibleName() for widget in tab_order(person)}
    groups = {option.accessibleName() for option in person.window.start_page.new.kinds.values()}
    assert reached >= set(buttons(person.window)) - groups
    assert reached & groups  # arrows walk within one choice


@pytest.mark.parametrize(
    ("name", "is_shown"),
    [
        ("Guide, key F1", lambda window: window.asides.guide_page.isVisible()),
        ("Variants, key Ctrl+E", lambda window: window.variants.page.isVisible()),
        ("Settings, key Ctrl+,", lambda window: window.asides.settings_page.isVisible()),
        ("Keys, key Ctrl+/", lambda window: window.asides.keys_page.isVisible()),
    ],
)
def test_what_stands_beside_the_work_is_there_without_a_job(open_window, name, is_shown):
    person = open_window()
    buttons(person.window)[name].setFocus()
    person.key(Qt.Key.Key_Space)
    assert is_shown(person.window)
    if person.window.variants.page is None:
        person.key(ESC)
    else:
        person.window.variants.page.buttons["back"].setFocus()
        person.key(Qt.Key.Key_Space)
    person.wait(person.window.start_page.isVisible)


def test_opening_the_session_at_hand_goes_back_to_it(open_window, sample):
    folder = sample("in-work")
    person = open_window(folder)
    desk = person.window.desk
    person.window.show_start()
    person.window.start_page.open_asked.emit(folder)
    person.wait(person.window.pins_page.isVisible)
    assert person.window.desk is desk
    assert QApplication.focusWidget() is person.pins.field.entry


# -- drop --------------------------------------------------------------------------------------


def test_a_dropped_session_opens(open_window, sample):
    person = open_window()
    drop(person.window, sample("in-work"))
    person.wait(lambda: person.window.desk is not None)
    person.wait(person.judged)


def test_a_dropped_variant_is_chosen_for_the_new_job(open_window, program):
    person = open_window()
    path = program.variants()[1].path
    drop(person.window, path)
    assert person.window.start_page.new.variant.word() == str(path)


def test_what_cannot_be_used_is_refused_with_the_reason(open_window, tmp_path):
    person = open_window()
    (tmp_path / "report.pdf").touch()
    drop(person.window, tmp_path / "report.pdf")
    assert said(person).startswith("report.pdf is none of these. Drop a session folder")


def test_refused_over_a_session_it_is_told_in_the_quiet_line(open_window, sample, tmp_path):
    person = open_window(sample("in-work"))
    (tmp_path / "report.pdf").touch()
    drop(person.window, tmp_path / "report.pdf")
    assert person.window.trouble_line.isVisible()
    assert person.window.trouble_line.words().startswith("report.pdf is none of these.")
    person.keep("5.24")


def test_the_form_is_empty_for_the_next_job(open_window, tmp_path):
    person = open_window()
    form = person.window.start_page.new
    for name, text in (("job", "2301"), ("serial", "0418-77"), ("customer", "Harbour shuttle")):
        form.fields[name].set_text(text)
    form.fields["job"].setFocus()
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None)
    person.key(Qt.Key.Key_N, CTRL)
    assert {field.text() for field in form.fields.values()} == {""}


# -- settings ----------------------------------------------------------------------------------


def test_settings_take_effect_at_once_and_are_kept(open_window, program):
    person = open_window()
    person.key(Qt.Key.Key_Comma, CTRL)
    page = person.window.asides.settings_page
    assert page.palette_field.box.hasFocus()
    person.key(Qt.Key.Key_Down)
    assert theme.current().name == "dark"
    page.zoom_field.setFocus()
    person.key(Qt.Key.Key_Down)
    assert fonts.zoom.factor == pytest.approx(1.1)
    page.lines["by"].setFocus()
    person.type("Ann")
    person.key(Qt.Key.Key_Enter)
    person.key(ESC)
    assert person.window.start_page.isVisible()
    person.window.runner.wait()
    assert b'"palette":"dark","zoom":1.1,"by":"Ann"' in program.settings_file().read()


def test_the_check_resistor_stands_among_the_settings_and_can_be_forgotten(open_window, program):
    person = open_window()
    person.window.settings.change(check_ohm=4.7, check_pct=1.0)
    person.key(Qt.Key.Key_Comma, CTRL)
    page = person.window.asides.settings_page
    assert [page.lines[name].text() for name in ("check_ohm", "check_pct")] == ["4.7", "1"]
    for text, ohm in (("5,00", 5.0), ("five", 5.0), ("", None)):
        line = page.lines["check_ohm"]
        line.setFocus()
        line.entry.selectAll()
        person.key(Qt.Key.Key_Delete)
        person.type(text)
        person.key(Qt.Key.Key_Enter)
        assert person.window.settings.now.check_ohm == ohm
        assert bool(line._problem.words()) is (text == "five")


def test_the_next_start_looks_as_the_last(open_window, program, qapp):
    first = open_window()
    first.key(Qt.Key.Key_L, CTRL | Qt.KeyboardModifier.ShiftModifier)
    first.key(Qt.Key.Key_Plus, CTRL)
    first.window.runner.wait()
    first.window.close()
    theme.apply(qapp, "light")
    fonts.set_zoom(1.0)
    again = open_window()
    again.window.asides.apply()
    assert (theme.current().name, fonts.zoom.factor) == ("dark", pytest.approx(1.1))


def test_the_name_of_the_settings_is_written_with_every_entry(open_window, sample):
    person = open_window()
    person.window.settings.change(by="Ann")
    person.window.open_session(sample("in-work"))
    person.wait(lambda: person.window.desk is not None)
    person.wait(person.judged)
    person.keep("5.24")
    assert person.entries[-1].by == "Ann"


def test_damaged_settings_are_told_and_the_window_opens(open_window, program):
    path = program.settings_file().path
    path.parent.mkdir()
    path.write_bytes(b"{")
    person = open_window()
    assert person.window.trouble_line.words().startswith("The settings were damaged")
    assert path.with_name("settings.json.damaged").is_file()


# -- keys --------------------------------------------------------------------------------------


def test_the_overview_holds_every_shortcut_that_works(open_window, sample):
    person = open_window(sample("in-work"))
    person.key(Qt.Key.Key_Slash, Qt.KeyboardModifier.ControlModifier)
    page = person.window.asides.keys_page
    shown = {label.text() for label in page.findChildren(QLabel)}
    made = {s.key().toString() for s in person.window.findChildren(QShortcut) if s.whatsThis()}
    assert made
    assert made <= shown
    assert {"Keep", "Bench set-up", "Everywhere", "Job", "Pins"} <= {words.capitalize() for words in shown} | shown
    person.key(ESC)
    assert QApplication.focusWidget() is person.pins.field.entry
    assert person.window.rail.current() == "Pins"


def test_the_keys_of_a_page_stand_with_it_also_when_asked_from_the_ways_in(open_window, sample):
    person = open_window(sample("in-work"))
    for word in ("Ports", "Findings"):
        person.window.show_page(word)
    person.window.show_start()
    asked = []
    person.window.asides.show_keys()
    person.window.asides.keys_page.show_keys = asked.extend
    person.window.asides.show_keys()
    by_words = {key.words: key.where for key in asked}
    assert by_words["Copy the findings as text"] == "Findings"
    assert by_words["bleeds"] == "Ports"
    assert by_words["Settings"] == "Everywhere"


def test_every_shortcut_says_what_it_does(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_editor()
    silent = {s.key().toString() for s in person.window.findChildren(QShortcut) if not s.whatsThis()}
    assert silent <= {"Ctrl+="}  # the same as Ctrl and plus, on keyboards where plus needs Shift


def test_no_two_shortcuts_of_a_page_and_the_window_are_the_same(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_editor()
    editor = person.window.editor.page
    inside = {s.key().toString() for s in editor.findChildren(QShortcut) if s.isEnabled()}
    outside = {
        s.key().toString()
        for s in person.window.findChildren(QShortcut)
        if s.isEnabled() and s.context() == Qt.ShortcutContext.WindowShortcut
    }
    assert not inside & outside
    person.window.show_page("Pins")
    person.key(Qt.Key.Key_N, CTRL)
    assert person.window.start_page.isVisible()


def test_start_settings_and_keys_fit_every_room(open_window):
    person = open_window()
    for width, height, zoom in ((1280, 800, 1.0), (1280, 800, 2.0), (960, 540, 1.0)):
        fonts.set_zoom(zoom)
        person.window.resize(width, height)
        for show in (person.window.show_start, person.window.asides.show_settings, person.window.asides.show_keys):
            show()
            person.wait(lambda: person.window.pages.currentWidget().horizontalScrollBar().maximum() == 0)


def test_run_window_dresses_the_window_and_takes_its_hooks_away(monkeypatch, program, qapp):
    import sys

    before = sys.excepthook
    program.settings_file().write(b'{"palette": "dark"}')
    seen, frozen = [], []

    class App:
        def exec(self):
            seen.append((theme.current().name, sys.excepthook is not before))
            QCoreApplication.processEvents()
            for _ in range(2):  # the second session may go again as it came
                next(w for w in QApplication.topLevelWidgets() if isinstance(w, MainWindow)).session_opened.emit()
            for window in QApplication.topLevelWidgets():
                window.close()
                window.deleteLater()  # collected piece by piece, layouts are freed twice (PySide6 6.11.3)
            return 0

    monkeypatch.setattr(ui_app, "application", App)
    monkeypatch.setattr(ui_app.gc, "freeze", lambda: frozen.append("frozen"))
    monkeypatch.setattr(type(program), "log_folder", lambda self: self._folder)
    assert ui_app.run_window(program) == 0
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert seen == [("dark", True)]
    assert len(frozen) == 2, "once with the first picture, once with the first session"
    assert sys.excepthook is before
