"""The live formulas of the sheet Compare, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own comparison.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.report.samples import chance, random_readings, session_of, variant
from valvebench.compose import view_session
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import ANSWER_TEXT
from valvebench.report.cells import Book
from valvebench.report.compared import HEADER_ROW, TITLE, write_compared
from valvebench.report.compared_formulas import COLUMN
from valvebench.report.pack import packed

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
BODIES = (
    ("2231-old-body", "2232-new-body"),
    ("2218-healthy-spare", "2219-grows-with-heat"),
    ("2217-in-work", "2220-meter-cannot-decide"),
)
RANDOM = 40


def sample(name):
    view = view_session(SAMPLES / name)
    return Side(view.session, view.variant)


def random_side(number, side):
    return Side(session_of(*random_readings(chance(f"compared {number} {side}"), 16)), variant())


def book_of(a, b):
    book = Book()
    write_compared(book, a, b, report_id="test")
    return packed(book.workbook, title="test", program="test", printed=None)


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    """Both sides of every comparison, and the lines an office suite computes of them."""
    office = need("soffice", "libreoffice")
    folder = tmp_path_factory.mktemp("office")
    sides = {a: (sample(a), sample(b)) for a, b in BODIES}
    sides |= {f"random {n}": (random_side(n, "a"), random_side(n, "b")) for n in range(RANDOM)}
    for name, (a, b) in sides.items():
        (folder / f"{name}.xlsx").write_bytes(book_of(a, b))
    files = [str(folder / f"{name}.xlsx") for name in sides]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: (*both, lines(folder / "out" / f"{name}.xlsx")) for name, both in sides.items()}


def lines(path):
    """The computed lines of a file, by what they are about."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    rows = list(book[TITLE].iter_rows(min_row=HEADER_ROW + 1, values_only=True))
    book.close()
    wide = [row for row in rows if len(row) >= COLUMN["p_answer"] and row[COLUMN["p_answer"] - 1]]
    return [{key: row[number - 1] for key, number in COLUMN.items() if number <= len(row)} for row in wide]


def test_every_difference_is_recomputed(recalculated):
    seen = set()
    for a, b, computed in recalculated.values():
        rows = compare(a, b)
        assert len(computed) == len(rows)
        numbers = [row for row in rows if row.u_difference is not None]
        live = [line for line in computed if line["u"] is not None]
        assert len(live) == len(numbers)
        for line in live:
            (row,) = [one for one in numbers if one.what == line["what"] and matches(one, line)]
            assert line["u"] == pytest.approx(row.u_difference, rel=1e-9, abs=1e-12)
            assert line["k"] == pytest.approx(row.k, rel=1e-6)
            assert line["U"] == pytest.approx(row.k * row.u_difference, rel=1e-6, abs=1e-12)
            assert line["answer"] == ANSWER_TEXT[row.significant]
            assert line["agrees"] == "agrees"
            seen.add((line["dominated"], row.common))
    # By one rectangle, by two, by none; with all in common, with something, with nothing.
    assert {dominated for dominated, _ in seen} == {0, 1, 2}
    assert {len(common) for _, common in seen} >= {0, 2, 3}


def matches(row, line):
    return line["difference"] == pytest.approx(row.difference, rel=1e-9, abs=1e-9)


def test_what_has_no_number_keeps_its_answer(recalculated):
    answers = {line["answer"] for *_, computed in recalculated.values() for line in computed if line["u"] is None}
    assert answers == {"different", "no difference shown", "can't tell"}
