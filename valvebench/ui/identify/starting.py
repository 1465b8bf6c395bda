"""Begins a job from what was seen: with the confirmed variant, or from an enquiry without one.  No Qt.

It is always a new session.  A variant is frozen in the first entry and the job's number names the folder, so to give
the present session either would mean to change evidence; its looks are carried over instead, each saying where and by
whom it was first kept, and how it was seen stays as it was.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

from valvebench.bench.desk import Desk
from valvebench.model.errors import BenchError
from valvebench.model.variant import Variant
from valvebench.model.words import JobKind
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.start.presenter import NO_NUMBER, folder_name

WITH_IT: Final = "A new job, {title} frozen in it. This session stays as it is; its looks are carried over."
WITHOUT: Final = (
    "A new job without a variant, for none is confirmed. This enquiry stays as it is; its looks are carried over."
)
NOT_YET: Final = "Only a confirmed variant can be used. What is lacking stands beside the bars."
STARTING: Final = "Beginning the job \u2026"


class StartTyped(NamedTuple):
    """The fields as they stand."""

    job: str = ""
    customer: str = ""
    vehicle: str = ""


class StartView(Protocol):
    """What the presenter asks of the card."""

    def show_can(self, words: str, *, can: bool) -> None: ...
    def say_start(self, words: str, *, is_problem: bool = False) -> None: ...


class MakesJobs(Protocol):
    """What beginning a job asks of the world."""

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk: ...
    def file_of_variant(self, variant: Variant, own_folder: str) -> Path: ...
    def jobs_folder(self) -> Path: ...


class Opens(NamedTuple):
    """Who makes it beside the window, and who takes the open session."""

    runner: Runs
    opened: Callable[[Path, Desk], None]


class StartingPresenter:
    """`confirmed` is the variant that may be used now, None where there is none."""

    def __init__(
        self,
        view: StartView,
        keeper: Keeper,
        services: MakesJobs,
        settings: SettingsHolder,
        opens: Opens,
        *,
        confirmed: Callable[[], Variant | None],
    ) -> None:
        self._view, self._keeper, self._services, self._settings = view, keeper, services, settings
        self._runner, self._opened = opens
        self._confirmed = confirmed

    def refresh(self) -> None:
        """What a job begun now would have."""
        variant = self._confirmed()
        words = WITH_IT.format(title=variant.title) if variant is not None else WITHOUT if self._may_do_without else ""
        self._view.show_can(words or NOT_YET, can=bool(words))

    @property
    def _may_do_without(self) -> bool:
        return self._keeper.desk.job.kind is JobKind.ENQUIRY

    def start(self, typed: StartTyped) -> None:
        """Begin it, and work on it."""
        variant = self._confirmed()
        if variant is None and not self._may_do_without:
            self._view.say_start(NOT_YET, is_problem=True)
            return
        if not typed.job:
            self._view.say_start(NO_NUMBER, is_problem=True)
            return
        kind = JobKind.COMPLAINT if typed.vehicle else JobKind.BENCH_CHECK
        job = {name: text for name, text in typed._asdict().items() if text} | {"kind": kind.value}
        settings = self._settings.now
        root = Path(settings.jobs_folder) if settings.jobs_folder else self._services.jobs_folder()
        folder = root / folder_name(typed.job)
        self._view.say_start(STARTING)
        self._runner.run(
            lambda: self._made(folder, job, variant, settings.variants_folder, settings.by or None),
            done=lambda desk: self._opened(folder, desk),
            failed=self._failed,
        )

    def _made(self, folder: Path, job: Mapping[str, Any], variant: Variant | None, own: str, by: str | None) -> Desk:
        from valvebench.bench.carrying import carried_from, carry_into

        carried = carried_from(self._keeper.desk)
        path = self._services.file_of_variant(variant, own) if variant is not None else None
        desk = self._services.create_job(folder, job, variant=path, by=by)
        try:
            carry_into(desk, carried)
        except BaseException:
            desk.release()
            raise
        return desk

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say_start(str(error), is_problem=True)
