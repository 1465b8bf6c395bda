"""What the readings say so far, worked out beside the window; only the newest answer counts.  No Qt."""

from __future__ import annotations

from collections.abc import Callable

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import PROGRAM
from valvebench.bench.leak_take import Looked, Taken, look_at
from valvebench.model.errors import BenchError
from valvebench.model.variant import Variant
from valvebench.model.words import Rule
from valvebench.ui.keeper import Runs


class Looking:
    """One look at a time that anybody waits for."""

    def __init__(
        self,
        reader: Runs,
        files: AirFiles,
        variant: Variant | None,
        *,
        looked: Callable[[Looked], None],
        refused: Callable[[BenchError], None],
    ) -> None:
        self._reader, self._files, self._variant = reader, files, variant
        self._tell_looked, self._tell_refused = looked, refused
        self._stamp = 0
        self.is_busy = False
        self.found: Looked | None = None

    def forget(self) -> None:
        """What was on its way is not wanted any more."""
        self._stamp += 1
        self.is_busy, self.found = False, None

    def ask(self, taken: Taken, rule: Rule | None) -> None:
        """Look at what stands there now."""
        self.forget()
        self.is_busy = True
        stamp, variant, files = self._stamp, self._variant, self._files
        self._reader.run(
            lambda: look_at(taken, variant, files, program=PROGRAM, rule=rule),
            done=lambda looked: self._done(stamp, looked),
            failed=lambda error: self._failed(stamp, error),
        )

    def _done(self, stamp: int, looked: Looked) -> None:
        if stamp == self._stamp:
            self.is_busy, self.found = False, looked
            self._tell_looked(looked)

    def _failed(self, stamp: int, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        if stamp == self._stamp:
            self.is_busy = False
            self._tell_refused(error)
