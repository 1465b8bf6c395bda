"""Claim pages and order sheets printed by an office suite: one page of A4 each, every word on it."""

from __future__ import annotations

import subprocess

import pytest

from tests.external_tools import need
from tests.unit.bench.test_ordering import BOTH, look
from tests.unit.report import test_claim, test_order_sheet
from tests.unit.report.pdf_text import letters_of, pages_of, ran
from valvebench.bench.ordering import Sure
from valvebench.model.entry import Close, Note, OpenJob
from valvebench.report.claim import claim_xlsx
from valvebench.report.form import Printing
from valvebench.report.order_sheet import order_xlsx

LONG = " ".join(f"word{n}" for n in range(400))
CLOSE = Close(verdict="pass", scope="nothing")


def papers():
    printing = Printing(test_claim.KEPT, test_claim.PRINTED_AT, test_claim.PROGRAM)
    empty = OpenJob(session="s", job="T-2")
    long = test_claim.facts_of(Note(text=f"Cooler: {LONG}"), *test_claim.BODIES)
    new = test_order_sheet.session_of(look("plate mark", "none"))
    return {
        "claim": claim_xlsx(test_claim.facts_of(*test_claim.BODIES), printing),
        "claim-empty": claim_xlsx(test_claim.facts_of(CLOSE, job=empty), printing),
        "claim-long": claim_xlsx(long, printing),
        "order": order_xlsx(test_order_sheet.facts_of(*BOTH, new=new), printing),
        "order-open": order_xlsx(test_order_sheet.facts_of(sure=Sure.OPEN, leading=None), printing),
    }


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    office, folder = need("soffice", "libreoffice"), tmp_path_factory.mktemp("papers")
    files = [folder / f"{name}.xlsx" for name in papers()]
    for file, raw in zip(files, papers().values(), strict=True):
        file.write_bytes(raw)
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder / "out"), *map(str, files)]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {file.stem: (folder / "out" / f"{file.stem}.pdf").read_bytes() for file in files}


@pytest.mark.parametrize("name", list(papers()))
def test_each_is_one_page_of_a4(printed, name):
    assert pages_of(printed[name]) == 1
    assert "(A4)" in ran("pdfinfo", "-", raw=printed[name])


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("claim", ["SupplierOne,invoice77", "manual:invented,page1", "Cooler flushed twice.", "Fortheshop:name"]),
        ("claim-empty", ["notrecorded", "Noitemfailedinthissession.", "Endoftheclaimpage."]),
        ("claim-long", [LONG]),
        ("order", ["QT-2(takestheplaceofQT-1)", "Thenewpartdoesnotmatch:platemark.", "Orderedby:name"]),
        ("order-open", ["noneisnamed", "Nothingwaslookedat."]),
    ],
)
def test_what_it_says_stands_on_the_paper(printed, name, words):
    letters = letters_of(printed[name])
    assert [word for word in words if word.replace(" ", "") not in letters] == []
