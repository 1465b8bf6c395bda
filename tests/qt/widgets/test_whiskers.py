from __future__ import annotations

import pytest

from valvebench.ui import fonts
from valvebench.ui.widgets.whisker_rows import Whisker, WhiskersState
from valvebench.ui.widgets.whiskers import WhiskerChart

HERON = Whisker(name="Heron", value=8.0, reach=1.0, words="0.41 ± 0.03 ohm", answer="different", stands_out=True)
GULL = Whisker(name="Gull", value=0.0, reach=1.0)


@pytest.fixture
def chart(qtbot):
    made = WhiskerChart()
    qtbot.addWidget(made)
    return made


def test_reads_out_every_line(chart):
    chart.show_rows([HERON, GULL], unit="%")
    assert chart.accessibleName() == "Heron 0.41 ± 0.03 ohm, different; Gull 0 ± 1 %"


@pytest.mark.parametrize(("middle", "low", "high"), [(0.0, -9.9, 9.9), (5.0, 0.6, 9.4)])
def test_the_post_stands_in_the_middle_of_the_ruler(middle, low, high):
    # The farthest end is 8 + 1 = 9; a tenth of its distance from the post is added as room.
    scale = WhiskersState(middle=middle, rows=(HERON, GULL) if middle == 0 else (HERON,)).scale()
    assert (scale.low, scale.high) == pytest.approx((low, high))


def test_what_lies_too_far_does_not_squeeze_the_others():
    far = Whisker(name="Far", value=500.0, reach=1.0)
    assert WhiskersState(rows=(HERON, far), widest=12.0).scale().high == pytest.approx(13.2)


def test_grows_with_its_lines(chart):
    chart.show_rows([HERON])
    one = chart.sizeHint().height()
    chart.show_rows([HERON, GULL])
    assert chart.sizeHint().height() - one == fonts.whole_px(28)


def test_nothing_in_it_has_the_colour_of_a_verdict(chart):
    chart.show_rows([HERON, GULL, Whisker(name="Far", value=500.0, reach=1.0)], widest=12.0)
    chart.resize(560, chart.sizeHint().height())
    image = chart.grab().toImage()
    colours = [image.pixelColor(x, y) for x in range(image.width()) for y in range(image.height())]
    # A grey has no saturation; ink and muted are nearly grey, the colours of verdicts are not.
    assert max(colour.saturationF() for colour in colours if colour.valueF() > 0.35) < 0.25
