"""Writes the order sheet of a part: as workbook, then as PDF.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from valvebench.bench.ordering import Which
from valvebench.bench.papers import Paper
from valvebench.ui.job.exports import Exporting, ExportPresenter, ExportView
from valvebench.ui.keeper import Runs

WAIT: Final = "Wait until it is worked out what the looks say, then ask again."
_AFTER: Final = {".xlsx": ".pdf"}


class OrderPresenter:
    """One sheet in two files beside the session; `which` is what was found of what counts now."""

    def __init__(
        self,
        view: ExportView,
        folder: Path,
        services: Exporting,
        exporter: Runs,
        *,
        which: Callable[[], Which | None],
        new_part: Callable[[], Path | None] = lambda: None,
    ) -> None:
        self._view, self._folder, self._which, self._new_part = view, folder, which, new_part
        self._said: Which | None = None
        self._words: list[str] = []
        self.exports = ExportPresenter(self, folder, services, exporter)

    def order(self) -> None:
        """Write both files; what they say is what was found now."""
        self._said = self._which()
        self._words = []
        if self._said is None:
            self._view.say(WAIT, is_problem=True)
            return
        self._write(".xlsx")

    def _write(self, ending: str) -> None:
        target = self._folder.with_name(f"{self._folder.name}-order{ending}")
        self.exports.paper(Paper.ORDER, target, which=self._said, new=self._new_part())

    # -- what the export says, handed on ---------------------------------------------------

    def show_busy(self, *, is_busy: bool) -> None:
        """A file is on its way."""
        self._view.show_busy(is_busy=is_busy)

    def show_written(self, path: Path | None) -> None:
        """One file is there: the next one follows."""
        self._view.show_written(path)
        ending = _AFTER.get(path.suffix) if path is not None else None
        if path is not None:
            self._words.append(path.name)
            self._view.say(f"Order sheet written: {' and '.join(self._words)}, in {path.parent}")
        if ending is not None:
            self._write(ending)

    def open_folder(self, folder: Path) -> bool:
        """Show where they are."""
        return self._view.open_folder(folder)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """Words of the export."""
        self._view.say(words, is_problem=is_problem)
