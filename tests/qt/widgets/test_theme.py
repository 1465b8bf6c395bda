"""4.5:1 for text and 3:1 for marks and lines: WCAG 2.2, success criteria 1.4.3 and 1.4.11, on drawn pixels."""

from __future__ import annotations

from collections import Counter
from itertools import product

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainter, QPalette
from PySide6.QtWidgets import QApplication

from valvebench.model.words import Verdict
from valvebench.ui import theme
from valvebench.ui.widgets.big_field import BigField
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import LineEntry
from valvebench.ui.widgets.face_drawing import FaceDrawing
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.mark import paint_mark
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import Text


def colours(image: QImage) -> Counter[str]:
    return Counter(
        QColor(image.pixel(x, y)).name().upper() for x in range(image.width()) for y in range(image.height())
    )


def strongest(image: QImage) -> float:
    """The contrast of the pixel that stands out most from the commonest colour."""
    counted = colours(image)
    ground = counted.most_common(1)[0][0]
    return max(theme.contrast(ground, code) for code in counted)


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        pytest.param("#000000", "#FFFFFF", 21.0, id="black-on-white [WCAG 2.2, contrast ratio: 21 is the largest]"),
        pytest.param("#777777", "#FFFFFF", 4.48, id="grey-777 [by hand: 1.05 / (0.18448 + 0.05)]"),
        pytest.param("#808080", "#808080", 1.0, id="the-same"),
    ],
)
def test_contrast_ratio(one, other, ratio):
    assert theme.contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert theme.contrast(other, one) == theme.contrast(one, other)


# No muted words stand on a band.
@pytest.mark.parametrize(
    ("words", "ground"),
    [
        *product(["ink", "muted"], ["ground", "card", "soft"]),
        *product(["ink"], ["band", "guard"]),
    ],
)
def test_every_pair_of_text_and_ground_is_legible(palette, ground, words):
    assert theme.contrast(getattr(palette, words), getattr(palette, ground)) >= 4.5


def words_on_grounds() -> dict[str, object]:
    return {
        "text": lambda: Text("Probe", size_px=12),
        "muted": lambda: Text("expect 4.97 to 5.57", size_px=12, muted=True),
        "button": lambda: Button("Turn over", key="/"),
        "primary": lambda: Button("Take the next reading", is_primary=True),
        "key": lambda: KeyCap("Enter", "keep"),
        "message": lambda: MessageLine("Type the value once more", icon="problem"),
        "strip": strip,
        "rail": lambda: Rail(("Job", "Pins")),
        "empty ruler": Ruler,
        "empty plot": TemperaturePlot,
    }


def strip() -> Strip:
    made = Strip()
    made.set_cell("job", "Job 2217", "Harbour shuttle 7")
    return made


@pytest.mark.parametrize("name", sorted(words_on_grounds()))
def test_words_are_legible_as_drawn(qtbot, palette, name):
    widget = words_on_grounds()[name]()
    qtbot.addWidget(widget)
    widget.resize(widget.sizeHint())
    assert strongest(widget.grab().toImage()) >= 4.5


@pytest.mark.parametrize("verdict", list(Verdict))
@pytest.mark.parametrize("ground", ["ground", "card", "soft", "band", "ink"])
def test_every_mark_stands_out_from_its_ground(palette, verdict, ground):
    image = QImage(40, 40, QImage.Format.Format_RGB32)
    image.fill(QColor(getattr(palette, ground)))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_mark(painter, verdict, QPointF(20, 20), 12, palette.inverted() if ground == "ink" else palette)
    painter.end()
    under = getattr(palette, ground)
    clear = sum(count for code, count in colours(image).items() if theme.contrast(under, code) >= 3)
    assert clear >= 60, "an outline of a 24 px mark covers more than that"


@pytest.mark.parametrize("verdict", [v for v, look in theme.VERDICT_LOOK.items() if look.fill])
def test_glyph_stands_out_from_its_fill(verdict):
    look = theme.VERDICT_LOOK[verdict]
    assert theme.contrast(look.fill, look.glyph_colour) >= 4.5


def lined() -> dict[str, object]:
    def ruler() -> Ruler:
        made = Ruler()
        made.set_limits(4.9, 5.5)
        made.set_reading(5.17, 0.1, Verdict.PASS)
        return made

    def plot() -> TemperaturePlot:
        made = TemperaturePlot()
        made.set_band([(10, 4.7, 5.3), (120, 6.8, 7.7)])
        return made

    def face() -> FaceDrawing:
        made = FaceDrawing()
        made.set_pins([PinSpot(name=str(n), x=n, y=0) for n in range(4)])
        made.set_pair("0", "2")
        return made

    return {"ruler": ruler, "plot": plot, "face": face, "field": lambda: BigField("R", unit="ohm")}


@pytest.mark.parametrize("name", sorted(lined()))
def test_lines_stand_out_as_drawn(qtbot, palette, name):
    widget = lined()[name]()
    qtbot.addWidget(widget)
    widget.resize(widget.sizeHint())
    assert strongest(widget.grab().toImage()) >= 3


def test_a_change_of_palette_reaches_what_is_drawn(qtbot, qapp):
    card = Card("Readings")
    qtbot.addWidget(card)
    card.resize(300, 200)
    middles = set()
    for name in ("light", "dark"):
        theme.apply(qapp, name)
        middles.add(QColor(card.grab().toImage().pixel(150, 150)).name().upper())
    assert middles == {"#FFFFFF", "#1C2220"}


def test_high_contrast_is_black_and_white_only():
    high = theme.THEMES["high_contrast"]
    used = {high.ground, high.card, high.ink, high.muted, high.line, high.soft, high.band, high.guard}
    assert used == {"#000000", "#FFFFFF"}
    assert high.line_px == 2
    assert high.is_hatched


def test_every_verdict_has_a_shape_of_its_own():
    shapes = [look.shape for look in theme.VERDICT_LOOK.values()]
    assert set(theme.VERDICT_LOOK) == set(Verdict)
    assert len(set(shapes)) == len(shapes)


@pytest.mark.parametrize("name", theme.THEMES)
def test_an_empty_field_never_looks_as_if_it_were_filled(qtbot, name):
    """Words that only say what could stand there are told from typed ones in every palette, and stay readable."""
    app = QApplication.instance()
    field, muted = LineEntry("Body serial", hint="0418-77"), Text("beside it", muted=True)
    for widget in (field, muted):
        qtbot.addWidget(widget)
    try:
        for each in ("high_contrast", name):  # also after another palette had colours of its own for them
            theme.apply(app, each)
            app.processEvents()
        palette, role = field.palette(), QPalette.ColorRole
        hint = palette.color(role.PlaceholderText).name()
        assert hint != palette.color(role.Text).name()
        assert palette.color(role.Text).name() == theme.THEMES[name].ink.lower()
        assert theme.contrast(hint, theme.THEMES[name].card) >= 4.5
        assert muted.palette().color(role.PlaceholderText).name() == theme.THEMES[name].muted.lower()
    finally:
        theme.apply(app, "light")
