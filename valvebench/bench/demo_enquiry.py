"""The demo enquiry: a voice on the telephone, two variants left, and what to look at.  All invented."""

from __future__ import annotations

from datetime import UTC, datetime
from types import MappingProxyType

from valvebench.bench.demo_bench import from_the_drawer
from valvebench.bench.story import Story, Telling
from valvebench.diagnose.identified import CANNOT_SEE
from valvebench.model.entry import FeatureSeen, Note
from valvebench.model.words import Seen
from valvebench.simulate import quillon

TOLD = (("level check", "overflow"), ("solenoid caps", "black"), ("plate mark", CANNOT_SEE))
"""Told by phone, in this order: pans and solenoids get exchanged, and the plate lies under oil."""


def _tell(story: Telling) -> None:
    for name, value in TOLD:
        story.say(FeatureSeen(name=name, value=value, seen=Seen.PHONE))
    story.say(Note(text="Calls again once the pan is off. Nothing is ordered before the connector was looked at."))


ENQUIRY = Story(
    folder="2240-enquiry-by-phone",
    about="an enquiry by telephone, open: two variants are left, and what to look at is named",
    begins=datetime(2026, 3, 11, 10, 15, tzinfo=UTC),
    set_up=from_the_drawer,
    body=quillon.sound_body,
    tell=_tell,
    has_variant=False,
    job=MappingProxyType({"job": "E-20260311-101500", "kind": "enquiry"}),
)
