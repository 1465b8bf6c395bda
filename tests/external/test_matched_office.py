"""The live formulas of the sheet Matched sets, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own judgement of the sets.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.diagnose.test_matched import read, variant
from tests.unit.report.samples import chance, session_of
from valvebench.bench.matched import matched_of
from valvebench.compose import view_session
from valvebench.diagnose.matched_words import ANSWER_TEXT
from valvebench.model.words import LeadState
from valvebench.report.cells import Book
from valvebench.report.matched import COLUMN, HEADER_ROW, TITLE, write_matched
from valvebench.report.pack import packed

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
NAMED = ("2218-healthy-spare", "2219-grows-with-heat", "2230-body-unknown")
RANDOM = 30


def random_set(name):
    """Two to five solenoids, cold and warm, some far off, some read twice."""
    rng = chance(name)
    bodies = []
    for celsius in (20.0, 75.0):
        for pin in range(1, rng.randint(2, 5) + 1):
            for _ in range(rng.choice((1, 1, 2))):
                ohm = round(5.2 * (234.5 + celsius) / 254.5 * rng.choice((1.0, 1.0, 1.01, 1.2)), 2)
                bodies.append(read(pin, ohm, celsius=celsius + rng.choice((0.0, 3.0)), **_way(rng)))
    return session_of(*bodies), variant()


def _way(rng):
    """With a doubt of the meter, or with none at all: then nothing but the spread is left to measure by."""
    return {"u_ohm": 0.0, "leads": LeadState.FOUR_WIRE, "lead_ohm": None} if rng.random() < 0.3 else {}


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    """The sets of every session, and the lines an office suite computes of them."""
    office = need("soffice", "libreoffice")
    folder = tmp_path_factory.mktemp("office")
    views = {name: view_session(SAMPLES / name) for name in NAMED}
    bodies = {name: (view.session, view.variant) for name, view in views.items()}
    bodies |= {f"random {n}": random_set(f"matched {n}") for n in range(RANDOM)}
    found = {name: matched_of(*body).sets for name, body in bodies.items()}
    bodies = {name: body for name, body in bodies.items() if found[name]}
    for name, body in bodies.items():
        book = Book()
        write_matched(book, *body, report_id="test")
        (folder / f"{name}.xlsx").write_bytes(packed(book.workbook, title="test", program="test", printed=None))
    files = [str(folder / f"{name}.xlsx") for name in bodies]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: (found[name], lines(folder / "out" / f"{name}.xlsx")) for name in bodies}


def lines(path):
    """The computed lines of a file in their order."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    rows = list(book[TITLE].iter_rows(min_row=HEADER_ROW + 1, values_only=True))
    book.close()
    wide = [row for row in rows if len(row) >= COLUMN["agrees"] and row[COLUMN["agrees"] - 1]]
    return [{key: row[number - 1] for key, number in COLUMN.items()} for row in wide]


def test_every_set_is_judged_again(recalculated):
    seen = set()
    for sets, computed in recalculated.values():
        members = [(one, member) for one in sets for member in one.members]
        assert len(computed) == len(members)
        for (one, member), line in zip(members, computed, strict=True):
            assert line["what"] == member.name
            assert line["at_20"] == pytest.approx(member.ohm, rel=1e-9)
            assert line["median"] == pytest.approx(one.median_ohm, rel=1e-9)
            assert line["spread"] == pytest.approx(one.spread_ohm, rel=1e-9, abs=1e-12)
            z = member.modified_z
            assert line["z"] == (None if z is None else pytest.approx(z, rel=1e-6, abs=1e-9))
            assert line["answer"] == ANSWER_TEXT[member.is_odd]
            assert line["agrees"] == "agrees"
            seen.add((line["answer"], one.floor_ohm >= one.mad_ohm))
    # Odd, not odd and can't tell, by the floor and by the spread.
    assert {answer for answer, _ in seen} == set(ANSWER_TEXT.values())
    assert {by_floor for _, by_floor in seen} == {True, False}
