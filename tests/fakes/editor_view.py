"""A page of the variant editor without Qt: it keeps what it was last told."""

from __future__ import annotations

from pathlib import Path

from valvebench.model.entry import sha256_of
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft, empty_draft


class PlainSteps:
    """The way back as two plain lists: what the toolkit's stack has to equal."""

    def __init__(self) -> None:
        self.draft: Draft = empty_draft()
        self.past: list[tuple[str, Draft]] = []
        self.future: list[tuple[str, Draft]] = []
        self.changed = lambda: None

    def start(self, draft: Draft) -> None:
        self.draft, self.past, self.future = draft, [], []
        self.changed()

    def push(self, words: str, after: Draft) -> None:
        if after != self.draft:
            self.past.append((words, self.draft))
            self.future, self.draft = [], after
            self.changed()

    def undo(self) -> None:
        if self.past:
            words, before = self.past.pop()
            self.future.append((words, self.draft))
            self.draft = before
            self.changed()

    def redo(self) -> None:
        if self.future:
            words, after = self.future.pop()
            self.past.append((words, self.draft))
            self.draft = after
            self.changed()

    def undo_words(self) -> str:
        return self.past[-1][0] if self.past else ""

    def redo_words(self) -> str:
        return self.future[-1][0] if self.future else ""


class EditorView:
    """Answers questions as it was told to."""

    def __init__(self) -> None:
        self.draft: Draft | None = None
        self.lacks = ()
        self.face = 0
        self.state = ("", False, "", "")
        self.plan = None
        self.known = ()
        self.said: list[tuple[str, bool]] = []
        self.at = None
        self.clipboard = ""
        self.asked_where: list[str] = []
        self.answer = "cancel"
        self.asked_leave = 0
        self.is_on_disk = False
        self.wanted_photos: list[dict] = []
        self.wanted_feature = (-1, "", None)

    def show_draft(self, draft, lacks, *, face):
        self.draft, self.lacks, self.face = draft, lacks, face

    def show_state(self, title, *, is_changed, is_on_disk, undo, redo):
        self.state, self.is_on_disk = (title, is_changed, undo, redo), is_on_disk

    def want_photos(self, wanted):
        self.wanted_photos.append(dict(wanted))

    def want_feature(self, row, name, picture):
        self.wanted_feature = (row, name, picture)

    def show_paste(self, plan, known):
        self.plan, self.known = plan, known

    def say(self, words, *, is_problem=False):
        self.said.append((words, is_problem))

    def go_to(self, spot):
        self.at = spot

    def put_on_clipboard(self, text):
        self.clipboard = text

    def ask_where(self, suggested):
        self.asked_where.append(suggested)

    def ask_leave(self, title):
        self.asked_leave += 1
        return self.answer


class MemoryFiles:
    """Drafts by path, or a refusal."""

    def __init__(self) -> None:
        self.drafts: dict[Path, Draft] = {}
        self.refusal: Exception | None = None

    def load(self, path):
        return self.drafts[path]

    def save(self, path, draft):
        if self.refusal is not None:
            raise self.refusal
        self.drafts[path] = draft

    def take_picture(self, path, *, shrunk):
        if self.refusal is not None:
            raise self.refusal
        raw = shrunk(path.name.encode())
        return Picture(sha256=sha256_of(raw), file=raw.decode())
