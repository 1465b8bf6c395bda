"""The demo jobs that want an explanation: what was planted is what comes first, and the verdict stays honest.

The truth of each body stands in `simulate.quillon`; nothing expected here is an answer of the program.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from valvebench.bench.demo_explain import LEADS_KEPT, MIRRORED, POOR_CONTACT
from valvebench.bench.story import tell_into
from valvebench.compose import create_job, data_folder, view_session
from valvebench.diagnose.explain import Explainer
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.model.entry import Reading
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, ItemState, LeadState, Verdict
from valvebench.simulate.quillon import MIRRORED_PINS, NOT_NULLED_METER, POOR_OHM, POOR_PIN

STORIES = (POOR_CONTACT, MIRRORED, LEADS_KEPT)
PLANTED = {
    POOR_CONTACT.folder: (Fault.TERMINAL_RESISTIVE, (POOR_PIN,)),
    MIRRORED.folder: (Fault.MIRRORED, ()),
    LEADS_KEPT.folder: (Fault.LEADS, ()),
}


def view_of(out, story):
    raw = (data_folder() / "resources" / "variants" / f"{story.variant_key}.json").read_bytes()
    tell_into(out / story.folder, story, variant_raw=raw, create_job=create_job)
    return view_session(out / story.folder)


def explained(view, session=None):
    priors = read_priors((data_folder() / "resources" / "priors.json").read_bytes(), source="priors.json")
    return Explainer(view.variant, priors).explain(session or view.session)


@pytest.fixture(scope="module")
def views(tmp_path_factory) -> dict[str, object]:
    out: Path = tmp_path_factory.mktemp("explained")
    return {story.folder: view_of(out, story) for story in STORIES}


@pytest.fixture(scope="module")
def found(views):
    return {name: explained(view) for name, view in views.items()}


def readings(view):
    return [item.body for item in view.session.items if isinstance(item.body, Reading)]


@pytest.mark.parametrize("name", list(PLANTED))
def test_what_was_planted_comes_first(found, name):
    first = found[name].explanations[0]
    members = {(first.fault, first.where), *((place.fault, place.where) for place in first.same_as)}
    assert PLANTED[name] in members
    assert (first.fault, first.where) == PLANTED[name]
    assert first.p > found[name].explanations[1].p
    assert not found[name].is_strained


# The poor contact: 3 ohm before Heron, one of four coils on pin 8


def test_the_size_of_the_contact_is_the_truth_within_its_doubt(found):
    value = found[POOR_CONTACT.folder].explanations[0].value
    assert abs(value.value - POOR_OHM) <= 2 * value.u


def test_connector_against_own_terminals_is_the_contact(found):
    (between,) = found[POOR_CONTACT.folder].access
    assert (between.from_node, between.to_node, between.what) == ("2", "8", "inner conductor")
    assert abs(between.ohm - POOR_OHM) <= 2 * between.u
    assert between.is_seen


def test_without_the_terminals_coil_and_contact_are_one_answer(views):
    """Resistance at the connector alone cannot tell a high coil from a poor contact before it."""
    view = views[POOR_CONTACT.folder]
    assert view.session.entries[-1].body.at is AccessPoint.DEVICE_TERMINALS
    first = explained(view, fold(view.session.entries[:-1])).explanations[0]
    members = {(first.fault, first.where), *((place.fault, place.where) for place in first.same_as)}
    assert {(Fault.TERMINAL_RESISTIVE, (POOR_PIN,)), (Fault.VALUE_HIGH, ("Heron",))} <= members


def test_heron_fails_at_the_connector_and_passes_at_its_terminals(views):
    judged = views[POOR_CONTACT.folder].judged()
    assert judged.verdict is Verdict.FAIL
    assert [row.what for row in judged.failed()] == ["Heron"]
    at = {row.at: row.verdict for row in judged.rows if row.what == "Heron"}
    assert at == {"case_connector": Verdict.FAIL, "device_terminals": Verdict.PASS}


# The mirrored pins


def test_mirrored_pins_are_each_row_from_its_other_end():
    """By the file: twelve pins in two rows of six."""
    variant = read_variant(
        (data_folder() / "resources" / "variants" / "tern-body-2.json").read_bytes(), source="tern-body-2"
    )
    at = {(pin.x, pin.y): pin.name for pin in variant.pins}
    assert {at[x, y]: at[5 - x, y] for x, y in at} == dict(MIRRORED_PINS)


def test_each_mirrored_reading_is_what_lies_at_the_other_end(views):
    """Body 2: no wire joins the pins across from 1 and 2; across from 4 and 5 lie 3 and 2, Heron and Dunlin."""
    judged = views[MIRRORED.folder].judged()
    rows = {row.what: row for row in judged.rows}
    assert rows["Gull"].judgement.state is ItemState.OPEN
    assert rows["Curlew"].judgement.ohm_at_ref == pytest.approx(5.2 + 10.4, rel=0.03)
    assert judged.verdict is Verdict.FAIL
    assert len(judged.failed()) == 7


# Leads that were not nulled


def test_the_readings_claim_nulled_leads_and_are_a_third_of_an_ohm_too_high(views):
    view = views[LEADS_KEPT.folder]
    assert {reading.leads for reading in readings(view)} == {LeadState.NULLED}
    coils = [row for row in view.judged().rows if row.what in ("Gull", "Heron", "Curlew", "Whimbrel")]
    rest = [row.judgement.ohm_at_ref - 5.2 for row in coils]
    assert sum(rest) / 4 == pytest.approx(NOT_NULLED_METER.rest_ohm, abs=0.06)


def test_nobody_is_failed_for_the_leads(views):
    judged = views[LEADS_KEPT.folder].judged()
    assert judged.verdict is Verdict.CANT_TELL
    assert judged.failed() == ()
    assert judged.missing == ()


def test_the_program_asks_for_the_tips_together(found):
    ask = found[LEADS_KEPT.folder].next[0]
    assert (ask.what, ask.from_node, ask.to_node) == ("lead_short", None, None)


def test_the_rest_of_the_leads_is_the_truth_within_its_doubt(found):
    value = found[LEADS_KEPT.folder].explanations[0].value
    assert abs(value.value - NOT_NULLED_METER.rest_ohm) <= 2 * value.u
