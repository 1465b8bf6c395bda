"""Leaks and pressures on the sheet Compare, computed again by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own comparison.
Random lines are made up: seeds are CRC-32 of their names.
"""

from __future__ import annotations

import math
import random
import subprocess
import zlib

import openpyxl
import pytest

from tests.data.made_air import leak_found, leak_test, pressure, seat_test
from tests.external.test_compare_office import book_of, sample
from tests.external_tools import need
from tests.unit.diagnose.test_compare import session
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import ANSWER_TEXT
from valvebench.model.leak import LeakLine
from valvebench.report.compared import TITLE
from valvebench.report.compared_air import AIR_TITLE, DOUBTS, RESULT

TERMS = ("restriction", "port gauge", "supply gauge", "law of the leak", "noise", "gas temperature")
RANDOM = 12


def test_the_budget_by_hand():
    """Common terms by their difference, own ones in squares: sqrt(2^2 + 3^2 + 3^2 + 0^2)."""
    lines = [LeakLine(term="restriction", u_ml_min=8.0), LeakLine(term="noise", u_ml_min=3.0)]
    more = [LeakLine(term="restriction", u_ml_min=6.0), LeakLine(term="noise", u_ml_min=3.0)]
    one, other = (leak_test("P6", found=leak_found(ml, lines=tuple(own))) for ml, own in ((50.0, lines), (40.0, more)))
    (row,) = compare(*(Side(session(test, hour=8), None) for test in (one, other)))
    assert row.u_difference == pytest.approx(math.sqrt(2**2 + 3**2 + 3**2))


def random_leak(chance, port):
    """Up to six doubts, some rectangles, some with few degrees of freedom."""
    terms = chance.sample(TERMS, chance.randint(1, len(TERMS)))
    lines = tuple(
        LeakLine(
            term=term,
            u_ml_min=10 ** chance.uniform(-1, 1.5),
            is_rectangular=chance.random() < 0.5,
            dof=float(chance.randint(1, 40)) if chance.random() < 0.3 else None,
        )
        for term in terms
    )
    return leak_test(port, found=leak_found(chance.uniform(20, 400), lines=lines), gauge_id=chance.choice("ab"))


def random_side(name, hour):
    chance = random.Random(zlib.crc32(name.encode()))
    bodies = [random_leak(chance, f"P{n}") for n in range(1, 5)]
    bodies += [
        pressure(chance.uniform(300, 500), f"T{n}", gauge=f"{chance.choice((0, 1, 3))}%+1x{chance.choice((1, 5))}")
        for n in range(1, 5)
    ]
    return Side(session(*bodies, seat_test("Gull", chance.uniform(10, 40)), hour=hour), None)


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    """Both sides of every comparison, and the results an office suite computes of them."""
    office = need("soffice", "libreoffice")
    folder = tmp_path_factory.mktemp("office")
    sides = {"bodies": (sample("2233-air-old-body"), sample("2234-air-new-body"))}
    sides |= {f"r{n}": (random_side(f"air {n} a", 8), random_side(f"air {n} b", 8 + n % 4)) for n in range(RANDOM)}
    for name, (a, b) in sides.items():
        (folder / f"{name}.xlsx").write_bytes(book_of(a, b))
    files = [str(folder / f"{name}.xlsx") for name in sides]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: (*both, *tables(folder / "out" / f"{name}.xlsx")) for name, both in sides.items()}


def tables(path):
    """The computed results and doubts, by their keys."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    rows = list(book[TITLE].iter_rows(values_only=True))
    book.close()
    start = next(place for place, row in enumerate(rows) if row[0] == AIR_TITLE)
    heads = next(place for place, row in enumerate(rows) if place > start and row[0] == DOUBTS["what"])
    results = [dict(zip(RESULT, row, strict=False)) for row in rows[start + 3 : heads] if row[0]]
    doubts = [dict(zip(DOUBTS, row, strict=False)) for row in rows[heads + 1 :] if row and row[0]]
    return results, doubts


def test_every_difference_is_recomputed(recalculated):
    seen = set()
    for a, b, results, doubts in recalculated.values():
        rows = [row for row in compare(a, b) if row.u_difference is not None and row.unit in ("ml/min", "kPa")]
        assert {line["what"] for line in results} == {f"{row.what}, {row.unit}" for row in rows}
        for row in rows:
            (line,) = [one for one in results if one["what"] == f"{row.what}, {row.unit}"]
            assert line["difference"] == pytest.approx(row.difference, rel=1e-9, abs=1e-9)
            assert line["u"] == pytest.approx(row.u_difference, rel=1e-9)
            assert line["k"] == pytest.approx(row.k, rel=1e-6)
            assert line["U"] == pytest.approx(row.k * row.u_difference, rel=1e-6)
            assert line["answer"] == ANSWER_TEXT[row.significant]
            assert line["agrees"] == "agrees"
            seen.add((row.unit, line["dominated"], line["weight"] > 0))
        assert {one["what"] for one in doubts} == {row.what for row in rows}
    assert {dominated for _, dominated, _ in seen} == {0, 1, 2}
    assert {(unit, has_degrees) for unit, _, has_degrees in seen} >= {
        ("ml/min", True),
        ("ml/min", False),
        ("kPa", False),
    }


def test_the_sample_bodies_say_which_doubts_are_common(recalculated):
    *_, doubts = recalculated["bodies"]
    common = {one["term"] for one in doubts if one["what"] == "leak P6 (steady)" and one["common"] == 1}
    assert {"restriction", "port gauge"} <= common
