"""Decides how workbook, pictures and bundle leave the program: beside the window, with a way out.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol

from valvebench.bench.evidence import Bundled
from valvebench.bench.papers import Paper
from valvebench.model.errors import BenchError, WorldFailed
from valvebench.model.words import Rule
from valvebench.ui.keeper import Runs
from valvebench.ui.start.drops import as_path

if TYPE_CHECKING:
    from valvebench.bench.ordering import Which

WORKBOOK: Final = "workbook"
PICTURES: Final = "pictures"
BUNDLE: Final = "bundle"
NOUNS: Final = {Paper.REPORT: "report", Paper.CLAIM: "claim page", Paper.ORDER: "order sheet", Paper.TAG: "tag"}
CANCELLED: Final = {
    noun: f"Export cancelled; no {noun} {'were' if noun == PICTURES else 'was'} written."
    for noun in (WORKBOOK, PICTURES, BUNDLE, *NOUNS.values())
}
WAIT: Final = "Wait until the other export is written, or cancel it on the Job page."
EXPORT_KEY: Final = "Ctrl+Shift+E"
FOLDER_KEY: Final = "Ctrl+Shift+F"
STOPS: Final = f"{EXPORT_KEY} stops it."
SHOWS: Final = f"{FOLDER_KEY} shows the folder"
GIVE_HEAD: Final = "Give the head by another way than the file."
NONE_WRITTEN: Final = f"No pictures were written yet; {EXPORT_KEY} writes them."
"""For a page without the buttons of the Job page."""

Step = Callable[[str], bool]
Tell = Callable[[str, bool], None]
"""Words, and whether they tell of a problem."""


class ExportView(Protocol):
    """What the presenter asks of the card."""

    def show_busy(self, *, is_busy: bool) -> None: ...
    def show_written(self, path: Path | None) -> None: ...
    def open_folder(self, folder: Path) -> bool: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Exporting(Protocol):
    """What an export asks of the world."""

    def write_workbook(
        self,
        folder: Path,
        target: Path,
        *,
        rule: Rule | None = None,
        step: Step | None = None,
        compare: Path | None = None,
    ) -> bool: ...
    def write_pictures(self, folder: Path, root: Path, *, step: Step | None = None) -> Path | None: ...
    def write_bundle(self, folder: Path, target: Path, *, step: Step | None = None) -> Bundled | None: ...
    def write_paper(
        self,
        folder: Path,
        paper: Paper,
        target: Path,
        *,
        step: Step | None = None,
        which: Which | None = None,
        new: Path | None = None,
    ) -> bool: ...


class Export:
    """One workbook or set of pictures on its way: where it stands, and whether it is still wanted.

    The worker writes `words`, the window reads it; neither waits for the other.
    """

    def __init__(self, noun: str, target: Path, tell: Tell | None = None, *, then: str = "") -> None:
        self.noun, self.target, self.tell, self.then = noun, target, tell, then
        self.words, self.is_wanted, self.ticks = "Reading the session", True, 0

    def step(self, words: str) -> bool:
        """Called by the worker before each step; whether to go on."""
        self.words = words
        return self.is_wanted


class ExportPresenter:
    """One export at a time; `exporter` runs beside the worker that keeps entries."""

    def __init__(
        self,
        view: ExportView,
        folder: Path,
        services: Exporting,
        exporter: Runs,
        *,
        compared_with: Callable[[], Path | None] = lambda: None,
    ) -> None:
        self._view, self._folder, self._services, self._exporter = view, folder, services, exporter
        self._compared_with = compared_with
        self._export: Export | None = None
        self._folder_written: Path | None = None

    def workbook(self, typed: str) -> None:
        """Write the workbook under the name that was typed."""
        export, other = Export(WORKBOOK, as_path(typed)), self._compared_with()

        def work() -> Path | None:
            write = self._services.write_workbook
            is_written = write(self._folder, export.target, step=export.step, compare=other)
            return export.target if is_written else None

        self._begin(export, work)

    def pictures(self, workbook: str, tell: Tell | None = None) -> None:
        """Draw the pictures into a new folder beside the workbook; asked again from where it was asked, stop."""
        if tell is not None and self._export is not None and self._export.tell is not None:
            self.cancel()
            return
        export = Export(PICTURES, as_path(workbook).parent, tell)
        self._begin(export, lambda: self._services.write_pictures(self._folder, export.target, step=export.step))

    def paper(
        self, paper: Paper, target: Path, *, then: str = "", which: Which | None = None, new: Path | None = None
    ) -> None:
        """Print a paper into a file; `then` says what to do with it.

        For an order sheet `which` is what an identification said, `new` the session of the new part.
        """
        export = Export(NOUNS[paper], target, then=then)

        def work() -> Path | None:
            write = self._services.write_paper
            is_written = write(self._folder, paper, target, step=export.step, which=which, new=new)
            return target if is_written else None

        self._begin(export, work)

    def bundle(self, workbook: str) -> None:
        """Write the whole session as one file for sending, beside the workbook."""
        target = as_path(workbook).with_name(f"{self._folder.name}.zip")
        export = Export(BUNDLE, target, then=GIVE_HEAD)

        def work() -> Path | None:
            made = self._services.write_bundle(self._folder, export.target, step=export.step)
            return made.path if made is not None else None

        self._begin(export, work)

    def _begin(self, export: Export, work: Callable[[], Path | None]) -> None:
        if self._export is not None:
            if export.tell is not None:
                export.tell(WAIT, True)
            return
        self._export = export
        self._view.show_written(None)
        self._view.show_busy(is_busy=True)
        self._tell(export, f"Writing the {export.noun} \u2026")
        self._exporter.run(
            work,
            done=lambda path: self._exported(export, path),
            failed=lambda error: self._not_exported(export, error),
        )

    def _tell(self, export: Export, words: str) -> None:
        """That it is under way; a page without buttons for it is told the key that stops it."""
        self._say(export, words, told=f"{words} {STOPS}")

    def _say(self, export: Export, words: str, *, told: str = "", is_problem: bool = False) -> None:
        """On the card, and in one short line where it was asked."""
        self._view.say(words, is_problem=is_problem)
        if export.tell is not None:
            export.tell(told or words, is_problem)

    def tick(self) -> None:
        """A second of waiting has passed: say where the export stands."""
        if self._export is not None:
            self._export.ticks += 1
            export = self._export
            self._tell(export, f"Writing the {export.noun}: {export.words}, {export.ticks} s \u2026")

    def cancel(self) -> None:
        """Stop waiting; nothing is written under its name."""
        if self._export is not None:
            self._export.is_wanted = False
            self._end(self._export, CANCELLED[self._export.noun])

    def _end(self, export: Export, words: str, *, told: str = "", is_problem: bool = False) -> None:
        self._export = None
        self._view.show_busy(is_busy=False)
        self._say(export, words, told=told, is_problem=is_problem)

    def _exported(self, export: Export, path: Path | None) -> None:
        if path is None:
            return
        if export is not self._export:  # it was being put in place when the person cancelled
            it = "they" if export.noun == PICTURES else "it"
            self._view.say(f"The {export.noun} had been written before {it} could be cancelled: {path}")
            return
        self._folder_written = path if export.noun == PICTURES else path.parent
        words = f"{export.noun.capitalize()} written to {path}"
        said = f"{words}. {export.then}" if export.then else words
        self._end(export, said, told=f"Pictures written. {SHOWS} {path.name}")
        self._view.show_written(path)

    def _not_exported(self, export: Export, error: Exception) -> None:
        if export is self._export:
            self._end(export, failure_words(error), is_problem=True)

    def show_in_folder(self, tell: Tell | None = None) -> None:
        """Open the folder that holds the workbook, or the folder of the pictures; `tell` hears why it cannot be."""
        if self._folder_written is None:
            words = NONE_WRITTEN
        elif self._view.open_folder(self._folder_written):
            return
        else:
            words = no_folders(self._folder_written)
        if tell is not None:
            tell(words, True)


def no_folders(folder: Path) -> str:
    """Where to look when nothing here can show it."""
    return f"No program here shows folders. What was written is in {folder}"


def failure_words(error: Exception) -> str:
    """What went wrong and that nothing is lost; a fault of ours is raised on."""
    if not isinstance(error, BenchError):
        raise error
    return f"{error} Nothing that was kept is lost." if isinstance(error, WorldFailed) else str(error)
