from __future__ import annotations

from itertools import combinations

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QImage, QPainter

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import theme
from valvebench.ui.widgets.mark import MarkLabel, mark_pixmap, paint_mark

SIDE = 32


def grey(verdict: Verdict) -> bytes:
    image = QImage(SIDE, SIDE, QImage.Format.Format_Grayscale8)
    image.fill(255)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_mark(painter, verdict, QPointF(SIDE / 2, SIDE / 2), 12)
    painter.end()
    return bytes(image.constBits())


def silhouette(verdict: Verdict) -> list[bool]:
    return [byte < 250 for byte in grey(verdict)]


@pytest.mark.parametrize(("one", "other"), list(combinations(Verdict, 2)))
def test_marks_differ_without_colour(qapp, one, other):
    far_apart = sum(abs(a - b) > 64 for a, b in zip(grey(one), grey(other), strict=True))
    assert far_apart >= 50, "of 32 x 32 pixels"


@pytest.mark.parametrize(
    ("one", "other"),
    list(combinations([Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE, Verdict.NO_LIMIT], 2)),
)
def test_silhouettes_alone_differ(qapp, one, other):
    assert sum(a != b for a, b in zip(silhouette(one), silhouette(other), strict=True)) >= 50


@pytest.mark.parametrize("verdict", list(Verdict))
def test_mark_is_read_out_by_its_word(qtbot, verdict):
    label = MarkLabel(verdict)
    qtbot.addWidget(label)
    assert label.accessibleName() == VERDICT_TEXT[verdict]
    assert label.sizeHint().width() == 24


def test_label_changes_its_word(qtbot):
    label = MarkLabel()
    qtbot.addWidget(label)
    label.set_verdict(Verdict.FAIL)
    assert (label.verdict, label.accessibleName()) == (Verdict.FAIL, "Fail")


@pytest.mark.parametrize("verdict", list(Verdict))
@pytest.mark.parametrize("ratio", [1.0, 2.0])
def test_picture_holds_the_whole_mark(qapp, verdict, ratio):
    image = mark_pixmap(verdict, 20, ratio, theme.current()).toImage()
    assert image.width() == image.height() == 20 * ratio
    last = image.width() - 1
    edge = [(n, m) for n in range(image.width()) for m in (0, last)]
    assert all(image.pixelColor(x, y).alpha() < 128 for a, b in edge for x, y in ((a, b), (b, a)))


def test_pictures_are_kept_per_palette(qapp):
    light = mark_pixmap(Verdict.PASS, 20, 1.0, theme.LIGHT)
    assert mark_pixmap(Verdict.PASS, 20, 1.0, theme.LIGHT) is light
    assert mark_pixmap(Verdict.PASS, 20, 1.0, theme.DARK) is not light
