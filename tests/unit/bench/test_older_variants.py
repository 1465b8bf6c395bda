"""Evidence stays readable: a variant frozen before a rule was made opens, judges, verifies and can be edited."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.fakes.clock import Clock
from valvebench import compose
from valvebench.archive.verify import verify
from valvebench.bench.variants import VariantFiles, WrongDraft
from valvebench.model.entry import Reading
from valvebench.model.words import LeadState, Verdict

OLDER = {
    "part numbers in a circle": {
        "part_numbers": [{"number": "QT-1", "superseded_by": "QT-2"}, {"number": "QT-2", "superseded_by": "QT-1"}]
    },
    "a part number twice": {"part_numbers": [{"number": "QT-1"}, {"number": "QT-1"}]},
    "no fastener of a kind": {"fasteners": [{"place": "rim", "count": 0}]},
    "fluid window turned round": {"fluid": {"by": "dipstick", "low_celsius": 80, "high_celsius": 70}},
}


@pytest.fixture(params=OLDER.values(), ids=OLDER)
def raw(request):
    """Invented, as an earlier program would have taken it."""
    body = {
        "format": 1,
        "key": "tern-older",
        "title": "Quillon Tern, an older file",
        "pins": [{"name": "1"}, {"name": "2"}],
        "devices": [{"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 4.9, "high_ohm": 5.5}],
    }
    return json.dumps({**body, **request.param}).encode()


def test_a_session_with_it_opens_judges_and_verifies(raw, tmp_path):
    folder = tmp_path / "session"
    job = {"session": "s", "job": "T-1"}
    desk = compose.create_job(folder, job, variant_raw=raw, variant_source="older file", clock=Clock())
    desk.record(Reading(from_node="1", to_node="2", ohm=9.0, celsius=20.0, u_ohm=0.02, leads=LeadState.FOUR_WIRE))
    desk.release()
    view = compose.view_session(folder)
    assert view.variant.key == "tern-older"
    assert [row.verdict for row in view.judged(None).failed()] == [Verdict.FAIL]
    assert verify(folder).ok


def test_the_editor_opens_it_and_asks_for_it_to_be_put_right_before_saving(raw, tmp_path):
    path = tmp_path / "older.json"
    path.write_bytes(raw)
    files = VariantFiles(read=Path.read_bytes, save=compose.save)
    draft = files.load(path)
    with pytest.raises(WrongDraft):
        files.save(path, draft)
    assert path.read_bytes() == raw
