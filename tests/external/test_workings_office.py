"""The live formulas of the Workings sheet, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own judgement.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.report.samples import chance, random_readings, session_of, variant
from valvebench.judge.session import judge_session
from valvebench.model.entry import decode_line
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import VERDICT_TEXT, Rule
from valvebench.report.cases import cases_of
from valvebench.report.cells import Book
from valvebench.report.formulas import COLUMN
from valvebench.report.pack import packed
from valvebench.report.workbook import workbook_bytes
from valvebench.report.workings import HEADER_ROW, Titles, write_workings

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.parent for path in (ROOT / "sample_sessions").glob("*/journal.jsonl"))
RELATIVE = 1e-9
JOBS = 200
PER_BOOK = 50
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
    """The computed lines of every sheet of workings in a file."""
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    titles = [title for title in book.sheetnames if title.startswith("Workings")]
    found = {title: sheet_lines(book[title]) for title in titles}
    book.close()
    return found


def sheet_lines(sheet):
    rows = [row for row in sheet.iter_rows(min_row=HEADER_ROW + 1, values_only=True) if row[0] is not None]
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
        for text in line_differences(line, case.judgement)
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


def test_demo_jobs_are_recomputed(recalculated):
    if not SAMPLES:
        pytest.skip("no demo jobs in sample_sessions")
    books = {folder.name: built(*sample(folder)) for folder in SAMPLES}
    answers = recalculated({name: raw for name, (raw, _) in books.items()})
    assert {name: differences(answers[name]["Workings"], cases) for name, (_, cases) in books.items()} == {
        name: [] for name in books
    }


@pytest.mark.slow
def test_200_random_jobs_are_recomputed(recalculated):
    """Each job has its own two sheets; many jobs share a file, since opening one is what takes the time."""
    jobs = {f"Workings {number}": random_job(number) for number in range(JOBS)}
    names = list(jobs)
    books = {f"book{n}": names[n : n + PER_BOOK] for n in range(0, JOBS, PER_BOOK)}
    answers = recalculated({name: book_of({key: jobs[key] for key in of_book}) for name, of_book in books.items()})
    lines = {title: of_job for sheets in answers.values() for title, of_job in sheets.items()}
    assert {title: differences(lines[title], cases) for title, cases in jobs.items()} == {title: [] for title in jobs}
    seen = [line for of_job in lines.values() for line in of_job]
    assert {line["verdict"] for line in seen} == {"Pass", "Fail", "Can't tell", "No limit", "Not usable"}
    assert {line["dominated"] for line in seen} >= {0, 1}
    assert any(isinstance(line["nu"], float) and line["nu"] < 10 for line in seen)
    assert {line["way"].split(",")[0].split(" >")[0] for line in seen} == WAYS


def random_job(number):
    """The judged rows of a random job; the rule is that of each reading, or one for the whole job."""
    rng = chance(f"workings {number}")
    session, of_variant = session_of(*random_readings(rng, rng.randint(2, 14))), variant()
    rule = rng.choice((None, None, *Rule))
    return cases_of(session, of_variant, judge_session(session, of_variant, rule=rule))


def book_of(jobs):
    """One file with the workings of several jobs."""
    book = Book()
    for title, cases in jobs.items():
        write_workings(book, cases, report_id="test", titles=Titles(title, title.replace("Workings", "Raw")))
    return packed(book.workbook, title="test", program="test", printed=None)
