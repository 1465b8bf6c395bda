"""Makes the presenters of the Job page for one open session and connects them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from valvebench.judge.session import SessionJudgement
from valvebench.model.meter import Check
from valvebench.model.words import AnchorKind
from valvebench.ui.job.after import AfterPresenter
from valvebench.ui.job.check import CheckPresenter
from valvebench.ui.job.exports import Tell
from valvebench.ui.job.finish import Finishing, FinishPresenter
from valvebench.ui.job.found import FoundPresenter, ReadsFiles
from valvebench.ui.job.hand import HandPresenter
from valvebench.ui.job.presenter import JobPresenter, SetUpTyped
from valvebench.ui.job.suspects import Suspects, SuspectsPresenter
from valvebench.ui.job.view import JobPage
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.resistor import nothing_remembered
from valvebench.ui.set_up import SetUp


def _nothing() -> Path | None:
    """No other session is compared."""
    return None


class JobServices(Finishing, ReadsFiles, Protocol):
    """What the Job page asks of the world."""


class Job:
    """The Job page of one open session, connected; `exporter` runs beside the worker that keeps entries."""

    def __init__(
        self,
        page: JobPage,
        keeper: Keeper,
        folder: Path,
        services: JobServices,
        *,
        runner: Runs,
        exporter: Runs,
        suspects: Suspects,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        closed: Callable[[], None],
        compared_with: Callable[[], Path | None] = _nothing,
        remembered: Callable[[], Check | None] = nothing_remembered,
    ) -> None:
        self.page, self._keeper, self._closed = page, keeper, closed
        self.check = CheckPresenter(
            page.check, keeper, set_up=self._set_up, changed=self._check_changed, remembered=remembered
        )
        self.job = JobPresenter(
            page, keeper, set_up=set_up, set_up_changed=set_up_changed, check_now=self.check.check_now
        )
        self.found = FoundPresenter(page.found, keeper, runner, services)
        self.after = AfterPresenter(page.after, keeper, kept=self._anchor_kept)
        self.suspects = SuspectsPresenter(page.suspects, keeper, suspects, corrected=self.job.show_job)
        self.finish = FinishPresenter(
            page.finish,
            keeper,
            folder,
            services,
            runner=runner,
            exporter=exporter,
            closed=self._has_closed,
            compared_with=compared_with,
        )
        self.hand = HandPresenter(page.hand, keeper, folder, services, exporter=exporter, given=self._head_given)
        page.workbook.set_text(str(folder.with_name(f"{folder.name}.xlsx")))
        _connect_page(page, self)
        _connect_finish(page, self.finish)
        _connect_hand(page, self)

    def _head_given(self, kind: AnchorKind) -> None:
        """The next thing to keep is to whom it went."""
        self.page.after.choose(kind.value)

    def _set_up(self) -> SetUp:
        return self.job.set_up

    def _check_changed(self) -> None:
        self.job.show_capability()

    def _anchor_kept(self) -> None:
        self.hand.refresh()

    def _has_closed(self) -> None:
        self.refresh()
        self._closed()

    def start(self) -> None:
        """Show everything."""
        self.job.start()
        self.suspects.refresh()
        self.check.start()
        self.finish.start()
        self.refresh()

    def refresh(self) -> None:
        """Show anew what other pages may have changed."""
        self.page.set_open(is_open=not self._keeper.desk.is_closed)
        self.job.refresh()
        self.found.refresh()
        self.after.refresh()
        self.hand.refresh()

    def show_set_up(self, set_up: SetUp) -> None:
        """Take up a set-up that was changed elsewhere."""
        self.job.show_set_up(set_up)

    def set_up_typed(self, typed: SetUpTyped) -> bool:
        """Take the form's set-up; whether all was right."""
        return self.job.set_up_typed(typed)

    def export_pictures(self, tell: Tell) -> None:
        """Draw the pictures as asked from another page, which hears what becomes of them."""
        self.finish.export_pictures(self.page.workbook.text(), tell)

    def show_in_folder(self, tell: Tell) -> None:
        """The folder of what was written last, as asked from another page, which hears why it cannot be."""
        self.finish.exports.show_in_folder(tell)

    def write_tag(self, ending: str) -> None:
        """The tag, beside the workbook."""
        self.hand.tag(ending, self.page.workbook.text())

    def write_claim(self, ending: str) -> None:
        """The claim page, beside the workbook."""
        self.hand.claim(ending, self.page.workbook.text())

    def show_judged(self, judged: SessionJudgement) -> None:
        """Where the session stands."""
        self.finish.show_judged(judged)


def _connect_page(page: JobPage, job: Job) -> None:
    page.set_up_typed.connect(job.set_up_typed)
    page.came_to_front.connect(job.refresh)
    page.came_to_front.connect(job.suspects.came_to_front)
    page.left.connect(job.suspects.left)
    page.suspects.complaint_changed.connect(job.suspects.complaint_changed)
    page.suspects.complaint_typed.connect(job.suspects.complaint_typed)
    page.undo_asked.connect(job.found.undo)
    page.redo_asked.connect(job.found.redo)
    page.found.fluid_typed.connect(job.found.fluid_typed)
    page.found.note_typed.connect(job.found.note_typed)
    page.found.photo_typed.connect(job.found.photo_typed)
    page.found.photo_named.connect(job.found.photo_named)
    page.found.taken_back.connect(job.found.take_back)
    page.check.typed.connect(job.check.typed)
    page.check.asked.connect(job.check.keep)
    page.after.outcome_typed.connect(job.after.outcome_typed)
    page.after.anchor_typed.connect(job.after.anchor_typed)


def _connect_hand(page: JobPage, job: Job) -> None:
    page.hand.tag_asked.connect(job.write_tag)
    page.hand.claim_asked.connect(job.write_claim)
    page.hand.mail_copied.connect(job.hand.copy_mail)
    page.hand.cancelled.connect(job.hand.exports.cancel)
    page.hand.ticked.connect(job.hand.exports.tick)
    page.hand.folder_asked.connect(job.hand.exports.show_in_folder)


def _connect_finish(page: JobPage, finish: FinishPresenter) -> None:
    page.finish.close_asked.connect(finish.close)
    page.finish.export_asked.connect(finish.export)
    page.finish.report_asked.connect(finish.export_report)
    page.finish.pictures_asked.connect(finish.export_pictures)
    page.finish.bundle_asked.connect(finish.export_bundle)
    page.finish.cancelled.connect(finish.exports.cancel)
    page.finish.ticked.connect(finish.exports.tick)
    page.finish.verify_asked.connect(finish.verify)
    page.finish.folder_asked.connect(finish.exports.show_in_folder)
    page.finish.head_copied.connect(finish.copy_head)
