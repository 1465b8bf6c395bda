"""The live formulas of the sheet Flex, computed by an office suite, which knows nothing of this program."""

from __future__ import annotations

import itertools
import statistics
import subprocess

import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.report.samples import chance, session_of, variant, workbook_of
from valvebench.model.flex import FlexTest
from valvebench.report.flex import COLUMNS, HEADER_ROW, TITLE

PLACE = {column.title: number for number, column in enumerate(COLUMNS)}


def series():
    dice = chance("flex office")
    calm = [round(5.2 + dice.gauss(0, 0.02), 2) for _ in range(40)]
    opened = [*calm[:12], None, None, *calm[12:]]
    stepped = [*calm[:20], *(round(ohm + 0.7, 2) for ohm in calm[20:])]
    return {"calm": calm, "opened": opened, "stepped": stepped, "all open": [None] * 4}


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    office, folder = need("soffice", "libreoffice"), tmp_path_factory.mktemp("flex")
    tests = [FlexTest(from_node="1", to_node="7", ohm=tuple(ohm), flexed=name) for name, ohm in series().items()]
    book = folder / "flex.xlsx"
    book.write_bytes(workbook_of(session_of(*tests), variant()))
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), str(book)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    sheet = openpyxl.load_workbook(folder / "out" / "flex.xlsx", data_only=True)[TITLE]
    lines = sheet.iter_rows(min_row=HEADER_ROW + 1, max_row=HEADER_ROW + len(tests), values_only=True)
    return {line[PLACE["What was flexed"]]: line for line in lines}


@pytest.mark.parametrize("name", list(series()))
def test_what_the_program_counted_is_counted_again(recalculated, name):
    line, ohm = recalculated[name], series()[name]
    values = [one for one in ohm if one is not None]
    assert line[PLACE["Open, counted again"]] == ohm.count(None) == line[PLACE["Open"]]
    assert line[PLACE["Agreement"]] == "agrees"
    assert line[PLACE["Chance to miss a contact in one reading of ten"]] == pytest.approx(0.9 ** len(values))
    if values:
        assert line[PLACE["Middle, again, \u03a9"]] == pytest.approx(statistics.median(values))
        pairs = [abs(b - a) for a, b in itertools.pairwise(ohm) if a is not None and b is not None]
        changes = line[PLACE["Largest change from one reading to the next, \u03a9"]]
        assert changes == pytest.approx(max(pairs))
