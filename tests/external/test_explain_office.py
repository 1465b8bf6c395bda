"""The live formulas of the sheet Explanations, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; what it finds is held against arithmetic on the readings as
they were typed, here in the test, and against what the program said.
"""

from __future__ import annotations

import math
import subprocess
from math import hypot, sqrt
from pathlib import Path

import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.report.samples import chance, session_of, variant
from tests.unit.report.test_explanations import PRIORS, read, table
from valvebench.bench.explain_report import explain_job
from valvebench.compose import view_session
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource
from valvebench.report.cells import Book
from valvebench.report.explain_formulas import ACCESS, ANSWERS, TOLD
from valvebench.report.explanations import ACCESS_TITLE, ANSWERS_TITLE, TITLE, TOLD_TITLE, write_explanations
from valvebench.report.pack import packed

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
NAMES = ("2217-in-work", "2219-grows-with-heat", "2224-poor-contact", "2225-pins-mirrored", "2226-leads-not-nulled")
RANDOM = 12
PLUG, CONNECTOR, TERMINALS = AccessPoint
METERS = ("0.5%+2x0.01", "0.9%+2x0.1", "0.2%+1x0.001")
LEADS = (LeadState.NULLED, LeadState.NEITHER, LeadState.FOUR_WIRE)
SOURCES = (TemperatureSource.TAPED, TemperatureSource.ROOM_2H)


def somewhere(rng, ohm, at):
    """One pair at one place with a meter, leads and temperature of its own, or with those of the day."""
    day = {"meter": METERS[0], "leads": LEADS[0], "celsius": 20.0, "temperature": SOURCES[0]}
    own = {
        "meter": rng.choice(METERS),
        "leads": rng.choice(LEADS),
        "celsius": 20.0 + rng.randint(0, 4),
        "temperature": rng.choice(SOURCES),
    }
    return read("1", "7", round(ohm + rng.uniform(-0.2, 0.6), 3), at=at, **rng.choice((day, own)))


def random_readings(number):
    rng = chance(f"explain office {number}")
    return [
        *(somewhere(rng, 5.2, at) for at in (CONNECTOR, PLUG, TERMINALS)),
        read("2", "7", rng.choice((13.4, 16.4, None))),
        read("4", "5", rng.choice((2650.0, 2100.0))),
        read("6", "case", rng.choice((None, 0.4))),
    ]


def book_of(session, of_variant):
    """The sheet alone: opening files is what takes the time."""
    book = Book()
    write_explanations(book, explain_job(session, of_variant, PRIORS), of_variant, report_id="test")
    return packed(book.workbook, title="test", program="test", printed=None)


def jobs():
    made = {name: view_session(SAMPLES / name) for name in NAMES}
    found = {name: (view.session, view.variant) for name, view in made.items()}
    return found | {
        f"random {number}": (session_of(*random_readings(number)), variant()) for number in range(1, RANDOM + 1)
    }


def recalculate(folder, names):
    office = need("soffice", "libreoffice")
    files = [str(folder / f"{name}.xlsx") for name in names]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: openpyxl.load_workbook(folder / "out" / f"{name}.xlsx", data_only=True)[TITLE] for name in names}


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    folder = tmp_path_factory.mktemp("office")
    for name, (session, of_variant) in jobs().items():
        (folder / f"{name}.xlsx").write_bytes(book_of(session, of_variant))
    return recalculate(folder, list(jobs()))


def test_odds_are_one_share_over_the_next_and_never_above_99(recalculated):
    seen = set()
    for sheet in recalculated.values():
        rows = table(sheet, ANSWERS_TITLE, ANSWERS)
        shares = [row["share"] for row in rows]
        after = [*shares[1:], 1.0 - shares[-1]]
        for row, share, rest in zip(rows, shares, after, strict=True):
            expected = 99.0 if rest <= share / 99.0 else share / rest
            assert row["odds"] == pytest.approx(expected, rel=1e-9)
            assert row["agrees"] == "agrees"
            seen.add(row["odds"] == 99)
    assert seen == {True, False}


def test_distances_are_predicted_less_read_over_the_doubt(recalculated):
    seen = set()
    for sheet in recalculated.values():
        for row in table(sheet, TOLD_TITLE, TOLD):
            for which, off in (("first", "off_first"), ("second", "off_second")):
                if row["read"] == "open" or row[which] == "open":
                    words = "as read" if row["read"] == row[which] else "not as read"
                    assert row[off] in (words, None)
                elif row[which] is not None:
                    assert row[off] == pytest.approx((row[which] - row["read"]) / row["u"], rel=1e-9, abs=1e-12)
            seen |= {row["decides"], row["off_first"] if isinstance(row["off_first"], str) else "number"}
    assert seen >= {"decides", "as read", "number"}


def test_the_doubt_of_the_deciding_reading_by_hand(recalculated):
    """2-8 of the poor contact: 0.9 % + 2 x 0.01 at 8.97 ohm, two tips, nulled leads, 2 K of copper at 22.3."""
    row = table(recalculated["2224-poor-contact"], TOLD_TITLE, TOLD)[0]
    own = hypot(2 * 0.01 / sqrt(3), sqrt(2) * 0.01)
    warm = 8.97 / (234.5 + 22.3) * 2 / sqrt(3)
    assert row["u"] == pytest.approx(math.hypot(own, 0.009 / sqrt(3) * 8.97, 0.02, warm), rel=1e-9)
    assert row["decides"] == "decides"


def test_the_difference_of_access_points_by_hand(recalculated):
    """8.97 - 5.96; meter and leads are one, so that counts and tips of both and the gain of 3.01 ohm are left."""
    (row,) = table(recalculated["2224-poor-contact"], ACCESS_TITLE, ACCESS)
    own = hypot(2 * 0.01 / sqrt(3), sqrt(2) * 0.01)
    assert row["difference"] == pytest.approx(3.01)
    assert row["U"] == pytest.approx(2 * math.hypot(own, own, 0.009 / sqrt(3) * 3.01), rel=1e-9)
    assert (row["answer"], row["agrees"]) == ("seen", "agrees")


def test_every_difference_is_found_again(recalculated):
    rows = [row for name in recalculated if "random" in name for row in table(recalculated[name], ACCESS_TITLE, ACCESS)]
    assert len(rows) == 2 * RANDOM
    for row in rows:
        moved = row["inner"] * (234.5 + row["outer_celsius"]) / (234.5 + row["inner_celsius"])
        assert row["difference"] == pytest.approx(row["outer"] - moved, abs=1e-12)
        assert row["agrees"] == "agrees"
    assert {row["gain"] is None for row in rows} == {True, False}
    assert {row["outer_u_celsius"] is None for row in rows} == {True, False}
    assert {row["answer"] for row in rows} == {"seen", "no more than its doubt"}


def test_a_changed_number_is_noticed(tmp_path):
    """The formulas compare: other odds, and another difference, do not pass."""
    view = view_session(SAMPLES / "2224-poor-contact")
    file = tmp_path / "changed.xlsx"
    file.write_bytes(book_of(view.session, view.variant))
    opened = openpyxl.load_workbook(file)
    for title, columns, key in ((ANSWERS_TITLE, ANSWERS, "p_odds"), (ACCESS_TITLE, ACCESS, "p_u")):
        row = next(cell.row for cell in opened[TITLE]["A"] if cell.value == title) + 2
        opened[TITLE].cell(row, columns.number(key)).value *= 1.001
    opened.save(file)
    sheet = recalculate(tmp_path, ["changed"])["changed"]
    assert table(sheet, ANSWERS_TITLE, ANSWERS)[0]["agrees"] == "differs"
    assert table(sheet, ACCESS_TITLE, ACCESS)[0]["agrees"] == "differs"
