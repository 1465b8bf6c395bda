"""The live formulas of Air leaks, Pressures and Sweeps, computed by an office suite that knows nothing of us.

Expected: u by the root of the sum of squares; k of GUM G.4 from scipy's Student t, of a dominating rectangle
0.9545 times the root of three (EA-4/02 S9); U of one rectangle 0.9545 times its half-width.
"""

from __future__ import annotations

import math
import subprocess

import openpyxl
import pytest
from scipy import stats

from tests.data.made_air import leak_found, leak_test, pressure, sweep_test
from tests.external_tools import need
from tests.unit.report.samples import session_of, workbook_of
from tests.unit.report.test_air_numbers import variant
from valvebench.model.leak import LeakLine
from valvebench.model.words import Rule
from valvebench.report import air_leaks, air_taps
from valvebench.report.tables import HEADER_ROW


def budget(*lines):
    return tuple(LeakLine(term=f"doubt {n}", u_ml_min=u, **more) for n, (u, more) in enumerate(lines, 1))


BELL, FLAT, FEW = {}, {"is_rectangular": True}, {"dof": 4.0}
BUDGETS = {
    "bells": budget((3.0, BELL), (4.0, BELL)),
    "few readings": budget((3.0, FEW), (4.0, BELL)),
    "one rectangle": budget((1.0, BELL), (9.0, FLAT)),
}
LEAKS = {(name, ml_min): lines for name, lines in BUDGETS.items() for ml_min in (300.0, 398.0, 402.0, 500.0)}
PRESSURES = [pressure(kpa, gauge="1%+1x2") for kpa in (350.0, 403.0, 450.0, 497.0, 560.0)]
SWEEPS = [sweep_test("Gull", pct) for pct in (0.5, 3.5, 4.5, 9.0)]


def u_and_k(lines):
    u = math.sqrt(sum(line.u_ml_min**2 for line in lines))
    flat = max((line.u_ml_min for line in lines if line.is_rectangular), default=0.0)
    if flat > 3.33 * math.sqrt(max(0.0, u * u - flat * flat)):
        return u, 0.9545 * math.sqrt(3)
    weight = sum(line.u_ml_min**4 / line.dof for line in lines if line.dof is not None)
    return u, stats.t.ppf(0.5 + 0.9545 / 2, int(u**4 / weight)) if weight else 2.0


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    office, folder = need("soffice", "libreoffice"), tmp_path_factory.mktemp("air")
    leaks = [
        leak_test("P6", ml_min, found=leak_found(ml_min, u=u_and_k(lines)[0], lines=lines))
        for (_, ml_min), lines in LEAKS.items()
    ]
    plain = leak_test("P6", 398.0, found=leak_found(398.0, lines=BUDGETS["bells"]), rule=Rule.PLAIN)
    book = folder / "air.xlsx"
    book.write_bytes(workbook_of(session_of(*leaks, plain, *PRESSURES, *SWEEPS), variant()))
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), str(book)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return openpyxl.load_workbook(folder / "out" / "air.xlsx", data_only=True)


def table(book, title, columns, count):
    rows = book[title].iter_rows(min_row=HEADER_ROW + 1, max_row=HEADER_ROW + count, values_only=True)
    return [{column.title: value for column, value in zip(columns, row, strict=False)} for row in rows]


def test_budgets_and_verdicts_of_leaks(recalculated):
    rows = table(recalculated, air_leaks.TITLE, air_leaks.COLUMNS, len(LEAKS) + 1)
    for row, ((_, ml_min), lines) in zip(rows, LEAKS.items(), strict=False):
        u, k = u_and_k(lines)
        assert row["Leak, ml/min"] == ml_min
        assert row["u from the budget"] == pytest.approx(u, rel=1e-9)
        assert row["k again"] == pytest.approx(k, rel=1e-6)
        assert row["U again, ml/min"] == pytest.approx(k * u, rel=1e-6)
        by_hand = "Pass" if ml_min <= 400 - k * u else "Fail" if ml_min > 400 + k * u else "Can't tell"
        assert row["Verdict at this pressure, again"] == by_hand == row["Verdict"]
        assert row["Agreement"] == "agrees"
    assert rows[-1]["Verdict at this pressure, again"] == "Pass" == rows[-1]["Verdict"]


def test_pressures(recalculated):
    for row, taken in zip(
        table(recalculated, air_taps.PRESSURES, air_taps.PRESSURE_COLUMNS, len(PRESSURES)), PRESSURES, strict=True
    ):
        expanded = 0.9545 * (0.01 * taken.kpa_gauge + 2.0)
        assert row["U again, kPa"] == pytest.approx(expanded, rel=1e-9)
        distance = min(taken.kpa_gauge - 400.0, 500.0 - taken.kpa_gauge)
        by_hand = "Pass" if distance >= expanded else "Fail" if distance < -expanded else "Can't tell"
        assert row["Verdict again"] == by_hand == row["Verdict"]
        assert row["Agreement"] == "agrees"


def test_sweeps(recalculated):
    for row, test in zip(
        table(recalculated, air_taps.SWEEPS, air_taps.SWEEP_COLUMNS, len(SWEEPS)), SWEEPS, strict=True
    ):
        one = test.found.hysteresis_pct_span.max
        assert row["Stands out, again"] == row["Stands out"] == ("yes" if one.value > 1.0 else "not resolved")
        by_hand = "Pass" if one.value <= 3.0 else "Fail" if one.value > 5.0 else "Can't tell"
        assert row["Verdict again"] == by_hand == row["Verdict"]
        assert row["Agreement"] == "agrees"
