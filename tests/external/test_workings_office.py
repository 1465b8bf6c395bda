"""The live formulas of the Workings sheet, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own judgement.
"""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest

from tests.data.made_up import reading, variant_of
from tests.every_page import TELLING_JOBS
from tests.external_tools import need
from tests.unit.report.samples import chance, random_readings, session_of, variant
from valvebench.judge.session import judge_session
from valvebench.model.entry import decode_line
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import VERDICT_TEXT, Rule, Verdict
from valvebench.report.cases import Case, cases_of
from valvebench.report.cells import Book
from valvebench.report.formulas import COLUMN
from valvebench.report.pack import packed
from valvebench.report.workbook import workbook_bytes
from valvebench.report.workings import HEADER_ROW, write_workings

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.parent for path in (ROOT / "sample_sessions").glob("*/journal.jsonl"))
RELATIVE = 1e-9
JOBS = 200
WAYS = {
    "check resistor",
    "four wires",
    "leads not taken off",
    "leads nulled",
    "open",
    "tips taken off",
    "volts ratio",
}


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    """Workbooks -> the values an office suite computes, all in one go of the suite."""
    office = need("soffice", "libreoffice")
    folder = tmp_path_factory.mktemp("office")

    def run(raws):
        for name, raw in raws.items():
            (folder / f"{name}.xlsx").write_bytes(raw)
        files = [str(folder / f"{name}.xlsx") for name in raws]
        profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
        command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
        subprocess.run(command, check=True, capture_output=True, timeout=180)
        return {name: workings(folder / "out" / f"{name}.xlsx") for name in raws}

    return run


def workings(path):
    """The computed lines of a file."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    rows = [row for row in book["Workings"].iter_rows(min_row=HEADER_ROW + 1, values_only=True) if row[0] is not None]
    book.close()
    return [{key: row[number - 1] for key, number in COLUMN.items() if number <= len(row)} for row in rows]


def built(session, of_variant):
    judged = judge_session(session, of_variant)
    raw = workbook_bytes(session, of_variant, judged, printed_at="2031-05-06T10:11:12Z", program="test", photos={})
    return raw, cases_of(session, of_variant, judged)


def differences(lines, cases):
    assert len(lines) == len(cases)
    return [
        f"line {line['line']} ({line['way']}): {text}"
        for line, case in zip(lines, cases, strict=True)
        for text in line_differences(line, case.row.by_number or case.judgement)
    ]


def line_differences(line, judgement):
    numbers = {
        "value": judgement.ohm,
        "at_ref": judgement.ohm_at_ref,
        "u": judgement.u_ohm_at_ref,
        "k": judgement.k_coverage,
        "U": judgement.U_ohm_at_ref,
    }
    words = {
        "verdict": VERDICT_TEXT[judgement.verdict],
        "plain": VERDICT_TEXT[judgement.plain_verdict] if judgement.plain_verdict else "",
        "lean": judgement.lean.value if judgement.lean else "",
        "agrees": "agrees",
    }
    for key, number in numbers.items():
        if number is not None and line[key] != pytest.approx(number, rel=RELATIVE, abs=1e-15):
            yield f"{key} {line[key]!r}, program {number!r}"
    for key, word in words.items():
        if (line[key] or "") != word:
            yield f"{key} {line[key]!r}, program {word!r}"
    chance_inside = judgement.p_inside
    if chance_inside is not None and line["chance"] != pytest.approx(chance_inside, rel=RELATIVE, abs=1e-9):
        yield f"chance {line['chance']!r}, program {chance_inside!r}"


def sample(folder):
    lines = (folder / "journal.jsonl").read_bytes().splitlines()
    session = fold([decode_line(line, source=str(folder)) for line in lines])
    frozen = session.job.variant
    of_variant = read_variant((folder / "blobs" / frozen).read_bytes(), source=str(folder)) if frozen else None
    return session, of_variant


def test_demo_jobs_are_recomputed(recalculated, request):
    """All of them in the study; else those that have every page between them."""
    is_study = request.config.getoption("--study")
    jobs = [folder for folder in SAMPLES if is_study or folder.name in TELLING_JOBS]
    assert jobs
    books = {folder.name: built(*sample(folder)) for folder in jobs}
    answers = recalculated({name: raw for name, (raw, _) in books.items()})
    assert {name: differences(answers[name], cases) for name, (_, cases) in books.items()} == {
        name: [] for name in books
    }


@dataclass(frozen=True, kw_only=True)
class OfJob(Case):
    """A judged row that remembers its job, so that spreads are pooled within it only."""

    job: int

    @property
    def set_up(self):
        return (f"job {self.job}", *super().set_up)


def test_200_random_jobs_are_recomputed(recalculated):
    """Every job is judged for itself; all share one file, since opening files is what takes the time."""
    cases = [case for number in range(JOBS) for case in random_job(number)]
    book = Book()
    write_workings(book, cases, report_id="test")
    raw = packed(book.workbook, title="test", program="test", printed=None)
    lines = recalculated({"random": raw})["random"]
    assert differences(lines, cases) == []
    assert {line["verdict"] for line in lines} == {"Pass", "Fail", "Can't tell", "No limit", "Not usable"}
    assert {line["dominated"] for line in lines} >= {0, 1}
    assert any(isinstance(line["nu"], float) and line["nu"] < 10 for line in lines)
    assert {line["way"].split(",")[0].split(" >")[0] for line in lines} == WAYS


def random_job(number):
    """The judged rows of a random job; the rule is that of each reading, or one for the whole job."""
    rng = chance(f"workings {number}")
    session, of_variant = session_of(*random_readings(rng, rng.randint(2, 14))), variant()
    rule = rng.choice((None, None, *Rule))
    cases = cases_of(session, of_variant, judge_session(session, of_variant, rule=rule))
    return [OfJob(row=c.row, judgement=c.judgement, group=c.group, reading=c.reading, job=number) for c in cases]


def test_the_number_alone_is_followed_where_a_contact_or_a_diode_has_the_last_word(recalculated):
    """Invented: an open sensor behind an open contact, a coil read low with its diode and sound against it."""
    devices = [
        {"name": "Plover", "kind": "solenoid", "between": ["8", "case"], "low_ohm": 12.0, "high_ohm": 15.0},
        {"name": "Dot", "kind": "diode", "between": ["8", "case"], "across": "Plover", "anode": "case"},
        {
            "name": "Fluid",
            "kind": "temperature_sensor",
            "between": ["12", "6"],
            "points": [[20, 2540, 2800], [80, 300, 350]],
            "in_series_with": "Stork",
        },
        {"name": "Stork", "kind": "switch", "between": ["1", "case"], "at_rest": "open"},
    ]
    body = variant_of(devices=devices, ports=[], solenoid_chart={})
    taken = (
        reading("case", "8", 0.6),
        reading("8", "case", 13.5),
        reading("12", "6", open=True, range_ohm=6e7),
    )
    raw, cases = built(session_of(*taken), body)
    lines = recalculated({"contact": raw})["contact"]
    assert differences(lines, cases) == []
    alone = ["leads nulled, by the number alone", "leads nulled", "open > 60 M, by the number alone"]
    assert [line["way"] for line in lines] == alone
    assert [case.row.verdict for case in cases] == [Verdict.NOT_USABLE, Verdict.PASS, Verdict.NOT_USABLE]
