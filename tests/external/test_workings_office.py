"""The live formulas of the Workings sheet, computed by an office suite that knows nothing of this program.

Oracle: LibreOffice recalculates the sheet; its answers must be those of the program's own judgement.
"""

from __future__ import annotations

import json
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
from valvebench.model.words import VERDICT_TEXT, Rule, Verdict
from valvebench.report.cases import cases_of
from valvebench.report.formulas import COLUMN
from valvebench.report.workbook import workbook_bytes
from valvebench.report.workings import HEADER_ROW

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.parent for path in (ROOT / "sample_sessions").glob("*/journal.jsonl"))
RELATIVE = 1e-9
JOBS = 200
PER_BOOK = 10


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
    book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    rows = [row for row in book["Workings"].iter_rows(min_row=HEADER_ROW + 1, values_only=True) if row[0] is not None]
    book.close()
    return [{key: row[number - 1] for key, number in COLUMN.items() if number <= len(row)} for row in rows]


def built(session, of_variant, rule=None):
    judged = judge_session(session, of_variant, rule=rule)
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
    assert {name: differences(answers[name], cases) for name, (_, cases) in books.items()} == {name: [] for name in books}


@pytest.mark.slow
def test_200_random_jobs_are_recomputed(recalculated):
    """Each book holds the readings of ten jobs; the rule is that of the reading, or of the whole book."""
    rules = (None, None, *Rule)
    books = {}
    for number in range(JOBS // PER_BOOK):
        rng = chance(f"workings {number}")
        bodies = [body for _ in range(PER_BOOK) for body in random_readings(rng, 12)]
        books[f"book{number}"] = built(session_of(*bodies), variant(), rules[number % len(rules)])
    answers = recalculated({name: raw for name, (raw, _) in books.items()})
    found = {name: differences(answers[name], cases) for name, (_, cases) in books.items()}
    lines = [line for name in books for line in answers[name]]
    print(json.dumps({"lines": len(lines), "ways": sorted({line["way"].split(" >")[0] for line in lines})}))
    assert found == {name: [] for name in books}
    assert {line["verdict"] for line in lines} == {
        VERDICT_TEXT[v] for v in Verdict if v not in (Verdict.NOT_TAKEN, Verdict.NOT_FINISHED)
    }
    assert {line["dominated"] for line in lines} >= {0, 1}
    assert any(isinstance(line["nu"], float) and line["nu"] < 10 for line in lines)
