"""What the Archive page shows, as words.  No Qt."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.bench.archived import Fate, Linked, Listed, OpenListed, OutcomeTold, Shown
from valvebench.model.words import VERDICT_TEXT, Verdict

FATE_WORDS: Final = MappingProxyType(
    {
        Fate.COMEBACK_HOT: "Came back, fault when hot",
        Fate.COMEBACK_COLD: "Came back, fault when cold",
        Fate.NO_COMEBACK: "No comeback",
        Fate.FITTED: "Fitted",
        Fate.NOT_FITTED: "Not fitted",
    }
)
VERDICTS: Final = (Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_FINISHED, Verdict.NO_LIMIT)
"""What a session can be closed with."""
_LINK_WORDS: Final = MappingProxyType(
    {
        "came_back_as": "Came back as",
        "comeback_of": "Comeback of",
        "revised_by": "Revised by",
        "revises": "Revises",
    }
)
STATE_WORDS: Final = MappingProxyType(
    {"open": "Open", "closed": "Closed, not in the archive yet", "gone": "Open when it was last seen, now gone"}
)


class FoundRow(NamedTuple):
    """One line of the list: a kept session by its identity, or an open one by its folder."""

    id: str
    path: Path | None
    job: str
    when: str
    about: str
    fate: str
    verdict: Verdict | None
    is_gone: bool = False

    @property
    def cells(self) -> tuple[str, ...]:
        """As the table shows them; the last one is the mark."""
        return self.job, self.when, _joined((self.about, self.fate)), ""


class Told(NamedTuple):
    """One line about the chosen session."""

    about: str
    what: str


class Link(NamedTuple):
    """Another session that belongs to the chosen one: its words, and how to find it."""

    words: str
    id: str


class SessionTold(NamedTuple):
    """Everything beside the list."""

    title: str
    verdict: Verdict
    lines: tuple[Told, ...]
    links: tuple[Link, ...]
    problem: str


def day(at: str) -> str:
    """The day of a moment as kept, in UTC."""
    return at[:10]


def found_row(one: Listed) -> FoundRow:
    """A kept session as a line."""
    about = _joined((one.serial, one.part, one.customer, one.variant))
    fate = FATE_WORDS[one.outcome] if one.outcome is not None else ""
    revised = "revised" if one.is_revised else ""
    return FoundRow(one.id, None, one.job, day(one.closed_at), about, _joined((fate, revised)), one.verdict)


def open_row(one: OpenListed) -> FoundRow:
    """A session that is not closed, as a line."""
    entries = "1 entry" if one.entries == 1 else f"{one.entries} entries"
    words = STATE_WORDS[one.state]
    return FoundRow(
        "", one.path, one.job, "not closed", f"{entries} \u00b7 {one.path}", words, None, one.state == "gone"
    )


def _joined(parts: Iterable[str | None]) -> str:
    return " \u00b7 ".join(part for part in parts if part)


def told_of(shown: Shown) -> SessionTold:
    """A kept session with all that the archive says of it."""
    one = shown.session
    named = (
        ("Serial", one.serial),
        ("Part number", one.part),
        ("Customer", one.customer),
        ("Variant", one.variant),
        ("Closed", f"{day(one.closed_at)} with {VERDICT_TEXT[one.verdict]}"),
        ("Since then", outcome_words(shown.outcome)),
        *(("Judged anew", f"{day(j.at)}: {VERDICT_TEXT[j.verdict]} ({j.what})") for j in shown.judgements),
        ("Evidence", _evidence(shown)),
        ("Head", shown.head[: shown.head.find(":") + 17]),
    )
    lines = tuple(Told(about, what) for about, what in named if what)
    links = tuple(Link(_link_words(link), link.id) for link in shown.links)
    problem = f"Not as it was written: {shown.problems[0].what}." if shown.problems else ""
    return SessionTold(f"Job {one.job}", one.verdict, lines, links, problem)


def outcome_words(told: OutcomeTold | None) -> str:
    """What became of the part."""
    if told is None:
        return "nothing was said of the part"
    fate = FATE_WORDS[told.fate] if told.fate is not None else ""
    months = f"after {told.months:g} month{'' if told.months == 1 else 's'}" if told.months is not None else ""
    kilometres = f"at {told.odometer_km:g} km" if told.odometer_km is not None else ""
    return ", ".join(part for part in (fate, months, kilometres) if part)


def _evidence(shown: Shown) -> str:
    if shown.problems:
        return f"{len(shown.problems)} thing{'s are' if len(shown.problems) > 1 else ' is'} not as written"
    after = f", {shown.tail} after closing" if shown.tail else ""
    files = f", {len(shown.files)} file{'' if len(shown.files) == 1 else 's'}" if shown.files else ""
    return f"as it was written: {shown.entries} entries{after}{files}"


def _link_words(link: Linked) -> str:
    why = f" ({link.why})" if link.why else ""
    return f"{_LINK_WORDS[link.how]} job {link.job}, closed {day(link.closed_at)}{why}"
