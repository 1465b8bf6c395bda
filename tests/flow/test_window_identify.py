"""A body in hand to its order sheet, and a voice on the telephone, in a real window by keyboard alone."""

from __future__ import annotations

import json

import openpyxl
import pytest

from tests.flow.test_window_flow import ROOT, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S
from valvebench import compose
from valvebench.diagnose.identified import Identity
from valvebench.model.words import Seen
from valvebench.ui.identify.shown import CANNOT_KEY, leads_of

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

BODY = json.loads((ROOT / "resources" / "variants" / "tern-body-2.json").read_text("utf-8"))
FEATURES = {one["name"]: one for one in BODY["features"]}
TOLD = ("level check", "solenoid caps")
"""All that the voice can tell: both look the same on two of the three bodies."""
MOST = 24


@pytest.fixture
def job(tmp_path, monkeypatch):
    """A job without a variant; jobs go beside it, and nobody has variants of their own."""
    settings = tmp_path / "settings"
    settings.mkdir()
    folders = {"jobs_folder": str(tmp_path), "variants_folder": str(tmp_path / "none")}
    (settings / "settings.json").write_text(json.dumps(folders), encoding="utf-8")
    monkeypatch.setenv("VALVEBENCH_SETTINGS", str(settings))
    made = valvebench("open-job", tmp_path / "T-81", "--job", "T-81", "--part", "QT-2")
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-81"


def said_of(folder, seen):
    """What follows from the session on disk, and what is asked next, as the page has it."""
    knows = compose.Program().identifying(str(folder.parent / "none"))
    found = knows.identify(compose.view_session(folder).session)
    return found, next(iter(leads_of(found, seen).items()))


def looks(folder):
    lines = (folder / "journal.jsonl").read_bytes().split(b"\n")[:-1]
    return [line["body"] for line in map(json.loads, lines) if line["kind"] == "feature"]


def answer(window, folder, key):
    """One key is one entry."""
    wanted = len(looks(folder)) + 1
    window.key(key)
    wait_for(lambda: len(looks(folder)) == wanted, f"look {wanted}")
    wait_for(window._is_at_rest, "the next feature")


def digit_of(feature):
    return str(FEATURES[feature]["values"].index(FEATURES[feature]["this"]) + 1)


def sheet_words(path):
    wait_for(path.exists, path.name)
    wait_for(lambda: path.with_suffix(".pdf").exists(), "the same as PDF")
    rows = openpyxl.load_workbook(path).active.iter_rows(values_only=True)
    return " ".join(str(cell) for row in rows for cell in row if cell is not None)


@pytest.mark.slow
def test_a_body_in_hand_to_the_order_sheet(open_it, job):
    window, keys = open_it(job), 1
    window.key("ctrl+2")
    wait_for(window._is_at_rest, "the page")
    found, (feature, _) = said_of(job, Seen.US)
    while found.verdict is not Identity.CONFIRMED and keys < MOST:
        answer(window, job, digit_of(feature))
        assert looks(job)[-1] == {"name": feature, "value": FEATURES[feature]["this"]}
        found, (feature, _) = said_of(job, Seen.US)
        keys += 1
    window.key("F6")
    words = sheet_words(job.with_name("T-81-order.xlsx"))
    window.close()
    print(f"a body in hand to the order sheet: {keys + 1} keys, {len(looks(job))} looks")
    assert found.leading == ("tern-body-2",)
    assert "Confirmed" in words
    assert "QT-2-B (takes the place of QT-2)" in words


@pytest.mark.slow
def test_an_enquiry_by_phone_ends_open_and_says_what_to_look_at(open_it, job):
    window, keys = open_it(job), 1
    window.key("F12")
    enquiry = wait_for(lambda: next(job.parent.glob("job-E-*/journal.jsonl"), None), "the enquiry").parent
    wait_for(lambda: window._hands("search", "--onlyvisible", "--name", "Enquiry E-").strip(), "its window")
    wait_for(window._is_at_rest, "the page")
    while len([one for one in looks(enquiry) if one["name"] in TOLD]) < len(TOLD) and keys < MOST:
        asked = [name for name in leads_of(said_of(enquiry, Seen.PHONE)[0], Seen.PHONE) if name not in told(enquiry)]
        feature = asked[0]
        answer(window, enquiry, digit_of(feature) if feature in TOLD else CANNOT_KEY)
        assert looks(enquiry)[-1]["name"] == feature
        keys += 1
    window.key("F6")
    words = sheet_words(enquiry.with_name(f"{enquiry.name}-order.xlsx"))
    window.key("F11")
    wait_for(window._find, "the job that was parked")
    window.close()
    print(f"an enquiry by phone and back: {keys + 2} keys, {len(looks(enquiry))} looks")
    found, _ = said_of(enquiry, Seen.PHONE)
    assert (found.verdict, set(found.leading)) == (Identity.OPEN, {"tern-body-2", "tern-body-3"})
    assert {one["seen"] for one in looks(enquiry)} == {"phone"}
    assert "stays open" in words
    assert "Look next at: connector pins" in words
    assert looks(job) == []


def told(folder):
    """Features somebody was asked for already: those nobody could see come last."""
    return {one["name"] for one in looks(folder)}
