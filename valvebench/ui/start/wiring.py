"""Connects the Start page with its presenter."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from valvebench.ui.settings import SettingsHolder
from valvebench.ui.start.presenter import Runs, StartPresenter, StartServices, Work
from valvebench.ui.start.view import StartPage

if TYPE_CHECKING:
    from valvebench.bench.view import SessionView


class Start:
    """Page and presenter of the ways in, connected."""

    def __init__(
        self,
        services: StartServices,
        settings: SettingsHolder,
        runner: Runs,
        *,
        open_with: Callable[[Work], None],
        at_hand: Callable[[], Path | None],
        back: Callable[[], None],
    ) -> None:
        self.page = StartPage()
        self.presenter = StartPresenter(
            self.page, services, settings, runner, open_with=open_with, at_hand=at_hand, back=back
        )
        connect(self.page, self.presenter)
        self.page.back_asked.connect(back)
        self.presenter.start()

    def come_to_front(self, words: str, *, job: str | None) -> None:
        """Show recent sessions anew, the way back to the job at hand, and what went wrong."""
        self.presenter.refresh_recent()
        self.page.show_back(f"Back to job {job}" if job is not None else "")
        self.page.say(words, is_problem=bool(words))

    def opened(self, head: str) -> str:
        """A session with this head stands open; what there is to say of it."""
        return self.presenter.opened(head)

    def begin_comeback(self, folder: Path, view: SessionView) -> None:
        """A new job as comeback of the session in a folder."""
        sha256 = view.session.job.variant
        self.presenter.comeback_of(view.session.job, folder / "blobs" / sha256 if sha256 is not None else None)
        self.page.begin()

    def check_with(self, path: Path) -> None:
        """A bench check with a variant that was saved just now."""
        self.presenter.check_with(path)
        self.page.begin()


def connect(page: StartPage, presenter: StartPresenter) -> None:
    """Every signal of the page to what it asks for; settings and keys are left to the window."""
    page.open_asked.connect(presenter.open_asked)
    page.last_asked.connect(presenter.last_asked)
    page.open.pinned.connect(presenter.pin_asked)
    page.open.clear_asked.connect(presenter.clear_asked)
    page.sample_asked.connect(presenter.sample_asked)
    page.job_asked.connect(presenter.job_asked)
    page.hand_asked.connect(presenter.hand_asked)
    page.kind_chosen.connect(presenter.kind_chosen)
    page.variant_chosen.connect(presenter.variant_chosen)
