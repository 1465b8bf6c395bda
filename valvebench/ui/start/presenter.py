"""Decides what the Start page shows: new jobs of three kinds, recent sessions, what was dropped.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from valvebench.bench.desk import Desk
from valvebench.model.entry import Connector, OpenJob
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.numbers import decimal
from valvebench.model.words import JobKind
from valvebench.ui.services import Listed
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.start.drops import BUNDLE, JOURNAL, Dropped, Kind
from valvebench.ui.start.kinds import first_fields, more_fields

MOST_PINS, MOST_ROWS = 200, 20
_HEAD_DIGITS = 16
NO_NUMBER = "A job needs a number: it names the folder and stands on every report."
PHOTO_FIRST = "A photo belongs to a job: open or begin the job, then drop it again."
CLEARED = "The list is cleared. The sessions themselves lie where they were; pinned ones stay listed."
NONE_BEFORE = "No session was opened before, or none of them is still there."
FROM_BUNDLE = "{name}: as it was packed. Hold its head against the one you were given: {head}"
COMEBACK_FIELDS = ("serial", "customer", "vehicle", "part", "batch", "trim", "mark", "supplier")
COMEBACK = "Comeback of job {job}: filled in from it. Give the new job a number and say how it shifts now."
VARIANT_OF = "Variant of job {job}"
VARIANT_CHOSEN = "{name} is chosen as the variant of the new job."


@dataclass(frozen=True, kw_only=True)
class JobTyped:
    """The form of a new job as it stands, all text."""

    kind: JobKind = JobKind.COMPLAINT
    fields: Mapping[str, str] = field(default_factory=dict)
    variant: str = ""
    is_air_required: bool = False


@dataclass(frozen=True, kw_only=True)
class HandTyped:
    """A body without a variant as it was typed, all text."""

    job: str = ""
    pins: str = ""
    rows: str = ""
    has_case: bool = True


class StartView(Protocol):
    """What the presenter asks of the page."""

    def show_fields(self, first: Sequence[str], more: Sequence[str]) -> None: ...
    def show_problems(self, problems: Mapping[str, str]) -> None: ...
    def show_hand_problems(self, problems: Mapping[str, str]) -> None: ...
    def choose_kind(self, kind: JobKind) -> None: ...
    def fill_job(self, fields: Mapping[str, str]) -> None: ...
    def show_samples(self, samples: Sequence[Listed]) -> None: ...
    def forget_job(self) -> None: ...
    def forget_hand(self) -> None: ...
    def show_variants(self, variants: Sequence[Listed]) -> None: ...
    def choose_variant(self, path: Path, title: str) -> None: ...
    def show_recent(self, recent: Sequence[Listed], *, newest: Path | None) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class StartServices(Protocol):
    """What beginning a job asks of the world."""

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk: ...
    def open_desk(self, folder: Path, *, by: str | None = None) -> Desk: ...
    def take_in_bundle(self, file: Path, root: Path) -> Path: ...
    def work_on_sample(self, folder: Path, root: Path) -> Path: ...
    def sample_jobs(self) -> Sequence[Listed]: ...
    def variants(self) -> Sequence[Listed]: ...
    def own_variants(self, folder: str) -> Sequence[Listed]: ...
    def jobs_folder(self) -> Path: ...


class Runs(Protocol):
    """Runs work beside the window."""

    def run(
        self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None: ...


Work = Callable[[], tuple[Path, Desk]]


class StartPresenter:
    """The ways in; `open_with` runs work that ends in an open session, `back` goes to the one `at_hand`."""

    def __init__(
        self,
        view: StartView,
        services: StartServices,
        settings: SettingsHolder,
        runner: Runs,
        *,
        open_with: Callable[[Work], None],
        at_hand: Callable[[], Path | None] = lambda: None,
        back: Callable[[], None] = lambda: None,
        clock: Callable[[], datetime] = datetime.now,
    ) -> None:
        self._view, self._services, self._settings = view, services, settings
        self._runner, self._open_with, self._clock = runner, open_with, clock
        self._forget: Callable[[], None] = _nothing
        self._bundle = ""
        self._at_hand, self._back = at_hand, back
        self._there: frozenset[str] = frozenset()

    def start(self) -> None:
        """Fill the page; the user's own variants and the recent sessions are looked up beside the window."""
        self.kind_chosen(JobKind.COMPLAINT)
        self._view.show_samples(self._services.sample_jobs())
        self._view.show_variants(self._services.variants())
        folder = self._settings.now.variants_folder
        self._runner.run(lambda: self._services.own_variants(folder), done=self._view.show_variants, failed=self._fail)

    def refresh_recent(self) -> None:
        """Show the sessions opened last that are still there, newest first."""
        recent = self._settings.now.recent
        self._runner.run(
            lambda: frozenset(one.path for one in recent if (Path(one.path) / JOURNAL).is_file()),
            done=self._show_recent,
            failed=self._fail,
        )

    def _show_recent(self, there: frozenset[str]) -> None:
        self._settings.forget_missing(there)
        self._there = there
        recent = [one for one in self._settings.now.recent if one.path in there]
        newest = recent[0].path if recent else ""
        recent.sort(key=lambda one: not one.is_pinned)  # a stable order: newest first among each
        listed = [Listed(one.title, one.about, Path(one.path), one.is_pinned) for one in recent]
        self._view.show_recent(listed, newest=Path(newest) if newest else None)

    def last_asked(self) -> None:
        """Go on with the session opened last that is still there."""
        newest = next((one for one in self._settings.now.recent if one.path in self._there), None)
        if newest is None:
            self._view.say(NONE_BEFORE)
        else:
            self.open_asked(Path(newest.path))

    def pin_asked(self, path: Path, is_pinned: bool) -> None:  # noqa: FBT001  a signal's plain shape
        """Keep a session in the list, or let it go with the others."""
        self._settings.pin(str(path), is_pinned=is_pinned)
        self._show_recent(self._there)

    def clear_asked(self) -> None:
        """Forget the sessions that are not pinned."""
        self._settings.clear_recent()
        self._show_recent(self._there)
        self._view.say(CLEARED)

    def kind_chosen(self, kind: JobKind) -> None:
        """Ask only for what this kind of job needs."""
        self._view.show_fields(first_fields(kind), more_fields(kind))

    def job_asked(self, typed: JobTyped) -> None:
        """Begin a job, or say beside each field what is wrong."""
        job, problems = self._read(typed)
        self._view.show_problems(problems)
        if problems:
            return
        variant = Path(typed.variant) if typed.variant else None
        by = self._by()

        def work() -> tuple[Path, Desk]:
            folder = self._folder_of(job["job"])
            return folder, self._services.create_job(folder, job, variant=variant, by=by)

        self._view.say("")
        self._open(work, forget=self._view.forget_job)

    def _open(self, work: Work, *, forget: Callable[[], None] | None = None, bundle: str = "") -> None:
        """Run work that ends in an open session; `forget` empties the form, `bundle` names the file it came in."""
        self._forget, self._bundle = forget or _nothing, bundle
        self._open_with(work)

    def _folder_of(self, job: str) -> Path:
        return self._root() / folder_name(job)

    def _root(self) -> Path:
        """Where new jobs go, and copies of the sample jobs."""
        root = self._settings.now.jobs_folder
        return Path(root) if root else self._services.jobs_folder()

    def hand_asked(self, typed: HandTyped) -> None:
        """Begin a bench check of a body without a variant; its connector is the first thing kept."""
        pins, rows = _count(typed.pins, most=MOST_PINS), _count(typed.rows or "2", most=MOST_ROWS)
        problems = {} if typed.job else {"job": NO_NUMBER}
        problems |= {} if pins else {"pins": f"1 to {MOST_PINS}"}
        problems |= {} if rows else {"rows": f"1 to {MOST_ROWS}"}
        self._view.show_hand_problems(problems)
        if pins is None or rows is None or problems:
            return
        job, by = {"job": typed.job, "kind": JobKind.BENCH_CHECK.value}, self._by()
        connector = Connector(pins=pins, rows=min(rows, pins), case=typed.has_case)

        def work() -> tuple[Path, Desk]:
            folder = self._folder_of(typed.job)
            desk = self._services.create_job(folder, job, by=by)
            try:
                desk.record(connector)
            except BaseException:
                desk.release()
                raise
            return folder, desk

        self._view.say("")
        self._open(work, forget=self._view.forget_hand)

    def opened(self, head: str = "") -> str:
        """A session stands open: what was typed for it would be wrong for the next one; what there is to say of it."""
        forget, bundle = self._forget, self._bundle
        self._forget, self._bundle = _nothing, ""
        forget()
        number, _, digits = head.partition(":")
        return FROM_BUNDLE.format(name=bundle, head=f"{number}:{digits[:_HEAD_DIGITS]}") if bundle else ""

    def check_with(self, path: Path) -> None:
        """A bench check with a variant that was saved just now."""
        self._view.choose_kind(JobKind.BENCH_CHECK)
        self.kind_chosen(JobKind.BENCH_CHECK)
        self._view.choose_variant(path, path.stem)
        self._view.say(VARIANT_CHOSEN.format(name=path.name))

    def comeback_of(self, job: OpenJob, variant: Path | None) -> None:
        """A new job as comeback of an earlier one: what tells part and vehicle apart is filled in, all can be changed.

        `variant` is the variant file as the earlier job froze it.
        """
        kind = JobKind.BENCH_CHECK if job.kind is JobKind.BENCH_CHECK else JobKind.COMPLAINT
        self._view.choose_kind(kind)
        self.kind_chosen(kind)
        known = {name: getattr(job, name) or "" for name in COMEBACK_FIELDS}
        self._view.fill_job({**known, "comeback_of": job.job})
        if variant is not None:
            self._view.choose_variant(variant, VARIANT_OF.format(job=job.job))
        self._view.say(COMEBACK.format(job=job.job))

    def _read(self, typed: JobTyped) -> tuple[dict[str, Any], dict[str, str]]:
        asked = {*first_fields(typed.kind), *more_fields(typed.kind)}
        job: dict[str, Any] = {name: text for name, text in typed.fields.items() if text and name in asked}
        problems: dict[str, str] = {}
        if "odometer_km" in job:
            _read_km(job, problems)
        if typed.kind is JobKind.ENQUIRY:
            job["job"] = enquiry_number(self._clock())
        elif "job" not in job:
            problems["job"] = NO_NUMBER
        if typed.is_air_required:
            job["require_air"] = True
        return job | {"kind": typed.kind.value}, problems

    def _by(self) -> str | None:
        return self._settings.now.by or None

    def open_asked(self, folder: Path) -> None:
        """Open a session for work, a bundle as a new session of one's own; the one at hand is only gone back to."""
        if folder.suffix.lower() == BUNDLE and not folder.is_dir():
            self.bundle_asked(folder)
            return
        at_hand = self._at_hand()
        if at_hand is not None and at_hand.absolute() == folder.absolute():
            self._back()
            return
        by = self._by()
        self._settings.change(last_folder=str(folder.parent))
        self._open(lambda: (folder, self._services.open_desk(folder, by=by)))

    def bundle_asked(self, file: Path) -> None:
        """Open a session that was sent as one file, in a new folder among the jobs."""
        by = self._by()
        self._settings.change(last_folder=str(file.parent))

        def work() -> tuple[Path, Desk]:
            folder = self._services.take_in_bundle(file, self._root())
            return folder, self._services.open_desk(folder, by=by)

        self._open(work, bundle=file.name)

    def sample_asked(self, sample: Path) -> None:
        """Work on a fresh copy of a sample job."""
        by = self._by()

        def work() -> tuple[Path, Desk]:
            copy = self._services.work_on_sample(sample, self._root())
            return copy, self._services.open_desk(copy, by=by)

        self._open(work)

    def variant_chosen(self, path: Path) -> None:
        """Take a variant file from anywhere for the new job."""
        self._settings.change(last_folder=str(path.parent))
        self._view.choose_variant(path, path.name)
        self._view.say(VARIANT_CHOSEN.format(name=path.name))

    def dropped(self, thing: Dropped) -> None:
        """Take what was dropped on the page, or say why not."""
        if thing.kind is Kind.SESSION:
            self.open_asked(thing.path)
        elif thing.kind is Kind.BUNDLE:
            self.bundle_asked(thing.path)
        elif thing.kind is Kind.VARIANT:
            self.variant_chosen(thing.path)
        else:
            self._view.say(thing.why or PHOTO_FIRST, is_problem=True)

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(str(error), is_problem=True)


def _read_km(job: dict[str, Any], problems: dict[str, str]) -> None:
    try:
        job["odometer_km"] = decimal(job["odometer_km"], where="odometer")
    except BadInput as error:
        problems["odometer_km"] = error.problems[0].text()


def _count(text: str, *, most: int) -> int | None:
    """A whole number from 1; None for anything else."""
    return int(text) if text.isdecimal() and text.isascii() and 1 <= int(text) <= most else None


def enquiry_number(now: datetime) -> str:
    """What a session without a name is called: the moment it was begun."""
    return f"E-{now:%Y%m%d-%H%M%S}"


def folder_name(job: str) -> str:
    """A folder name from a job number: letters, digits and hyphens."""
    kept = "".join(sign if sign.isalnum() else "-" for sign in job).strip("-")[:80]
    return f"job-{kept}" if kept else "job"


def _nothing() -> None:
    """No form was used."""
