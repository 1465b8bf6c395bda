"""Decides how kept sessions are judged anew: which rule, which sessions, and what came of it.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple, Protocol

from valvebench.bench.archived import Again, Names, Rejudged, Step
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.numbers import decimal
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Rule, Verdict
from valvebench.ui.archive.long_work import BusyView, LongWork
from valvebench.ui.archive.presenter import since_of
from valvebench.ui.archive.reach import NoArchive, Reach, Runs

CLOSING: Final = "The rule each was closed with"
NOTHING_ASKED: Final = "Choose another rule, or a device and its limits: else nothing would be judged otherwise."
WHOLE_BAND: Final = "A corrected band needs its device and at least one limit."
UNCHANGED: Final = "{sessions} and {readings} judged anew: none comes out otherwise."
CHANGED: Final = "{sessions} and {readings} judged anew: {changed} come out otherwise."
BESIDE: Final = (
    "Kept as judgement {run} beside what each session was closed with; both stand with the session under Find."
)
_MOST_TOLD: Final = 3


class AgainTyped(NamedTuple):
    """The form as it stands, all text; `device` is the place of a device among those listed."""

    rule: str = ""
    variant: str = ""
    device: str = ""
    low: str = ""
    high: str = ""
    since: str = ""
    why: str = ""


class ChangedRow(NamedTuple):
    """How many sessions changed from one verdict to another."""

    old: Verdict
    new: Verdict
    sessions: int

    @property
    def cells(self) -> tuple[str, ...]:
        """As the table shows them."""
        return VERDICT_TEXT[self.old], VERDICT_TEXT[self.new], str(self.sessions)


class AgainView(BusyView, Protocol):
    """What the presenter asks of this part."""

    def show_names(self, names: Names) -> None:
        """Variants and devices to choose from."""
        ...

    def show_problems(self, problems: dict[str, str]) -> None:
        """What is wrong, beside each field."""
        ...

    def show_changed(self, rows: Sequence[ChangedRow]) -> None:
        """From what to what, and how many."""
        ...


class AgainPresenter:
    """One run at a time; stopped in the middle, nothing of it counts."""

    def __init__(self, view: AgainView, reach: Reach, *, runner: Runs, worker: Runs) -> None:
        self._view, self._reach, self._runner = view, reach, runner
        self._names = Names((), ())
        self.work = LongWork(view, worker)

    def refresh(self) -> None:
        """What can be chosen, looked up beside the window."""
        self._runner.run(lambda: self._reach.archive().names(), done=self._named, failed=_told_when_asked)

    def _named(self, names: Names) -> None:
        if names != self._names:
            self._names = names
            self._view.show_names(names)

    def asked(self, typed: AgainTyped) -> None:
        """Judge every matching session anew."""
        again, problems = self._read(typed)
        self._view.show_problems(problems)
        if problems or again is None:
            return
        if again.rule is None and again.device is None:
            self._view.say(NOTHING_ASKED, is_problem=True)
            return
        self._view.show_changed(())
        self.work.begin("Judging anew", "sessions", lambda step: self._rejudge(again, step), self._judged)

    def _rejudge(self, again: Again, step: Step) -> Rejudged | None:
        return self._reach.archive().rejudge(again, step=step)

    def _read(self, typed: AgainTyped) -> tuple[Again | None, dict[str, str]]:
        problems: dict[str, str] = {}
        low, high = (_ohm(name, text, problems) for name, text in (("low", typed.low), ("high", typed.high)))
        since, words = since_of(typed.since)
        problems |= {"since": words} if words else {}
        is_named = typed.device.isdecimal() and int(typed.device) < len(self._names.devices)
        device = self._names.devices[int(typed.device)] if is_named else None
        has_limit = low is not None or high is not None
        if not problems and has_limit != (device is not None):
            problems["device"] = WHOLE_BAND
        variant = device.variant if device is not None else typed.variant or None
        if problems:
            return None, problems
        return Again(
            rule=Rule(typed.rule) if typed.rule else None,
            variant=variant,
            device=device.device if device is not None else None,
            low_ohm=low,
            high_ohm=high,
            since=since,
            why=typed.why.strip(),
        ), problems

    def _judged(self, found: Rejudged) -> None:
        self._view.show_changed([ChangedRow(*one) for one in found.changed])
        count = sum(one[2] for one in found.changed)
        readings = "1 reading" if found.readings == 1 else f"{found.readings} readings"
        sessions = "1 session" if found.sessions == 1 else f"{found.sessions} sessions"
        words = (CHANGED if count else UNCHANGED).format(sessions=sessions, readings=readings, changed=count)
        told = "".join(f" Job {job} could not be judged anew: {why}" for job, why in found.not_judged[:_MOST_TOLD])
        self._view.say(f"{words} {BESIDE.format(run=found.run)}{told}", is_problem=bool(found.not_judged))


def rule_choices() -> tuple[tuple[str, str], ...]:
    """Rules to choose from: the word that stands for each, and its text."""
    return ("", CLOSING), *((rule.value, RULE_TEXT[rule]) for rule in Rule)


def _ohm(name: str, text: str, problems: dict[str, str]) -> float | None:
    if not text.strip():
        return None
    try:
        return decimal(text, where=name)
    except BadInput as error:
        problems[name] = error.problems[0].text()
        return None


def _told_when_asked(error: Exception) -> None:
    """Where there is no archive, or it cannot be read, it is said when something is judged."""
    if not isinstance(error, (BenchError, NoArchive)):
        raise error
