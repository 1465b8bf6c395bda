"""Forms on paper: one page where it can be read, nothing cut, the same bytes again, letters that can be searched."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from tests.unit.report.pdf_text import letters_of, pages_of, ran, text_of, words_of
from valvebench.report.form import (
    Form,
    Head,
    Line,
    Lines,
    Photos,
    Shown,
    Signatures,
    Table,
    Words,
    missing_labels,
    told,
)
from valvebench.report.form_pdf import form_pdf
from valvebench.report.pdf import image_of

AT = "2031-05-06T10:11:12Z"
HEADS = (Head("Item", 3), Head("Verdict", 2), Head("Why", 7))


def form(*blocks, **more):
    given = {"title": "Sheet", "about": "about it", "blocks": blocks, "foot": "Foot 1"} | more
    return Form(**given)


def pdf(*blocks, **more):
    return form_pdf(form(*blocks, **more), printed_at=AT)


def table(count):
    rows = tuple((f"item {n}", ("Pass", "Fail")[n % 2], f"because of {n}") for n in range(count))
    return Table(title="Items", heads=HEADS, rows=rows, verdicts=1)


def photo(width=300, height=200):
    buffer = io.BytesIO()
    Image.new("RGB", (width, height), "#336699").save(buffer, "PNG")
    return buffer.getvalue()


def test_everything_stands_on_one_page():
    raw = pdf(
        Lines(title="Job", lines=(told("Customer", "Ann"), told("Part", None)), columns=2),
        table(3),
        Words(text="a paragraph", is_quiet=True),
        Photos(title="Photos", shown=(Shown("the plug", photo()), Shown("gone", None), Shown("none", b"no picture"))),
        Signatures(labels=("Name", "Date")),
        word="Fail",
        sentence="Fail: 1 of 3",
        code="valvebench tag 1",
    )
    assert pages_of(raw) == 1
    words = words_of(raw)
    for expected in ("Sheet about it", "Customer Ann Part not recorded", "item 2 Pass because of 2", "a paragraph"):
        assert expected in words
    for expected in ("the plug gone none", "Name Date", "Foot 1 Page 1 of 1", "Fail Fail: 1 of 3"):
        assert expected in words


def test_the_page_is_a4():
    assert "595 x 842 pts (A4)" in ran("pdfinfo", "-", raw=pdf())


def test_the_type_comes_with_the_file():
    fonts = ran("pdffonts", "-", raw=pdf(Words(text="x"), sentence="y"))
    found = [line.split() for line in fonts.splitlines()[2:]]
    assert found
    assert all(line[0].startswith("Inter") and line[4] == "yes" for line in found)


@pytest.mark.parametrize(
    "text", ["5.31 \u00b1 0.09 \u03a9", "12\u201315", "\u00e4\u00f6\u00fc \u00df", "fi ffl", "4.9 \u2192 5"]
)
def test_signs_can_be_searched_and_copied(text):
    assert text in words_of(pdf(Words(text=text)))


def test_the_same_bytes_for_the_same_form():
    assert pdf(table(3)) == pdf(table(3))
    assert b"20310506101112" in pdf()


def test_a_full_page_is_made_smaller_before_it_becomes_two():
    assert pages_of(pdf(table(45))) == 1
    assert pages_of(pdf(table(45), is_one_page=False)) > 1


def test_a_table_over_pages_repeats_its_headings_and_loses_no_row():
    raw = pdf(table(120), is_one_page=False)
    text = text_of(raw)
    assert pages_of(raw) > 2
    assert text.count("Verdict") == pages_of(raw)
    assert all(f"because of {n}\n" in text for n in range(120))
    assert f"Page {pages_of(raw)} of {pages_of(raw)}" in text


@pytest.mark.parametrize("is_in_table", [False, True])
def test_a_text_longer_than_a_page_goes_on_and_is_whole(is_in_table):
    words = " ".join(f"w{n}" for n in range(3000))
    block = (
        Table(title="", heads=HEADS, rows=(("a", "Pass", words), ("b", "Fail", "end")), verdicts=1)
        if is_in_table
        else Lines(lines=(Line("Note", words), Line("After", "end")))
    )
    raw = pdf(block)
    assert pages_of(raw) > 1
    found = words_of(raw).split()
    assert [word for word in found if word.startswith("w") and word[1:].isdigit()] == words.split()
    assert "end" in found


def test_a_word_without_blanks_is_broken_and_whole():
    word = "".join(f"{n}x" for n in range(1000))
    assert word in letters_of(pdf(Lines(lines=(Line("Serial", word),), columns=2)))


@pytest.mark.parametrize("text", ["a\x00b", "one\ntwo", "a\u202eb", "\ud800", "", " ", "\u4e2d\u6587"])
def test_no_text_breaks_the_page(text):
    assert pages_of(pdf(Words(text=text), title=text, about=text, foot=text)) == 1


def test_a_photo_of_any_shape_fits():
    shown = tuple(
        Shown(f"photo {n}", photo(*size)) for n, size in enumerate(((3000, 20), (20, 3000), (1, 1), (50, 50)))
    )
    assert pages_of(pdf(Photos(title="Photos", shown=shown))) == 1


@pytest.mark.parametrize(
    ("orientation", "size", "corner"),
    [(1, (40, 20), (3, 3)), (6, (20, 40), (16, 3)), (8, (20, 40), (3, 36)), (3, (40, 20), (36, 16))],
    ids=["upright", "turned right", "turned left", "upside down"],
)
def test_a_photo_stands_as_the_camera_was_held(orientation, size, corner):
    """What the numbers mean: Exif 2.3, tag 274."""
    picture = Image.new("RGB", (40, 20), "#336699")
    picture.paste("#ff0000", (0, 0, 8, 8))
    exif = picture.getexif()
    exif[274] = orientation
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif, quality=95)
    found = image_of(buffer.getvalue())
    assert (found.width(), found.height()) == size
    colour = found.pixelColor(*corner)
    assert colour.red() > 200
    assert colour.blue() < 100


def test_a_large_photo_is_no_finer_than_paper_shows():
    found = image_of(photo(4000, 1000))
    assert (found.width(), found.height()) == (1000, 250)
    assert image_of(b"no picture") is None


def test_what_is_missing_is_said():
    lines = (told("Part", ""), told("Batch", "B-1"), told("Comeback", None, missing="none named"))
    assert missing_labels(lines) == ["Part", "Comeback"]
    assert [line.text for line in lines] == ["not recorded", "B-1", "none named"]


def test_an_empty_table_says_so():
    assert "nothing failed" in words_of(pdf(Table(title="Failed", heads=HEADS, rows=(), none="nothing failed")))
