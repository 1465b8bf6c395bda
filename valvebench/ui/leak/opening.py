"""Takes in a file in place of typed readings: read beside the window, refused with its message.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from valvebench.bench.air_log import AirFiles
from valvebench.bench.heat_find import LogFile
from valvebench.model.errors import BenchError
from valvebench.model.leak import LeakMethod
from valvebench.ui.keeper import Runs
from valvebench.ui.leak.sheets import Sheet


class Opening:
    """Each file for the sheet that was in front when it was named."""

    def __init__(
        self,
        reader: Runs,
        files: AirFiles,
        *,
        came: Callable[[Sheet, str], None],
        refused: Callable[[BenchError], None],
    ) -> None:
        self._reader, self._files = reader, files
        self._came, self._refused = came, refused

    def open(self, path: Path, sheet: Sheet) -> None:
        """Read a file."""
        method = sheet.readings.method
        self._reader.run(
            lambda: self._read(path, method), done=lambda file: self._has_read(sheet, file), failed=self._failed
        )

    def _read(self, path: Path, method: LeakMethod) -> LogFile:
        """The file, looked through once so that it is refused at the door where it cannot be used."""
        files, raw = self._files, self._files.bytes_of(path)
        of = {LeakMethod.STEADY: files.steady_of, LeakMethod.VACUUM: files.vacuum_of, LeakMethod.DECAY: files.decay_of}
        of[method](raw, source=path.name)
        return LogFile(raw, path.name)

    def _has_read(self, sheet: Sheet, file: LogFile) -> None:
        sheet.file = file
        self._came(sheet, file.name)

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._refused(error)
