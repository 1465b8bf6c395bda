"""Three worked complaints of the demo: what was planted is what the list points at, and what was not stays back.

The truth of each body stands in `simulate.quillon` and `simulate.air`; nothing expected here is an answer of the
program.
"""

from __future__ import annotations

import pytest

from valvebench import compose
from valvebench.bench.demo import HOT
from valvebench.bench.demo_air import LEAKS, OLD_AIR
from valvebench.bench.demo_explain import POOR_CONTACT
from valvebench.bench.explain_report import explain_job
from valvebench.bench.story import tell_into
from valvebench.bench.suspecting import suspicion_of
from valvebench.diagnose.suspected import State
from valvebench.diagnose.suspects_weights import Cause
from valvebench.simulate.quillon import POOR_PIN

WORKED = (HOT, OLD_AIR, POOR_CONTACT)


def suspected(out, story):
    raw = compose.read_file(compose.variant_file(story.variant_key))
    tell_into(out / story.folder, story, variant_raw=raw, create_job=compose.create_job)
    view = compose.view_session(out / story.folder)
    explained = explain_job(view.session, view.variant, compose.priors())
    rows, known = view.judged().rows, explained.explained if explained is not None else None
    return view.variant, suspicion_of(
        view.session, view.variant, compose.suspect_weights(), rows=rows, explained=known
    ).suspected


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    out = tmp_path_factory.mktemp("suspects")
    return {story.folder: suspected(out, story) for story in WORKED}


def pointed(found, story):
    return [(s.cause, s.where) for s in found[story.folder][1].suspects if s.state is State.POINTS_AT_IT]


def test_late_from_fifth_to_sixth_when_hot_is_the_contact_that_grows(found):
    """The truth: a contact of Heron grows with heat; P7 leaks too, and feeds a clutch that does not change."""
    assert pointed(found, HOT) == [(Cause.SOLENOID_CONTACT, ("Heron",))]
    variant, suspects = found[HOT.folder]
    assert suspects.changes.apply == ("Crake",)
    assert "port P7: Fail" in suspects.elsewhere
    assert variant.port_named("P7").feeds not in (*suspects.changes.apply, *suspects.changes.release)


def test_a_flare_from_second_to_third_is_the_leak_at_the_port_of_its_clutch(found):
    """The truth: P6 passes far more than it does on the new body, and feeds Dipper, which applies.

    The tap at Dipper lacks pressure, which speaks of its circuit in body and case alike, and of no other line.
    """
    worse = {port for port, c in LEAKS["old"].items() if c > 2.0 * LEAKS["new"][port]}
    variant, suspects = found[OLD_AIR.folder]
    assert {variant.port_named(port).feeds for port in worse} == set(suspects.changes.apply) == {"Dipper"}
    assert set(pointed(found, OLD_AIR)) == {(Cause.VALVE_BORE, ("Dipper",)), (Cause.CLUTCH_CIRCUIT, ("Dipper",))}
    good = [s.cause for s in suspects.suspects if s.state is State.PROVED_GOOD]
    assert Cause.FLUID_LEVEL in good


def test_a_flare_that_is_always_there_is_the_poor_contact(found):
    """The truth: a contact before Heron, poor at rest; its own terminals are good."""
    variant, suspects = found[POOR_CONTACT.folder]
    assert POOR_PIN in variant.device_named("Heron").between
    assert pointed(found, POOR_CONTACT)[0] == (Cause.SOLENOID_CONTACT, ("Heron",))
    winding = next(s for s in suspects.suspects if s.cause is Cause.SOLENOID_WINDING and s.where == ("Heron",))
    assert winding.state is State.PROVED_GOOD
