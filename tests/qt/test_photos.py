"""Photos behind ports: made smaller, shown where they belong, missed in words, and never in the way of a name."""

from __future__ import annotations

import io
import math

import pytest
from PIL import Image
from PySide6.QtGui import QColor, QImage

from tests.data.made_photo import made_photo
from tests.fakes.runners import HeldRunner, InlineRunner
from valvebench.model.errors import BadInput
from valvebench.model.variant import Picture
from valvebench.model.words import Place, Verdict
from valvebench.ui import theme
from valvebench.ui.board_photos import BoardPhotos, FeaturePhoto
from valvebench.ui.photo import LONGEST_KEPT_PX, photo_of, shrunk
from valvebench.ui.widgets.board_layout import PortSpot
from valvebench.ui.widgets.port_board import PortBoard


def size_of(raw):
    with Image.open(io.BytesIO(raw)) as image:
        return image.size


def test_a_photo_of_ordinary_size_is_kept_as_it_is():
    raw = made_photo(size=(1200, 800))
    assert shrunk(raw) == raw


def test_a_big_photo_is_made_smaller_in_its_shape():
    raw = made_photo(size=(4800, 3000))
    assert size_of(shrunk(raw)) == (LONGEST_KEPT_PX, LONGEST_KEPT_PX * 3000 // 4800)


def test_a_big_picture_with_clear_parts_keeps_them():
    out = io.BytesIO()
    Image.new("RGBA", (3000, 40), (10, 20, 30, 0)).save(out, "PNG")
    small = shrunk(out.getvalue())
    with Image.open(io.BytesIO(small)) as image:
        assert (image.mode, image.getpixel((5, 5))[3]) == ("RGBA", 0)


def test_a_photo_taken_sideways_is_shown_upright():
    """Orientation 6 of EXIF 2.3, table of tag 274 (from memory): turn a quarter clockwise to see it upright."""
    out, image = io.BytesIO(), Image.new("RGB", (60, 40), "white")
    exif = Image.Exif()
    exif[274] = 6
    image.save(out, "JPEG", exif=exif)
    shown = photo_of(out.getvalue())
    assert (shown.width(), shown.height()) == (40, 60)


@pytest.mark.parametrize("raw", [made_photo()[:40], b"\x89PNG\r\n\x1a\nno picture"])
@pytest.mark.qt_log_ignore("(JPEG|jpeg|PNG|png)")
def test_a_damaged_photo_is_refused_in_words(raw):
    with pytest.raises(BadInput, match="a picture that can be read"):
        shrunk(raw)


# --- brought to the board -----------------------------------------------------------------

RAW = made_photo(size=(90, 60))
PICTURE = Picture(sha256="a" * 64, file="lower.jpg")


class Shown(list):
    def take(self, images, words):
        self.append((sorted(place.value for place in images), words))


def test_a_photo_that_is_there_is_shown_and_a_missing_one_is_told():
    shown = Shown()
    photos = BoardPhotos(InlineRunner(), raw_of={"a" * 64: RAW}.get, show=shown.take)
    photos.want({Place.BODY: PICTURE, Place.CASE: Picture(sha256="b" * 64, file="upper.jpg")})
    assert shown == [
        (["body"], "The photo of the case, upper.jpg, is missing: its ports stand on a plain board."),
    ]


@pytest.mark.qt_log_ignore("(JPEG|jpeg)")
def test_a_photo_that_cannot_be_read_is_told():
    shown = Shown()
    BoardPhotos(InlineRunner(), raw_of=lambda _: RAW[:40], show=shown.take).want({Place.BODY: PICTURE})
    assert shown == [([], "The photo of the body, lower.jpg, cannot be read: its ports stand on a plain board.")]


def test_only_what_was_asked_for_last_is_shown():
    shown, runner = Shown(), HeldRunner()
    runner.is_held = True
    photos = BoardPhotos(runner, raw_of=lambda _: RAW, show=shown.take)
    photos.want({Place.BODY: PICTURE})
    photos.want({})
    runner.release()
    assert shown == [([], "")]


# --- behind the ports ---------------------------------------------------------------------

SPOTS = {
    Place.CASE: [PortSpot(name="P1", x=0.1, y=0.2)],
    Place.BODY: [PortSpot(name="P3", x=0.25, y=0.5), PortSpot(name="P4", x=0.75, y=0.5), PortSpot(name="P5")],
}


def plain(colour):
    image = QImage(300, 200, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    return image


@pytest.fixture
def board(qtbot):
    made = PortBoard()
    qtbot.addWidget(made)
    made.set_ports(SPOTS, {})
    made.set_photos({Place.BODY: plain("#000000")})
    made.resize(600, 420)
    with qtbot.waitExposed(made):
        made.show()
    return made


def middle(board, name):
    at = board.port(name).geometry().center()
    return at.x(), at.y()


def test_ports_stand_at_their_fractions_of_the_photo(board):
    rect = board.photo_rect(Place.BODY)
    assert rect.width() / rect.height() == pytest.approx(1.5, abs=0.01)
    for name, x in (("P3", 0.25), ("P4", 0.75)):
        wanted = (rect.left() + x * rect.width(), rect.top() + 0.5 * rect.height())
        assert math.dist(middle(board, name), wanted) <= 1.5


def test_a_port_without_a_place_stands_below_the_photo(board):
    assert middle(board, "P5")[1] > board.photo_rect(Place.BODY).bottom()
    assert board.rect().contains(board.port("P5").geometry().center())


def test_without_a_photo_the_board_is_plain_again(board):
    board.set_photos({})
    assert board.photo_rect(Place.BODY) is None
    assert not board.port("P3").is_on_photo


def luminance(colour):
    """WCAG 2.2, relative luminance."""
    parts = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour.getRgbF()[:3]]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one, other):
    """WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("name", sorted(theme.THEMES))
@pytest.mark.parametrize("ground", ["#000000", "#777777", "#ffffff"])
def test_discs_can_be_told_from_any_photo(board, qapp, name, ground):
    """Along a line from the disc's middle outwards two neighbouring tones differ by 3:1 (WCAG 2.2, 1.4.11)."""
    theme.apply(qapp, name)
    board.set_photos({Place.BODY: plain(ground)})
    board.set_verdict("P4", Verdict.FAIL, "")
    image, (x, y) = board.grab().toImage(), middle(board, "P3")
    radius = board.port("P3").radius_px
    tones = [image.pixelColor(round(x - step), y) for step in range(round(radius * 0.8), round(radius + 8))]
    assert max(contrast(a, b) for a in tones for b in tones) >= 3
    inner, photo = tones[0], tones[-1]
    assert photo.name() == ground
    assert inner.name() == QColor(theme.current().card).name()


def test_two_ports_close_together_on_a_photo_keep_discs_that_can_be_hit(board):
    near = [PortSpot(name="P3", x=0.5, y=0.5), PortSpot(name="P4", x=0.51, y=0.5)]
    board.set_ports({Place.BODY: near}, {})
    assert board.port("P3").radius_px == pytest.approx(14.0)


# --- one of a feature ---------------------------------------------------------------------


@pytest.mark.qt_log_ignore("(JPEG|jpeg)")
@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (RAW, "Photo lower.jpg"),
        (None, "The photo lower.jpg is missing."),
        (RAW[:40], "The photo lower.jpg cannot be read."),
    ],
)
def test_the_photo_of_a_feature_comes_or_is_told(raw, sentence):
    shown = []
    FeaturePhoto(InlineRunner(), raw_of=lambda _: raw, show=lambda *said: shown.append(said)).want(PICTURE)
    [(image, said)] = shown
    assert said == sentence
    assert (image is not None) == (raw == RAW)


def test_of_two_features_only_the_one_at_hand_is_shown():
    shown, runner = [], HeldRunner()
    runner.is_held = True
    photo = FeaturePhoto(runner, raw_of=lambda _: RAW, show=lambda *said: shown.append(said))
    photo.want(PICTURE)
    photo.want(None)
    runner.release()
    assert shown == []
