"""Decides what the meter check says: what it would change, before it is kept.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Protocol

from valvebench.judge.rows import check_of
from valvebench.model.entry import Entry, MeterCheck
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.meter import Check
from valvebench.model.numbers import decimal
from valvebench.model.words import CASE
from valvebench.ui.job.capability import with_check_words
from valvebench.ui.job.numbers import typed_number
from valvebench.ui.keeper import Keeper
from valvebench.ui.resistor import nothing_remembered
from valvebench.ui.set_up import SetUp

ASKED = "A resistor you know well, near the value of the windings, read with the same leads and range."
REMEMBERED = "Its value is remembered from an earlier job: type over it if it is another one."
UNFINISHED = "Type the resistor's value and what the meter shows for it."


@dataclass(frozen=True, kw_only=True)
class CheckTyped:
    """The form as it stands, all text: ohm, ohm, ohm, percent."""

    check_ohm: str = ""
    read_ohm: str = ""
    zero_read_ohm: str = ""
    check_pct: str = ""


class CheckView(Protocol):
    """What the presenter asks of the card."""

    def show_problems(self, problems: Mapping[str, str]) -> None: ...
    def show_effect(self, words: str) -> None: ...
    def show_resistor(self, ohm: str, pct: str) -> None: ...
    def clear(self) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class CheckPresenter:
    """The meter check of one open session; `set_up` tells what is measured with now."""

    def __init__(
        self,
        view: CheckView,
        keeper: Keeper,
        *,
        set_up: Callable[[], SetUp],
        changed: Callable[[], None],
        remembered: Callable[[], Check | None] = nothing_remembered,
    ) -> None:
        self._view, self._keeper, self._set_up, self._changed = view, keeper, set_up, changed
        self._remembered = remembered

    def start(self) -> None:
        """Say what a meter check is; the resistor on the bench stands in the form, and it is said why."""
        known = self._remembered()
        if known is None or self._keeper.desk.is_closed:
            self._view.show_effect(ASKED)
            return
        self._view.show_resistor(f"{known.ohm:.10g}", f"{known.pct:.10g}")
        self._view.show_effect(f"{ASKED} {REMEMBERED}")

    def check_now(self) -> Check | None:
        """The check that serves a reading taken with the present set-up."""
        book = self._keeper.book
        return book.check_for(self._set_up().reading("1", CASE, ohm=1.0)) if book is not None else None

    def typed(self, typed: CheckTyped) -> None:
        """Say while typing what this check would do to "can this meter decide"."""
        body, problems = self._read(typed)
        if not typed.zero_read_ohm:
            problems.pop("zero_read_ohm", None)  # not typed yet is no fault; keeping asks for it
        self._view.show_problems(problems)
        if body is not None:
            variant, set_up = self._keeper.desk.variant, self._set_up()
            self._view.show_effect(with_check_words(variant, set_up, now=self.check_now(), then=check_of(body)))
        elif not problems:
            self._view.show_effect(ASKED)

    def keep(self, typed: CheckTyped) -> None:
        """Keep the check; it serves every reading with this meter until meter or leads change."""
        body, problems = self._read(typed)
        self._view.show_problems(problems)
        if body is None:
            if not problems:
                self._view.say(UNFINISHED, is_problem=True)
            return
        self._keeper.keep(body, kept=lambda entry, _: self._kept(entry), failed=self._fail)

    def _kept(self, entry: Entry) -> None:
        self._view.clear()
        self._view.say(f"Kept as entry {entry.n}. It serves until meter or leads change.")
        self._changed()

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(f"Not saved: {error} What you typed still stands here.", is_problem=True)

    def _read(self, typed: CheckTyped) -> tuple[MeterCheck | None, dict[str, str]]:
        """The entry, or what is wrong; neither while the form is unfinished."""
        problems: dict[str, str] = {}
        values = {name: _value(name, getattr(typed, name), problems) for name in CheckTyped.__dataclass_fields__}
        if problems or values["check_ohm"] is None or values["read_ohm"] is None:
            return None, problems
        try:
            return self._set_up().meter_check(**values), {}
        except BadInput as error:
            is_missing = values["zero_read_ohm"] is None and (values["check_ohm"] or 0.0) > 0
            return None, _beside(error, is_zero_missing=is_missing)


def _value(name: str, text: str, problems: dict[str, str]) -> float | None:
    if not text:
        return None
    try:
        return decimal(text, where="tolerance") if name == "check_pct" else typed_number(text)
    except BadInput as error:
        problems[name] = error.problems[0].text()
        return None


_FIELD_OF: Final = MappingProxyType({"check-ohm": "check_ohm", "check-read": "read_ohm", "check_pct": "check_pct"})


def _beside(error: BadInput, *, is_zero_missing: bool) -> dict[str, str]:
    """The problems of an entry, each beside a field of the form."""
    found: dict[str, str] = {}
    for problem in error.problems:
        name = _FIELD_OF.get(problem.where, "read_ohm")
        is_tips = name == "check_ohm" and is_zero_missing
        found.setdefault("zero_read_ohm" if is_tips else name, problem.text())
    return found
