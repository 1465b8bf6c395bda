"""Tell a story into a session through the use cases a person has, the same bytes every time."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final, Protocol

import msgspec

from valvebench.bench.demo_log import runs_of
from valvebench.bench.desk import Desk
from valvebench.bench.part_in_hand import found_in
from valvebench.bench.ports import Clock
from valvebench.model.air_tests import LeakTest, SweepTest
from valvebench.model.entry import AnyBody, Entry, FeatureSeen, Note, Reading
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.simulate.body import TrueBody
from valvebench.simulate.seed import dice
from valvebench.simulate.taking import ReadPair, SetUp, Step, carry_out
from valvebench.simulate.warming import Logger, Warming

VARIANT_KEY: Final = "tern-body-2"
WHO: Final = "demo"
INVENTED: Final = "Invented demo: the shop, the gearbox, every name and every number of this job are made up."
_PACE_S: Final = 25.0


class JobMaker(Protocol):
    """Makes a session folder and opens it."""

    def __call__(
        self, folder: Path, job: Mapping[str, Any], *, variant_raw: bytes | None, by: str | None, clock: Clock | None
    ) -> Desk:
        """The new job's desk."""
        ...


class StoryClock:
    """A clock that stands where the story is."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def now(self) -> str:
        """The story's moment, RFC 3339 in UTC."""
        return self.at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


@dataclass(frozen=True, kw_only=True)
class Story:
    """One demo job: its folder, a line about it, what came in and when, the bench, and what was done.

    `variant_key` names the variant file.  Without a variant the job knows nothing of its body; the
    variant still tells what is wired in it.
    """

    folder: str
    about: str
    job: Mapping[str, Any]
    begins: datetime
    set_up: Callable[[TrueBody], SetUp]
    body: Callable[[Variant], TrueBody]
    tell: Callable[[Telling], None]
    has_variant: bool = True
    variant_key: str = VARIANT_KEY


class Telling:
    """A story being written into a session; time moves on with every entry."""

    def __init__(self, desk: Desk, *, clock: StoryClock, set_up: SetUp, chance_name: str) -> None:
        self._desk, self._clock, self._set_up = desk, clock, set_up
        self._chance = dice(chance_name)

    def wait(self, minutes: float) -> None:
        """Nothing happens."""
        self._clock.at += timedelta(minutes=minutes)

    def say(self, *bodies: AnyBody) -> None:
        """Record bodies a minute apart."""
        for body in bodies:
            self.wait(1)
            self._desk.record(body)

    def do(self, *steps: Step) -> Entry:
        """Carry out steps on the simulated body and record them; returns the last entry."""
        start = self._clock.at + timedelta(seconds=_PACE_S)
        for at, body in carry_out(self._set_up, steps, start=start, pace_s=_PACE_S, chance=self._chance):
            self._clock.at = at
            entry = self._desk.record(body)
        return entry

    def walk_over(self, *, celsius: float) -> None:
        """Read what the finder asks for until the wiring is found; `celsius` is the true coil temperature."""
        while steps := found_in(self._desk.session, None).wiring.next:
            self.do(ReadPair(from_node=steps[0].black, to_node=steps[0].red, celsius=celsius))

    def look_at(self, names: Iterable[str]) -> None:
        """Features that look as the variant says."""
        for name in names:
            self.say(FeatureSeen(name=name, value=_looks(self._set_up.body.variant, name)))

    def mistype(self, step: ReadPair) -> None:
        """Read a pair, leave out the decimal point, notice and correct it."""
        self.wait(0.5)
        (timed,) = carry_out(self._set_up, [step], start=self._clock.at, pace_s=_PACE_S, chance=self._chance)
        body = timed.body
        if not isinstance(body, Reading) or body.ohm is None:
            raise TypeError("only a value can be mistyped")
        entry = self._desk.record(msgspec.structs.replace(body, ohm=float(round(100 * body.ohm))))
        self.wait(0.5)
        self._desk.correct(entry.n, {"ohm": body.ohm}, "the decimal point was left out")

    def watch(self, logger: Logger, warming: Warming, pairs: Mapping[str, tuple[str, str]], *, file_name: str) -> None:
        """Warm the body with a logger on it, keep its file, and record what it says of each device."""
        logged = logger.watch(self._set_up.body, warming, pairs, self._chance)
        self._clock.at += timedelta(seconds=logged.t_s[-1] - logged.t_s[0])
        for body in runs_of(logged, logger.meter, self._set_up.body.variant, file_name=file_name):
            self.wait(1)
            self._desk.record_with(logged.csv(), body)

    @property
    def variant(self) -> Variant:
        """What is on the bench."""
        return self._set_up.body.variant

    def keep(self, raw: bytes, body: LeakTest | SweepTest) -> None:
        """Keep a file, then the entry with what was found in it."""
        self.wait(2)
        self._desk.record_with(raw, body)

    def take_back(self, entry: Entry, why: str) -> None:
        """Withdraw an entry."""
        self.wait(1)
        self._desk.withdraw(entry.n, why)

    def close(self) -> None:
        """Close the session."""
        self.wait(3)
        self._desk.close()


def _looks(variant: Variant, name: str) -> str:
    return next(f.this for f in variant.features if f.name == name and f.this is not None)


def tell_into(folder: Path, story: Story, *, variant_raw: bytes, create_job: JobMaker) -> None:
    """Make the session of a story (raises BadInput where one stands already)."""
    clock = StoryClock(story.begins)
    set_up = story.set_up(story.body(read_variant(variant_raw, source="variant")))
    job = {"session": _session_id(story.folder), **story.job}
    known = variant_raw if story.has_variant else None
    desk = create_job(folder, job, variant_raw=known, by=WHO, clock=clock)
    try:
        telling = Telling(desk, clock=clock, set_up=set_up, chance_name=story.folder)
        telling.say(Note(text=INVENTED))
        story.tell(telling)
    finally:
        desk.release()


def _session_id(name: str) -> str:
    """The same identity in every build of the demo."""
    return hashlib.sha256(f"valvebench demo {name}".encode()).hexdigest()[:32]
