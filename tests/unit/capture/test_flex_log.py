"""Logger files of a flex test: readings with or without times, one column of several, refused in words."""

from __future__ import annotations

import io
import math

import pytest
from openpyxl import Workbook

from valvebench.capture.flex_log import flex_log
from valvebench.model.errors import BadInput


def log(text, **more):
    return flex_log(text.encode() if isinstance(text, str) else text, source="flex.csv", **more)


def test_readings_with_times_and_openings():
    found = log("t_s;ohm\n0;5,2\n0,5;OL\n1;\n1,5;5,3\n")
    assert found.ohm.tolist() == [5.2, math.inf, math.inf, 5.3]
    assert found.t_s.tolist() == [0, 0.5, 1, 1.5]
    assert found.column == "ohm"


def test_readings_alone_are_enough():
    found = log("ohm\n5.2\n5.3\n")
    assert (found.ohm.tolist(), found.t_s) == ([5.2, 5.3], None)


def test_a_workbook_reads_as_text_does():
    book = Workbook()
    for line in (("Resistance [kohm]", "remark"), (1.25, "a"), ("OL", "b")):
        book.active.append(line)
    raw = io.BytesIO()
    book.save(raw)
    found = log(raw.getvalue())
    assert (found.ohm.tolist(), found.not_used) == ([1250, math.inf], ("remark",))


@pytest.mark.parametrize("column", ["Heron", "heron_ohm"])
def test_one_of_several_columns_is_named(column):
    found = log("t_s,Gull_ohm,Heron_ohm\n0,4.1,5.2\n1,4.1,5.3\n", column=column)
    assert found.ohm.tolist() == [5.2, 5.3]


@pytest.mark.parametrize(
    ("text", "column", "words"),
    [
        ("t_s,Gull_ohm,Heron_ohm\n0,4.1,5.2\n", None, ["header", "Gull_ohm and Heron_ohm", "one of them"]),
        ("t_s,ohm\n0,5.2\n", "Kite", ["header", "NAME_ohm", "--column"]),
        ("t_s,volt\n0,5.2\n", None, ["header"]),
        ("ohm\n5.2\nabc\n", None, ["line 3", "abc"]),
        ("ohm\n5.2\nnan\n", None, ["line 3", "nan"]),
        ("t_s,ohm\n0,5.2\n1,5.2\n1,5.2\n", None, ["line 4", "t_s", "does not grow"]),
        ("ohm\n", None, ["nothing below"]),
    ],
)
def test_what_is_wrong_is_said_with_its_place(text, column, words):
    with pytest.raises(BadInput) as refused:
        log(text, column=column)
    assert all(word in str(refused.value) for word in words), str(refused.value)
