"""The demo jobs of readings that want an explanation: a poor contact, pins counted mirrored, leads kept."""

from __future__ import annotations

from datetime import UTC, datetime
from types import MappingProxyType
from typing import Final

from valvebench.bench.demo_bench import (
    AT_REST,
    CUSTOMER,
    LINEAR,
    MUST_MATCH,
    OTHER_SOLENOIDS,
    SENSOR,
    complaint,
    not_nulled,
    taped,
)
from valvebench.bench.story import Story, Telling
from valvebench.model.entry import FluidFound, Note
from valvebench.model.words import AccessPoint
from valvebench.simulate import quillon
from valvebench.simulate.taking import ReadPair, pairs_at

_COMMON_PIN: Final = (("1", "8"), ("2", "8"), ("3", "8"), ("4", "case"), ("5", "8"))
_ISOLATED: Final = (("1", "case"), ("6", "case"))
_PLATE_OFF: Final = "Heron is high, its neighbours on pin 8 are not. Plate lifted to reach the tabs of its winding."


def _tell_poor_contact(story: Telling) -> None:
    story.say(FluidFound(colour="amber", smell="none", level="on the mark", debris="none"))
    story.wait(30)
    story.do(*pairs_at(22.0, _COMMON_PIN))
    story.do(ReadPair(from_node="6", to_node="7", celsius=22.0, celsius_accuracy=0.5, note="in a still bath of oil"))
    story.do(*pairs_at(22.0, _ISOLATED))
    story.say(Note(text=_PLATE_OFF))
    story.wait(10)
    own = ("Heron.1", "Heron.2")
    story.do(ReadPair(from_node=own[0], to_node=own[1], celsius=22.0, at=AccessPoint.DEVICE_TERMINALS))


def _tell_mirrored(story: Telling) -> None:
    story.look_at(MUST_MATCH)
    story.wait(20)
    story.do(*pairs_at(22.6, [*LINEAR, *OTHER_SOLENOIDS, *SENSOR, *AT_REST]))


def _tell_leads_kept(story: Telling) -> None:
    story.look_at(MUST_MATCH)
    story.wait(15)
    story.do(*pairs_at(21.7, [*LINEAR, *OTHER_SOLENOIDS, *SENSOR, *AT_REST]))


POOR_CONTACT: Final = Story(
    folder="2224-poor-contact",
    about="four coils on one pin, Heron fails at the connector and is good at its own terminals, open: Fail",
    begins=datetime(2026, 3, 10, 8, 20, tzinfo=UTC),
    set_up=taped,
    body=quillon.poor_contact_body,
    tell=_tell_poor_contact,
    # a contact that is poor at rest is poor hot and cold
    job=complaint(
        "2224",
        vehicle="Harbour shuttle 3",
        odometer_km=246870.0,
        part="QT-1",
        serial="0302-61",
        when="always",
        feel="flare",
    ),
    variant_key="tern-body-1",
)
MIRRORED: Final = Story(
    folder="2225-pins-mirrored",
    about="a sound body whose pins were counted from the wrong side, open: six solenoids fail, with one cause",
    begins=datetime(2026, 3, 10, 13, 45, tzinfo=UTC),
    set_up=taped,
    body=quillon.mirrored_body,
    tell=_tell_mirrored,
    job=complaint("2225", vehicle="Harbour shuttle 8", odometer_km=141300.0, serial="0420-18", feel="bump"),
)
LEADS_KEPT: Final = Story(
    folder="2226-leads-not-nulled",
    about="every coil a third of an ohm high, open: Can't tell, and next come the tips held together",
    begins=datetime(2026, 3, 11, 8, 30, tzinfo=UTC),
    set_up=not_nulled,
    body=quillon.leads_body,
    tell=_tell_leads_kept,
    job=MappingProxyType(
        {"job": "2226", "kind": "bench_check", "customer": CUSTOMER, "part": "QT-2", "serial": "0419-66"}
    ),
)
