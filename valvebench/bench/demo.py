"""The demo jobs: invented complaints, bodies, days and readings, made through the use cases."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Final

from valvebench.bench.demo_air import NEW_AIR, OLD_AIR
from valvebench.bench.demo_bench import (
    AT_REST,
    BODY_PORTS,
    CUSTOMER,
    LINEAR,
    MUST_MATCH,
    OTHER_SOLENOIDS,
    SENSOR,
    SUPPLIER,
    complaint,
    from_the_drawer,
    sensor_in_oil,
    taped,
)
from valvebench.bench.demo_enquiry import ENQUIRY
from valvebench.bench.demo_explain import LEADS_KEPT, MIRRORED, POOR_CONTACT
from valvebench.bench.demo_heat import OPENING, RAMP_ONLY, ROUNDS
from valvebench.bench.story import JobMaker, Story, Telling, tell_into
from valvebench.model.entry import Anchor, Connector, FluidFound, Note, Outcome
from valvebench.model.words import AnchorKind, Comeback
from valvebench.simulate import quillon
from valvebench.simulate.taking import BlowPort, ClickSolenoid, ReadCheck, ReadPair, TrySwitch, pairs_at

README_NAME: Final = "README.txt"
README_HEAD: Final = """\
Demo jobs of valvebench. Everything in them is invented: the shop, the gearbox family Quillon Tern,
names, serials, times and every number. No reading was taken on a real part, and no limit is one of a
real part.

"""
README_TAIL: Final = """
To work on one, copy its folder first. To make them again, remove the folders, then:
python -m valvebench demo --out sample_sessions
"""
PLATEAUS_CELSIUS: Final = (41.0, 58.0, 74.0, 88.0)
_LEAK: Final = "P7"


def _tell_mid_work(story: Telling) -> None:
    grey = "grey paste on the magnet"
    story.say(FluidFound(colour="dark amber", smell="a little burnt", level="on the mark", debris=grey))
    story.look_at(MUST_MATCH)
    story.wait(45)
    story.do(*pairs_at(23.1, [*LINEAR[:1], *SENSOR, ("1", "case"), ("4", "case"), ("8", "6")]))
    story.do(*pairs_at(23.1, [("9", "case"), ("8", "case"), ("4", "5")]))


def _tell_spare(story: Telling) -> None:
    story.look_at((*MUST_MATCH, "passage beside P4", "solenoid caps"))
    story.wait(30)
    story.do(ReadCheck(check_ohm=5.0), *pairs_at(22.4, [*LINEAR, *OTHER_SOLENOIDS]))
    story.do(sensor_in_oil(22.4), *pairs_at(22.4, AT_REST))
    story.wait(5)
    story.do(*(ClickSolenoid(device=name) for name in ("Plover", "Dunlin", "Knot")))
    story.do(*(BlowPort(port=port) for port in BODY_PORTS))
    story.do(TrySwitch(device="Reel", kpa_gauge=250.0), TrySwitch(device="Rill", kpa_gauge=250.0))
    story.close()
    story.say(Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="the shop's shelf"))
    story.wait(40 * 24 * 60)
    story.say(Outcome(fitted=True, comeback=Comeback.NO, months=1.0))


def _tell_hot(story: Telling) -> None:
    story.say(FluidFound(colour="amber", smell="none", level="on the mark", debris="none"))
    story.look_at((*MUST_MATCH, "passage beside P4"))
    story.wait(40)
    story.do(*pairs_at(23.2, [*LINEAR, *OTHER_SOLENOIDS]), sensor_in_oil(23.2), *pairs_at(23.2, AT_REST))
    story.say(Note(text="Cold, nothing fails. Warming on the hot plate, dry of solvent, probe taped to the can."))
    story.wait(30)
    gull, heron, curlew, whimbrel = pairs_at(PLATEAUS_CELSIUS[0], LINEAR)
    story.do(gull, heron)
    story.mistype(curlew)
    story.do(whimbrel)
    for celsius in PLATEAUS_CELSIUS[1:]:
        story.wait(30)
        story.do(*pairs_at(celsius, LINEAR))
    story.wait(60)
    hiss = {_LEAK: "steady hiss at the end plug"}
    story.do(*(BlowPort(port=port, note=hiss.get(port)) for port in BODY_PORTS))
    story.close()
    story.say(Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to=CUSTOMER), Outcome(fitted=False))


def _tell_undecided(story: Telling) -> None:
    story.look_at(MUST_MATCH)
    story.wait(20)
    slipped = story.do(ReadPair(from_node="1", to_node="case", celsius=21.5, note="something felt loose"))
    story.take_back(slipped, "a clip had slipped off the case")
    story.do(*pairs_at(21.5, [*LINEAR, *OTHER_SOLENOIDS, *SENSOR, *AT_REST]))


def _tell_without_limits(story: Telling) -> None:
    story.say(Note(text="No limits at hand: old and new body are read with one meter within two hours."))
    story.wait(10)
    story.do(*pairs_at(22.3, [*LINEAR, *OTHER_SOLENOIDS]), *pairs_at(22.3, AT_REST[2:3]))


def _tell_unknown(story: Telling) -> None:
    story.say(Note(text="Quillon Tern, body unknown: no plate, no mark, nobody has a file of it."))
    story.say(Connector(pins=len(quillon.UNKNOWN_PINS)))
    story.wait(10)
    story.walk_over(celsius=22.0)


MID_WORK: Final = Story(
    folder="2217-in-work",
    about="half done, open: Plover fails, Fluid can't be told, Heron comes next",
    begins=datetime(2026, 3, 2, 8, 5, tzinfo=UTC),
    set_up=taped,
    body=quillon.mid_work_body,
    tell=_tell_mid_work,
    job=complaint(
        "2217", vehicle="Harbour shuttle 7", odometer_km=184210.0, serial="0418-77", trim="T-31", feel="bump"
    ),
)
SPARE: Final = Story(
    folder="2218-healthy-spare",
    about="a healthy spare body, closed: Pass, with one solenoid without limit",
    begins=datetime(2026, 3, 2, 13, 0, tzinfo=UTC),
    set_up=taped,
    body=quillon.spare_body,
    tell=_tell_spare,
    job=MappingProxyType(
        {
            "job": "2218",
            "kind": "bench_check",
            "customer": "stock",
            "part": "QT-2-B",
            "batch": "B-114",
            "serial": "0502-13",
            "trim": "T-29",
            "mark": "green dot beside the connector",
            "supplier": SUPPLIER,
        }
    ),
)
HOT: Final = Story(
    folder="2219-grows-with-heat",
    about="a contact of Heron that grows with heat, and a leaking port, closed: Fail",
    begins=datetime(2026, 3, 3, 7, 30, tzinfo=UTC),
    set_up=taped,
    body=quillon.hot_contact_body,
    tell=_tell_hot,
    job=complaint(
        "2219", vehicle="Harbour shuttle 4", odometer_km=201655.0, serial="0418-52", trim="T-30", feel="late"
    ),
)
UNDECIDED: Final = Story(
    folder="2220-meter-cannot-decide",
    about="a healthy body read with a 0.1 ohm meter, open: Can't tell, with advice",
    begins=datetime(2026, 3, 4, 9, 10, tzinfo=UTC),
    set_up=from_the_drawer,
    body=quillon.sound_body,
    tell=_tell_undecided,
    job=MappingProxyType(
        {"job": "2220", "kind": "bench_check", "customer": CUSTOMER, "part": "QT-2", "serial": "0417-09"}
    ),
)
UNKNOWN: Final = Story(
    folder="2230-body-unknown",
    about="a body nobody has a file of, its wiring found with a 0.1 ohm meter: names are asked for",
    begins=datetime(2026, 3, 5, 8, 40, tzinfo=UTC),
    set_up=from_the_drawer,
    body=quillon.unknown_body,
    tell=_tell_unknown,
    has_variant=False,
    job=MappingProxyType({"job": "2230", "kind": "bench_check", "customer": CUSTOMER, "serial": "0391-20"}),
)
OLD_BODY: Final = Story(
    folder="2231-old-body",
    about="an old body without variant or limits, to be compared with 2232-new-body: one solenoid differs",
    begins=datetime(2026, 3, 5, 13, 30, tzinfo=UTC),
    set_up=taped,
    body=quillon.worn_body,
    tell=_tell_without_limits,
    job=complaint("2231", vehicle="Harbour shuttle 9", odometer_km=228410.0, serial="0411-30", feel="harsh"),
    has_variant=False,
)
NEW_BODY: Final = Story(
    folder="2232-new-body",
    about="a new spare body without variant or limits, read an hour after 2231-old-body with the same meter",
    begins=datetime(2026, 3, 5, 14, 20, tzinfo=UTC),
    set_up=taped,
    body=quillon.new_body,
    tell=_tell_without_limits,
    job=MappingProxyType(
        {"job": "2232", "kind": "bench_check", "customer": "stock", "part": "QT-2", "serial": "0511-02"}
    ),
    has_variant=False,
)
STORIES: Final = (
    *(MID_WORK, SPARE, HOT, UNDECIDED),
    *(ROUNDS, OPENING, RAMP_ONLY),
    *(POOR_CONTACT, MIRRORED, LEADS_KEPT),
    *(UNKNOWN, OLD_BODY, NEW_BODY),
    *(OLD_AIR, NEW_AIR),
    ENQUIRY,
)
"""In the order of their names: the first is the one a new user sees."""
VARIANT_KEYS: Final = tuple(sorted({story.variant_key for story in STORIES}))


def build_demo(
    out: Path, *, variants: Mapping[str, bytes], create_job: JobMaker, save: Callable[[Path, bytes], None]
) -> tuple[Path, ...]:
    """Make the demo jobs below `out` and return their folders (raises BadInput where one stands already).

    `variants` holds the file of each variant in `VARIANT_KEYS`.
    """
    for story in STORIES:
        tell_into(out / story.folder, story, variant_raw=variants[story.variant_key], create_job=create_job)
    lines = "".join(f"{story.folder:<26}{story.about}\n" for story in STORIES)
    save(out / README_NAME, (README_HEAD + lines + README_TAIL).encode())
    return tuple(out / story.folder for story in STORIES)
