"""The tag: its code read back by a reader from outside, its words whole, the same bytes again."""

from __future__ import annotations

import dataclasses
import struct
import subprocess

import pytest

from tests.external_tools import need
from tests.unit.bench.test_handing import HEX, facts
from tests.unit.report.pdf_text import letters_of, pages_of, ran, words_of
from tests.unit.report.samples import PRINTED_AT
from valvebench.bench.handing import tag_text
from valvebench.report.tag import tag_pdf, tag_png

PLAIN = facts(serial="S-9", part="QT-2", mark="dot of paint", variant="Tern")


def code_in(path):
    done = subprocess.run([need("zbarimg"), "-q", "--raw", str(path)], capture_output=True, check=True)
    return done.stdout.decode("utf-8").rstrip("\n")


@pytest.mark.parametrize(
    "job", ["T-1", "\u00c4\u00d6 \u4e2d\u6587 7", "x" * 180], ids=["plain", "other letters", "too long a name"]
)
def test_a_reader_reads_what_the_tag_means(tmp_path, job):
    tag = dataclasses.replace(PLAIN, job=job)
    path = tmp_path / "tag.png"
    path.write_bytes(tag_png(tag))
    assert code_in(path) == tag_text(tag)


def test_the_paper_has_the_size_of_a_label():
    assert "Page size:       255" in ran("pdfinfo", "-", raw=tag_pdf(PLAIN, printed_at=PRINTED_AT))


def test_everything_on_it_can_be_read_by_people():
    raw = tag_pdf(PLAIN, printed_at=PRINTED_AT)
    assert pages_of(raw) == 1
    for expected in ("Job T-1", "Tern, part QT-2, serial S-9, mark dot of paint", "Closed x by Ada"):
        assert expected in words_of(raw)
    assert f"Head45:{HEX}" in letters_of(raw)


def test_long_names_make_it_higher_and_are_whole():
    long = dataclasses.replace(PLAIN, job="J" * 200, serial="S" * 400)
    raw = tag_pdf(long, printed_at=PRINTED_AT)
    assert "J" * 200 in letters_of(raw)
    assert "S" * 400 in letters_of(raw)
    assert size_of(tag_png(long))[1] > size_of(tag_png(PLAIN))[1]


def size_of(png):
    return struct.unpack(">II", png[16:24])


def test_the_picture_is_90_mm_wide_at_300_dots_per_inch():
    assert size_of(tag_png(PLAIN))[0] == round(90 / 25.4 * 300)


def test_the_same_bytes_for_the_same_tag():
    assert tag_png(PLAIN) == tag_png(PLAIN)
    assert tag_pdf(PLAIN, printed_at=PRINTED_AT) == tag_pdf(PLAIN, printed_at=PRINTED_AT)
