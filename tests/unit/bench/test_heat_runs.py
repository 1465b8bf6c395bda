"""A logger's run made into an entry: what the command's tests do not reach."""

from __future__ import annotations

import math

import msgspec
import pytest

from tests.data.heat_logs import log_of, nothing
from tests.data.made_up import heat_test, variant_of
from valvebench.bench.heat_find import LogFile, TakenWith
from valvebench.bench.heat_find import heat_test as entry_of
from valvebench.bench.heat_runs import RunGiven, changed_run, run_body, winding_k
from valvebench.capture.heat_log import heat_log
from valvebench.model.errors import BadInput
from valvebench.model.heat import Sized

RAW = log_of(ohm=nothing)
VARIANT = variant_of()


def body(given, *, variant=VARIANT, raw=RAW, name="run.csv"):
    return run_body(heat_log(raw, source=name), given, variant, file=LogFile(raw, name), program="valvebench test")


@pytest.mark.parametrize("broken", [math.nan, math.inf], ids=["nan", "infinite"])
def test_a_result_that_is_no_number_is_refused(monkeypatch, broken):
    found = msgspec.structs.replace(heat_test("Heron").found, at_20_ohm=Sized(value=5.2, u=broken))
    monkeypatch.setattr("valvebench.diagnose.heat_run.analyse", lambda *_: found)
    with pytest.raises(BadInput, match="a result that is no number"):
        body(RunGiven(device="Heron"))


def test_a_very_long_file_name_keeps_its_end():
    kept = body(RunGiven(device="Heron"), name="x" * 300 + ".csv")
    assert (len(kept.file_name), kept.file_name[-5:]) == (200, "x.csv")


def test_the_conductor_constant_is_that_of_the_winding():
    other = variant_of(
        devices=[{"name": "Heron", "kind": "solenoid", "between": ["3", "11"], "k": 300.0}], solenoid_chart={}
    )
    assert (winding_k(other, "Heron"), winding_k(VARIANT, "Heron"), winding_k(None, "Kite")) == (300.0, 234.5, 234.5)
    assert body(RunGiven(device="Heron"), variant=other).found.k_celsius == 300.0


def test_a_variant_without_a_winding_says_so():
    bare = variant_of(devices=[], ports=[], solenoid_chart={})
    with pytest.raises(BadInput, match="it has none"):
        winding_k(bare, "Heron")


def test_without_its_file_only_words_can_be_corrected():
    kept = body(RunGiven(device="Heron"))
    assert changed_run(kept, {"note": "x"}, VARIANT, raw=None, log_of=heat_log) == {"note": "x"}
    with pytest.raises(BadInput, match="missing or changed"):
        changed_run(kept, {"is_soaked": True}, VARIANT, raw=None, log_of=heat_log)


def test_an_entry_that_no_journal_could_hold_is_refused():
    """A name may have 200 signs in an entry; written longer, the journal could not be opened any more."""
    file, found = LogFile(b"x", "run.csv"), heat_test("Heron").found
    assert entry_of(file, "H" * 200, TakenWith(), found, column="", program="").device == "H" * 200
    with pytest.raises(BadInput, match="200"):
        entry_of(file, "H" * 201, TakenWith(), found, column="", program="")
