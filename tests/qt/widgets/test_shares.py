"""Shares on one ruler: where whisker, dot and post stand, what is read out and copied, in every palette and zoom."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter

from valvebench.ui import fonts, theme
from valvebench.ui.archive.fails import FailRow
from valvebench.ui.archive.fails_table import FailsModel, FailsTable
from valvebench.ui.widgets.share_ruler import ShareMark, draw_share

ACCESSIBLE = Qt.ItemDataRole.AccessibleTextRole
# Clopper and Pearson: 3 of 4 from 19.4 to 99.4 %, 0 of 30 up to 11.6 % (tables of the exact interval).
GULL = FailRow("Gull", "tern-body-2", 4, 3, 75.0, 19.4, 99.4, all_pct=25.0)
DUNLIN = FailRow("Dunlin", "tern-body-2", 30, 0, 0.0, 0.0, 11.6, all_pct=25.0)


@pytest.fixture
def table(qtbot):
    made = FailsTable()
    qtbot.addWidget(made)
    model = FailsModel(made)
    made.setModel(model)
    model.set_rows([GULL, DUNLIN])
    made.resize(fonts.whole_px(700), fonts.whole_px(200))
    made.show()
    return made


def dark_runs(image, y):
    """Stretches of ink in a line of pixels, as first and last."""
    dark = [x for x in range(image.width()) if image.pixelColor(x, y).lightness() < 128]
    starts = [x for x in dark if x - 1 not in dark]
    return [(x, next(end for end in range(x, image.width() + 1) if end + 1 not in dark)) for x in starts]


def drawn(mark):
    """On white, 236 wide: from 18 to 218 stand nought to a hundred percent, two pixels each."""
    image = QImage(236, 28, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    draw_share(painter, QRectF(0, 0, 236, 28), mark, theme.LIGHT)
    painter.end()
    return image


def test_whisker_and_post_stand_where_their_numbers_are(qapp):
    image = drawn(ShareMark(75.0, 50.0, 90.0, 25.0, stands_out=True))
    (whisker,) = [run for run in dark_runs(image, 14) if run[0] > 80]
    assert whisker == (pytest.approx(18 + 2 * 50, abs=1.5), pytest.approx(18 + 2 * 90, abs=1.5))
    (post,) = dark_runs(image, 1)
    assert sum(post) / 2 == pytest.approx(18 + 2 * 25, abs=1)


def test_a_dot_is_full_where_its_interval_lies_beside_the_post(qapp):
    inside = [
        drawn(ShareMark(50.0, 20.0, 80.0, 25.0, stands_out=full)).pixelColor(118, 12).lightness()
        for full in (True, False)
    ]
    assert inside[0] < 60
    assert inside[1] > 200


def test_every_line_is_read_out_with_its_count_first(table):
    told = [table.model().index(row, 4).data(ACCESSIBLE) for row in range(2)]
    assert told == [
        "3 of 4 failed, 19 to 99 % (95 %); cannot be told from all together, 25 %",
        "0 of 30 failed, 0 to 12 % (95 %); less often than all together, 25 %",
    ]


def test_lines_are_copied_with_share_and_interval(table):
    table.selectAll()
    assert table.selected_text().splitlines() == [
        "What\tOf\tSessions\tFailed\tShare",
        "Gull\ttern-body-2\t4\t3\t75 % (19\u201399)",
        "Dunlin\ttern-body-2\t30\t0\t0 % (0\u201312)",
    ]


def test_there_is_room_for_ruler_and_words_at_every_zoom(table, zoom):
    table.resize(table.minimumSizeHint().width(), fonts.whole_px(200))
    header = table.horizontalHeader()
    assert header.sectionSize(4) >= fonts.whole_px(232)
    assert header.length() <= table.width()
    assert min(header.sectionSize(place) for place in range(4)) > fonts.whole_px(50)


def test_other_colours_are_taken_up_and_none_is_a_verdict(table, palette):
    image = table.grab().toImage()
    colours = [image.pixelColor(x, y) for x in range(image.width()) for y in range(image.height())]
    assert theme.colour(palette.ground) in colours
    # A grey has no saturation; ink and muted are nearly grey, the colours of verdicts are not.
    assert max(colour.saturationF() for colour in colours if colour.valueF() > 0.35) < 0.25


def test_the_model_holds_against_the_checker_of_qt(table, qtmodeltester):
    qtmodeltester.check(table.model())
