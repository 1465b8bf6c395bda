"""Faults of ours: into a log file that turns over, and into one quiet line of the window.

Three ways a fault can surface: an exception in a slot, one in another thread, a message of Qt itself.
"""

from __future__ import annotations

import logging
import sys
import threading
import traceback
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Final

from PySide6.QtCore import QMessageLogContext, QObject, QtMsgType, Signal, Slot, qInstallMessageHandler

from valvebench.model.errors import BenchError

LOG_NAME: Final = "valvebench.log"
_LARGEST_BYTES: Final = 500_000
_KEPT_LOGS: Final = 3
_SERIOUS: Final = frozenset({QtMsgType.QtCriticalMsg, QtMsgType.QtFatalMsg})

ExceptHook = Callable[[type[BaseException], BaseException, TracebackType | None], object]


class Log:
    """The log file; opened at the first line, and never a reason to stop."""

    def __init__(self, folder: Callable[[], Path]) -> None:
        self._folder = folder
        self._handler: logging.Handler | None = None
        self.path: Path | None = None

    def write(self, text: str) -> None:
        """Add to the file; where that cannot be, the fault is still shown in the window."""
        try:
            handler = self._handler or self._open()
        except (OSError, BenchError):
            return
        handler.emit(logging.makeLogRecord({"levelno": logging.ERROR, "levelname": "ERROR", "msg": text, "args": ()}))

    def _open(self) -> logging.Handler:
        # This module of the library brings a dozen others: only where something has gone wrong.
        from logging.handlers import RotatingFileHandler

        folder = self._folder()
        folder.mkdir(parents=True, exist_ok=True)
        self.path = folder / LOG_NAME
        made = RotatingFileHandler(
            self.path, maxBytes=_LARGEST_BYTES, backupCount=_KEPT_LOGS, encoding="utf-8", errors="backslashreplace"
        )
        made.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
        made.handleError = _ignore  # type: ignore[assignment, method-assign]  # a full disk is no second fault
        self._handler = made
        return made

    def close(self) -> None:
        """Let go of the file."""
        if self._handler is not None:
            self._handler.close()
            self._handler = None


def _ignore(_: logging.LogRecord) -> None:
    """The line is lost, the program goes on."""


class Trouble(QObject):
    """Takes every fault nobody caught; `happened` tells a sentence and the details, in the window's thread."""

    happened = Signal(str, str)
    _seen = Signal(str, str)

    def __init__(self, log: Log, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.log = log
        self._before: tuple[ExceptHook, Callable[[threading.ExceptHookArgs], object]] | None = None
        self._seen.connect(self._tell)

    def install(self) -> None:
        """From now on."""
        self._before = (sys.excepthook, threading.excepthook)
        sys.excepthook = self.caught
        threading.excepthook = self._in_thread
        qInstallMessageHandler(self._from_qt)

    def remove(self) -> None:
        """As it was before."""
        if self._before is not None:
            sys.excepthook, threading.excepthook = self._before
            self._before = None
            qInstallMessageHandler(None)
        self.log.close()

    def caught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """An exception that nobody caught; Ctrl+C still ends the program."""
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, trace)
            return
        details = "".join(traceback.format_exception(kind, error, trace))
        self.log.write(details)
        self._seen.emit(_sentence(kind, error), details)

    def _in_thread(self, what: threading.ExceptHookArgs) -> None:
        if what.exc_value is not None:
            self.caught(what.exc_type, what.exc_value, what.exc_traceback)

    def _from_qt(self, kind: QtMsgType, context: QMessageLogContext, words: str) -> None:
        """Qt's own messages go to the log, serious ones to the window as well."""
        self.log.write(f"Qt {kind.name}: {words} ({context.file}:{context.line})")
        if kind in _SERIOUS:
            self._seen.emit(words, words)

    @Slot(str, str)
    def _tell(self, sentence: str, details: str) -> None:
        self.happened.emit(sentence, details)


def _sentence(kind: type[BaseException], error: BaseException) -> str:
    words = " ".join(str(error).split())[:200]
    return words if issubclass(kind, BenchError) and words else f"{kind.__name__}: {words}" if words else kind.__name__
