"""Three small invented variants and a session in memory, with the presenters of the Identify page."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from tests.fakes.writers import PICTURE
from tests.unit.diagnose.identify_library import FAULTS, PRIORS, feature, variant
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.identifying import Assumed, Identifying
from valvebench.model.entry import OpenJob
from valvebench.model.words import JobKind
from valvebench.ui.identify.presenter import Beside, IdentifyPresenter, IdentifyView
from valvebench.ui.keeper import Keeper

MARKS, EARS, CASTS = ("none", "dot", "bar"), ("three", "four"), ("star", "wave")
TABLE = {
    "knot": ("dot", "three", "star", "left"),
    "rail": ("bar", "four", "wave", "right"),
    "teal": ("none", "four", "star", "middle"),
}


def library():
    """Two of the four features must match."""
    return [
        variant(
            key,
            feature("plate mark", mark, MARKS, must_match=True),
            feature("ears", ears, EARS, must_match=True),
            feature("cast mark", cast, CASTS),
            feature("spigot", spigot, ("left", "middle", "right")),
        )
        for key, (mark, ears, cast, spigot) in TABLE.items()
    ]


class Files:
    """A picture, whatever is asked for."""

    def read_file(self, _: Path) -> bytes:
        return PICTURE


class Bench:
    """Desk, page and presenter of one session."""

    def __init__(self, *, kind=JobKind.COMPLAINT, variants=None, photo=lambda _: None) -> None:
        self._photo = photo
        first = first_line(OpenJob(session="s", job="T-1", kind=kind), at="2031-05-06T09:00:00.000Z", by="Ann")
        self.store = SessionStore(first)
        self.desk = Desk(self.store, clock=Clock())
        self.disk, self.thinker = HeldRunner(), HeldRunner()
        self.keeper = Keeper(self.desk, self.disk)
        self.view = create_autospec(IdentifyView, instance=True)
        self.read = 0
        self._variants = variants if variants is not None else library()
        self.page = IdentifyPresenter(
            self.view, self.keeper, Beside(self.thinker, self.disk), Files(), identifying=self._identifying
        )
        self.page.came_to_front()

    def _identifying(self):
        def variants():
            self.read += 1
            return self._variants

        return Identifying(variants=variants, assumed=lambda: Assumed(PRIORS, FAULTS), photo=self._photo)

    def answer(self, feature: str, value: str) -> None:
        """Go to a feature and give one of its answers."""
        self.page.choose(feature)
        self.page.answered(next(one.key for one in self.question.answers if one.value == value))

    @property
    def question(self):
        return self.view.show_question.call_args.args[0]

    @property
    def verdict(self):
        return self.view.show_verdict.call_args.args[0]

    @property
    def points(self):
        return self.view.show_points.call_args.args[1]

    @property
    def said(self):
        return self.view.say.call_args.args[0]

    @property
    def looks(self):
        return [item.body for item in self.desk.session.items_of("feature")]
