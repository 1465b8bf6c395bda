"""What stands in a PDF, read by tools from outside."""

from __future__ import annotations

import re
import subprocess

from tests.external_tools import need

_SAME_DRAWING = str.maketrans({"\u02bc": "\u2019", "\u02ee": "\u201d"})
"""The typeface draws an apostrophe and a closing quotation mark as these letters; which it was cannot be told."""


def text_of(raw: bytes) -> str:
    """The words of all pages, in the order of reading."""
    return ran("pdftotext", "-layout", "-enc", "UTF-8", "-", "-", raw=raw)


def words_of(raw: bytes) -> str:
    """The same with all white space made one blank."""
    return " ".join(text_of(raw).split())


def letters_of(raw: bytes) -> str:
    """The same without white space: a word may go on in the next line."""
    return "".join(ran("pdftotext", "-raw", "-enc", "UTF-8", "-", "-", raw=raw).split())


def pages_of(raw: bytes) -> int:
    """How many pages."""
    found = re.search(r"^Pages:\s+(\d+)", ran("pdfinfo", "-", raw=raw), re.MULTILINE)
    assert found is not None
    return int(found[1])


def ran(name, *words, raw):
    done = subprocess.run([need(name), *words], input=raw, capture_output=True, check=True)
    assert done.stderr == b""
    return done.stdout.decode("utf-8").translate(_SAME_DRAWING)
