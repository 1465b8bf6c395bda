"""Every page in pictures: nothing cut, overlapping or outside, colour only with a verdict, everything legible."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMainWindow, QWidget

from tests import contrast, page_looks
from tests.every_page import TELLING_JOBS, job_names, settle
from tests.qt.test_every_page_access import controls
from valvebench.model.words import Verdict
from valvebench.ui import theme
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.table import Column, Kind, Table
from valvebench.ui.widgets.text import Text

SCREENS = [("1", "1280x800"), ("1.5", "1280x800"), ("2", "1280x800"), ("2", "960x540")]
"""Scale of the screen, and the window in logical pixels: the last is 1920 by 1080 at 200 %."""
TRIES = 3
NO_FONTS = (
    "<?xml version='1.0'?><!DOCTYPE fontconfig SYSTEM 'fonts.dtd'><fontconfig><cachedir>{}</cachedir></fontconfig>"
)


def test_nothing_is_wrong_on_any_page_at_the_drawn_size(qapp, tmp_path):
    assert page_looks.look(tmp_path, ["light"], page_looks.SIZE, None) == []


@pytest.fixture
def jobs(request):
    """All of them in the study; else those that have every page between them."""
    return job_names() if request.config.getoption("--study") else TELLING_JOBS


def test_no_page_scrolls_sideways_in_the_smallest_window(qapp, tmp_path, jobs):
    """Down is what a wheel and Page Down are for; sideways a hand has to leave its place."""
    wide = [
        name
        for name, window in page_looks.every_look(tmp_path, ["light"], page_looks.SMALLEST, jobs=jobs)
        if (scroll := window.pages.currentWidget()).isVisible() and scroll.horizontalScrollBar().maximum() > 0
    ]
    assert wide == []


def weak_after_settling(window) -> list:
    """What stays weak: on a busy machine a page may still be on its way, and what it shows be made anew."""
    found = ["never at rest"]
    for _ in range(TRIES):
        with contextlib.suppress(RuntimeError):  # a button that is gone by now
            found = [*contrast.weak_things(window), *contrast.weak_focus(window, controls(window))]
        if not found:
            break
        QTest.qWait(200)
        settle(window)
    return found


@pytest.mark.parametrize("palette", list(theme.THEMES))
def test_everything_on_every_page_stands_out_enough(qapp, tmp_path, palette, jobs):
    """What is off need not; it is listed by `contrast.off_things`, and a page is never off as a whole."""
    weak = []
    for name, window in page_looks.every_look(tmp_path, [palette], jobs=jobs):
        weak += [f"{name}: {one}" for one in weak_after_settling(window)]
        assert len(contrast.off_things(window)) < len(page_looks.visible(window)) / 2
    assert weak == []


@pytest.mark.study
@pytest.mark.parametrize(("scale", "size"), SCREENS)
def test_nothing_is_wrong_on_any_screen_without_fonts_of_its_own(tmp_path, scale, size):
    """Pictures lie in build/pages for a person to look at; the program's own fonts are all there is."""
    fonts = tmp_path / "fonts.conf"
    fonts.write_text(NO_FONTS.format(tmp_path), "utf-8")
    out = Path("build/pages") / f"{size}-at-{scale}"
    done = subprocess.run(
        [sys.executable, "-m", "tests.page_looks", "--scale", scale, "--size", size, "--out", str(out)],
        env=os.environ | {"FONTCONFIG_FILE": str(fonts), "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.strip() == ""
    assert done.returncode == 0, done.stderr


# -- the checks see what they are for ----------------------------------------------------------


@pytest.fixture
def planted(qtbot):
    """A window to plant faults in."""
    window = QMainWindow()
    qtbot.addWidget(window)
    window.pages = QWidget(window)
    window.pages.hide()
    window.pages.currentWidget = lambda: None
    window.setCentralWidget(QWidget())
    window.resize(400, 300)
    with qtbot.waitExposed(window):
        window.show()

    def put(widget, *place):
        widget.setParent(window.centralWidget())
        widget.setGeometry(*place)
        widget.show()
        QApplication.processEvents()
        return widget

    window.put = put
    return window


def said(window) -> str:
    return "\n".join(page_looks.problems_of(window))


def test_a_sound_window_has_no_problems(planted):
    planted.put(Text("Heron"), 10, 10, 100, 30)
    planted.put(Button("Keep"), 10, 60, 120, 36)
    assert said(planted) == ""
    assert list(contrast.weak_things(planted)) == []


def test_cut_words_are_seen(planted):
    planted.put(Text("a rather long sentence that needs room"), 10, 10, 60, 30)
    planted.put(Button("Take the next reading"), 10, 60, 50, 36)
    assert said(planted).count("is cut") == 1
    assert said(planted).count("smaller than its words") == 1


def test_overlapping_words_are_seen(planted):
    planted.put(Text("Heron"), 10, 10, 100, 30)
    planted.put(Text("Plover"), 40, 20, 100, 30)
    assert "overlap by 70 x 20" in said(planted)


def test_what_stands_outside_its_parent_is_seen(planted):
    planted.put(Text("Heron"), 360, 10, 100, 30)
    assert "stands outside" in said(planted)


def test_colour_without_a_verdict_is_seen_and_that_of_a_mark_is_not(planted):
    planted.put(MarkLabel(Verdict.FAIL, size_px=24), 10, 10, 24, 24)
    assert said(planted) == ""
    spot = planted.put(QWidget(), 100, 100, 20, 20)
    spot.setAutoFillBackground(True)
    palette = spot.palette()
    palette.setColor(palette.ColorRole.Window, Qt.GlobalColor.darkGreen)
    spot.setPalette(palette)
    assert "colour without a verdict at 100, 100" in said(planted)


def test_a_verdict_without_its_limits_is_seen(planted):
    ruler = planted.put(Ruler(), 10, 10, 300, 90)
    ruler.set_reading(5.2, 0.1, Verdict.PASS)
    assert "a verdict without its limits" in said(planted)


def test_a_number_that_is_cut_is_seen_even_with_a_tooltip(planted):
    table = Table((Column(kind=Kind.NUMBER, width_px=60), Column(kind=Kind.TEXT)), name="Readings")
    model = RowsModel(("Ω", "What"), lambda row: row, lambda row: "more", table)
    model.set_rows([("12.345 ± 0.012", "a rather long name of some device with a tooltip to it")])
    table.setModel(model)
    planted.put(table, 10, 10, 200, 150)
    assert said(planted).count("is cut") == 1
    assert "12.345" in said(planted)


@pytest.mark.parametrize(
    ("grey", "is_weak"),
    [
        pytest.param(0x77, True, id="777777 on white is 4.48 [WCAG 2.2, by hand: 1.05 / (0.1845 + 0.05)]"),
        pytest.param(0x76, False, id="767676 on white is 4.54 [WCAG 2.2, by hand: 1.05 / (0.1812 + 0.05)]"),
    ],
)
def test_text_that_stands_out_too_little_is_seen(planted, grey, is_weak):
    label = planted.put(Text("Plover", size_px=24), 10, 10, 200, 40)
    label.setAutoFillBackground(True)
    palette = label.palette()
    palette.setColor(palette.ColorRole.Window, Qt.GlobalColor.white)
    palette.setColor(palette.ColorRole.WindowText, f"#{grey:02X}{grey:02X}{grey:02X}")
    label.setPalette(palette)
    QApplication.processEvents()
    assert bool(list(contrast.weak_things(planted))) is is_weak


def test_a_control_that_does_not_show_the_keyboard_is_seen(planted):
    class Mute(Button):
        def paintEvent(self, event):  # noqa: N802  Qt's name
            """Draws nothing, whether it has the keyboard or not."""

    mute, plain = planted.put(Mute("Keep"), 10, 10, 100, 36), planted.put(Button("Keep"), 10, 60, 100, 36)
    assert [weak.what for weak in contrast.weak_focus(planted, [mute, plain])] == ["keyboard on Mute 'Keep'"]
