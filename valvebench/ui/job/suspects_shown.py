"""What the card of suspects shows, as plain frozen facts and as text.  No Qt, nothing is weighed here."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from valvebench.bench.suspecting import Suspicion
from valvebench.diagnose.suspected import FLUID_KEY, State, Suspect, Test
from valvebench.diagnose.suspects_shift import forward_gears
from valvebench.diagnose.suspects_words import NO_CHANCE, STATE_TEXT, changes_lines
from valvebench.model.entry import OpenJob
from valvebench.model.variant import Variant
from valvebench.ui.findings.shown import page_of

TITLE: Final = "What changes in that shift and what to test first"
WORKING: Final = "Working it out \u2026"
JOB_PAGE: Final = "Job"
PINS_PAGE: Final = "Pins"
FLEX_KEY: Final = "flex "
NOT_OPEN: Final = "The session is closed: its complaint stays as it is."
BLANK: Final = "\u2026"
Taken = tuple[str, str | None]
"""The key of an item that has a result, and its access point."""
FEW: Final = 5
"""Lines that stand before the others are asked for."""


@dataclass(frozen=True, kw_only=True)
class ComplaintShown:
    """The complaint with its blanks, and the words to pick a shift from."""

    shift: str
    when: str
    feel: str
    shifts: tuple[str, ...]
    is_open: bool


@dataclass(frozen=True, kw_only=True)
class SuspectShown:
    """One line: what, its state, why, the test that comes next and where it is done; no page where there is none."""

    number: int
    what: str
    state: str
    stands_out: bool
    why: str
    test: str
    page: str = ""
    key: str = ""

    @property
    def lead(self) -> str:
        """The words of its button."""
        if self.key == FLUID_KEY:
            return "Keep what was found"
        name = self.key.partition(" ")[2]
        where = "Flex" if self.key.startswith(FLEX_KEY) else self.page
        return f"{name} on {where}"


@dataclass(frozen=True, kw_only=True)
class SuspectsShown:
    """The whole card."""

    changes: tuple[str, ...]
    rows: tuple[SuspectShown, ...]
    elsewhere: str = ""
    small: tuple[str, ...] = ()

    def text(self) -> str:
        """Everything as plain lines."""
        lines = [TITLE, *self.changes]
        lines += [f"{row.number}. {row.what} ({row.state.lower()}): {row.why} Next: {row.test}" for row in self.rows]
        return "\n".join([*lines, *([self.elsewhere] if self.elsewhere else []), *self.small])


def shifts_of(variant: Variant | None) -> tuple[str, ...]:
    """Shifts to pick from, as the variant has gears; without one the usual ones of the start page."""
    from valvebench.ui.start.kinds import SHIFTS

    if variant is None or not variant.gears:
        return SHIFTS
    gears = forward_gears(variant)
    up = [f"{low}-{high}" for low, high in pairwise(gears)]
    down = [f"{high}-{low}" for low, high in reversed(list(pairwise(gears)))]
    lever = [f"{a}-{b}" for a, b in (("N", "D"), ("N", "R"), ("P", "R")) if a in variant.gears]
    return (*up, *down, *lever, *(["lock-up"] if "lock-up" in variant.gears else []))


def complaint_shown(job: OpenJob, variant: Variant | None, *, is_open: bool) -> ComplaintShown:
    """The complaint as it stands now."""
    return ComplaintShown(
        shift=job.shift or "", when=job.when or "", feel=job.feel or "", shifts=shifts_of(variant), is_open=is_open
    )


def sentence(shift: str, when: str, feel: str) -> str:
    """The complaint as a sentence with blanks; it is read while it is typed."""
    return f"On {shift or BLANK}, {when or BLANK}, it feels like: {feel or BLANK}."


def suspects_shown(found: Suspicion, *, taken: Collection[Taken]) -> SuspectsShown:
    """The card; `taken` are the items that have a result, so that each line leads to what comes next."""
    left = found.understood.left
    suspected = found.suspected
    if suspected is None:
        return SuspectsShown(changes=left, rows=())
    lines = changes_lines(suspected.changes, suspected.steers)
    others = [line for line in suspected.cant_tell if line not in suspected.changes.cant_tell]
    elsewhere = "; ".join(suspected.elsewhere)
    return SuspectsShown(
        changes=(*lines, *others, *left),
        rows=tuple(_row(number, one, taken) for number, one in enumerate(suspected.suspects, start=1)),
        elsewhere=f"Failed too, with no part in this shift: {elsewhere}." if elsewhere else "",
        small=(NO_CHANCE,),
    )


def _row(number: int, one: Suspect, taken: Collection[Taken]) -> SuspectShown:
    test = _next(one, taken)
    key = test.key or ""
    return SuspectShown(
        number=number,
        what=one.what,
        state=STATE_TEXT[one.state],
        stands_out=one.state is State.POINTS_AT_IT,
        why=" ".join(one.why),
        test=_test_words(one.tests[0], test),
        page=_page(key),
        key=key,
    )


def _next(one: Suspect, taken: Collection[Taken]) -> Test:
    """The first test whose item has no result; where all have one, or none has a place, the first."""
    return next((test for test in one.tests if test.key is not None and not _is_taken(test, taken)), one.tests[0])


def _test_words(first: Test, test: Test) -> str:
    """What is done without the program stays in front of what it leads to."""
    if first.key is None and first is not test:
        return f"{_ended(first.words)} Then: {_ended(test.words)}"
    return _ended(test.words)


def _ended(words: str) -> str:
    return words if words.endswith("?") else f"{words}."


def _is_taken(test: Test, taken: Collection[Taken]) -> bool:
    """A port is asked for several settings, and a flexed pair says what it is."""
    key, at = test.key or "", test.at.value if test.at is not None else None
    own = [place for other, place in taken if other == key or other.startswith((f"{key} (", f"{key},"))]
    return bool(own) if at is None else at in own


def _page(key: str) -> str:
    if not key:
        return ""
    return JOB_PAGE if key == FLUID_KEY else PINS_PAGE if key.startswith(FLEX_KEY) else page_of(key)
