"""The drafts one can go back to: the toolkit's undo stack, each step the draft before and after it."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from valvebench.model.variant_draft import Draft, empty_draft


class _Edit(QUndoCommand):
    """One named step between two whole drafts."""

    def __init__(self, words: str, *, before: Draft, after: Draft, history: History) -> None:
        super().__init__(words)
        self._before, self._after, self._history = before, after, history

    def redo(self) -> None:
        """Put the later draft in force."""
        self._history.put(self._after)

    def undo(self) -> None:
        """Put the earlier draft in force."""
        self._history.put(self._before)


class History(QObject):
    """Holds the draft in force."""

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.stack = QUndoStack(self)
        self._draft = empty_draft()
        # Only here are the names of the next steps right: a step runs before the stack moves on.
        self.stack.indexChanged.connect(self.changed)

    @property
    def draft(self) -> Draft:
        """The draft in force."""
        return self._draft

    def put(self, draft: Draft) -> None:
        """Put another draft in force; only steps of the stack call this."""
        self._draft = draft

    def start(self, draft: Draft) -> None:
        """Begin with another draft; what was before cannot come back."""
        self._draft = draft
        self.stack.clear()

    def push(self, words: str, after: Draft) -> None:
        """A step with its name; an edit that changes nothing is none."""
        if after != self._draft:
            self.stack.push(_Edit(words, before=self._draft, after=after, history=self))

    def undo(self) -> None:
        """One step back."""
        self.stack.undo()

    def redo(self) -> None:
        """One step forward."""
        self.stack.redo()

    def undo_words(self) -> str:
        """The name of the step that undo would take back."""
        return self.stack.undoText()

    def redo_words(self) -> str:
        """The name of the step that redo would take."""
        return self.stack.redoText()
