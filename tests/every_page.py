"""Every page of the window on the demo jobs: the one list that the checks over all pages share.

Pages come from the rail and the one behind a pair, tabs from the tabs of a page, pages beside the work from
`Asides`: a new one is shown here by itself.  The clock stands still, so that ages on a page are always the same.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final, NamedTuple

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

from tests.data.archived import small_archive
from tests.fakes import explained
from valvebench import compose
from valvebench.archive.archives import Archives
from valvebench.archive.kept_file import KeptFile
from valvebench.bench.library import Library
from valvebench.diagnose.explained import Ask
from valvebench.diagnose.identified import Question
from valvebench.model.words import AccessPoint, Seen
from valvebench.ui import app as window_app
from valvebench.ui.asides import Asides
from valvebench.ui.behind import BEHIND
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.findings.explain_card import ExplainCard
from valvebench.ui.findings.explaining import FAILED, FAULT_OF_OURS, TRY_AGAIN, WORKING
from valvebench.ui.frame import ARCHIVE, FINDINGS, IDENTIFY, JOB, PINS, PORTS
from valvebench.ui.identify.presenter import NO_FEATURES
from valvebench.ui.identify.shown import LOOK_AGAIN, question_shown
from valvebench.ui.main_window import MainWindow

NO_VARIANT: Final = "part-in-hand"
"""A session without a variant, made for the checks: invented."""
EXPLAINED: Final = "2217"
"""The demo job whose explanations are shown in more states than its own."""
_CROSS: Final = Ask("3", "7", AccessPoint.CASE_CONNECTOR, "pair", 0.1, 10.0)
_CARD_STATES: Final[dict[str, Callable[[ExplainCard], None]]] = {
    "explained": lambda _: None,
    "still-possible": lambda card: card.show_answer(explained.many()),
    "called-bad": lambda card: card.show_answer(explained.called_bad()),
    "busy": lambda card: card.show_busy(WORKING, has_step=True),
    "failed": lambda card: card.show_words(FAILED.format(why=FAULT_OF_OURS), action=TRY_AGAIN, is_problem=True),
}
"""First its own answer; the others are made up."""
BEHIND_ON: Final = ("2217", "2233")
"""Pages behind others are shown on a job in work, and on one that has something on them."""
STEPS: Final = 400
"""More turns of the event loop than any page needs to come to rest."""


class StoppedClock:
    """A short while after the newest entry of any demo job; invented."""

    def now(self) -> str:
        """RFC 3339 in UTC."""
        return "2026-03-03T12:00:00.000Z"


class StoppedProgram(compose.Program):
    """The real program in a folder of its own, its clock stopped."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def settings_file(self) -> KeptFile:
        """Nobody's own settings."""
        return KeptFile(self.folder / "settings" / "settings.json")

    def jobs_folder(self) -> Path:
        """Nobody's own jobs."""
        return self.folder

    def own_variants(self, folder: str) -> tuple[compose.Listed, ...]:
        """Nobody's own variants."""
        return ()

    def library(self, folder: str) -> Library:
        """The examples, and beside them a copy of one and a file that cannot be used; all invented."""
        own = self.folder / "own variants"
        library = compose.library(str(own))
        if not own.is_dir():
            library.duplicate(compose.variant_file("tern-body-2"))
            (own / "unfinished.json").write_text('{"format": 1, "key": "unfinished"}', encoding="utf-8")
        return library

    def archives(self) -> Archives:
        """An archive of its own, made when somebody looks at it."""
        return Archives(self.folder / "archive", clock=StoppedClock(), open_desk=compose.open_desk)

    def open_desk(self, folder: Path, *, by: str | None = None) -> compose.Desk:
        """At a time that never changes."""
        return compose.open_desk(folder, by=by, clock=StoppedClock())


class Shown(NamedTuple):
    """A page in front: its name, as in the names of snapshots and pictures, and the widget."""

    name: str
    page: QWidget


def job_names() -> list[str]:
    """The demo jobs, and one without a variant."""
    root = compose.data_folder() / "sample_sessions"
    return [*sorted(path.name for path in root.iterdir() if path.is_dir()), NO_VARIANT]


TELLING_JOBS: Final = (
    *("2217-in-work", "2219-grows-with-heat", "2224-poor-contact", "2230-body-unknown"),
    *("2233-air-old-body", "2240-enquiry-by-phone", NO_VARIANT),
)
"""Between them they have every page there is; the others show the same pages with other readings."""


def lay_out(name: str, folder: Path) -> Path:
    """A copy of a job to work on."""
    target = folder / name
    if name == NO_VARIANT:
        desk = compose.create_job(target, {"job": "2221", "part": "solenoid"}, by="demo", clock=StoppedClock())
        desk.release()
    else:
        source = compose.data_folder() / "sample_sessions" / name
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("lock"))
    return target


def settle(window: MainWindow) -> None:
    """Let what runs beside the window arrive in it, and everything be laid out."""
    for _ in range(3):
        for runner in (window.runner, window.exporter, window.thinker, window.archive.runner, window.archive.worker):
            runner.wait()
        for _ in range(8):
            QApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QTest.qWait(1)


@contextlib.contextmanager
def open_on(program: StoppedProgram, job: str | None, *, width: int = 1280, height: int = 800) -> Iterator[MainWindow]:
    """A window on a demo job, or on the ways in."""
    folder = None if job is None else lay_out(job, program.folder)
    window = window_app.make_window(program, folder)
    window.resize(width, height)
    window.show()
    window.activateWindow()
    for _ in range(STEPS):
        settle(window)
        if folder is None or (window.keeper is not None and window.keeper.book is not None):
            break
    settle(window)
    try:
        yield window
    finally:
        if window.editor is not None:
            window.editor.presenter.new()
        window.close()
        window.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        if folder is not None:
            shutil.rmtree(folder)


def pages_of_job(window: MainWindow) -> Iterator[Shown]:
    """Every page of the rail's upper part that the open session has, by its word."""
    for word in window.rail.pages():
        if window.rail.item(word).isVisible() and word not in (ARCHIVE, window.rail.pages()[-1]):
            window.show_page(word)
            yield from _with_tabs(window, word.lower())
    if window.desk is not None and window.desk.job.job == EXPLAINED:
        yield from _suspected(window)
        yield from _explained(window)
    if window.desk is not None and window.desk.job.job == EXPLAINED:
        yield from _identified(window)
    if window.beside_pins is not None and (codes := window.beside_pins.codes) is not None:
        window.show_page(PINS)
        codes.presenter.open()
        yield from _with_tabs(window, "pins-codes")
        codes.presenter.leave()
    if window.desk is not None and window.desk.session.items_of("leak"):
        yield from _leak(window)
    if window.hand is None:
        window.later.show_flex()
        yield from _with_tabs(window, "flex")
    if window.desk is not None and window.desk.job.job in BEHIND_ON:
        yield from _behind(window)


def _identified(window: MainWindow) -> Iterator[Shown]:
    """The new part beside the old one, nothing to ask, a question with many answers; the line of what is parked."""
    window.show_page(IDENTIFY)
    settle(window)
    made = window.later.identify
    made.presenter.part_turned()
    yield from _with_tabs(window, "identify-new-part")
    made.presenter.part_turned()
    made.page.show_nothing(NO_FEATURES)
    yield from _with_tabs(window, "identify-nothing")
    many = Question("code", tuple(f"answer {n}" for n in range(1, 12)), "Read the code.", "What does it say?")
    made.page.show_question(question_shown(many, lead=LOOK_AGAIN, seen=Seen.PHONE, looks=(), at=(1, 11)))
    window.parked_line.show_parked("Job 2216 is parked: everything in it is on disk.")
    yield from _with_tabs(window, "identify-many")
    yield Shown("parked", window.parked_line)
    window.parked_line.show_parked("")


def _behind(window: MainWindow) -> Iterator[Shown]:
    """The pages reached by a key from another one."""
    for word in BEHIND:
        window.behind.show(word)
        yield from _with_tabs(window, word.lower())


_LEAK_TYPED: Final = (("255", "250"), ("85", "52", "83"), ("0", "250", "4", "249", "12", "247"))
"""Two gauges, a vacuum, a falling pressure between two looks: invented."""

_SEATS: Final = {"seat": "seat Plover", "seat-fed": "seat Gull"}
"""One with a limit, shut without current; one that has to be fed, and asks whether its supply is limited."""


def _leak(window: MainWindow) -> Iterator[Shown]:
    """A port measured by each method, none of it kept; a seat that current shuts."""
    window.show_page(PORTS)
    window.go_to(PORTS, "leak P6")
    settle(window)
    page = window.later.leak.page
    for tab, typed in zip(page.question.tabs.tabs, _LEAK_TYPED, strict=True):
        tab.click()
        page.set_up_typed.emit({**page.typed_set_up(), "volume_ml": "50"})
        for text in typed:
            page.kept.emit(text)
        page.begin()
        settle(window)
        yield Shown(f"leak-{tab.word.lower().replace(' ', '-')}", page)
    page.question.tabs.tabs[0].click()
    for name, item in _SEATS.items():
        window.go_to(PORTS, item)
        settle(window)
        yield Shown(f"leak-{name}", page)


def _suspected(window: MainWindow) -> Iterator[Shown]:
    """All suspects of the complaint, and the card in sight."""
    window.show_page(JOB)
    settle(window)
    card = window.job_page.suspects
    while not card.is_whole:
        card.more.click()
    yield from _with_tabs(window, "job-suspects")
    card.more.click()


def _explained(window: MainWindow) -> Iterator[Shown]:
    """The card of explanations in states that no demo job is in, then the reading it asks for until it is kept."""
    window.show_page(FINDINGS)
    settle(window)
    card = window.later.pages[FINDINGS].explain_card
    for name, show in _CARD_STATES.items():
        show(card)
        settle(window)
        card.bring_into_sight()
        settle(window)
        yield Shown(f"findings-{name}", shown_page(window))
    asked, field = window.beside_pins.asked, window.pins_page.field
    window.show_page(PINS)
    asked.start(_CROSS._replace(what="warm"), 80.0)
    yield from _with_tabs(window, "pins-asked-warm")
    asked.start(_CROSS, 80.0)
    yield from _with_tabs(window, "pins-asked")
    field.set_text("10.6")
    field.kept.emit("10.6")
    yield from _with_tabs(window, "pins-asked-done")


def pages_without_job(window: MainWindow) -> Iterator[Shown]:
    """The ways in, the foot of the rail, what is shown beside the work, and the line of trouble."""
    window.show_start()
    yield from _with_tabs(window, "start")
    yield from _variants(window)
    yield from _archive(window)
    window.show_start()
    for name in aside_names():
        getattr(window.asides, f"show_{name}")()
        yield from _with_tabs(window, name)
        window.asides.back()
    window.trouble_line.show_trouble("RuntimeError: an invented fault", "Traceback\n  an invented line")
    window.trouble_line.details_button.click()
    settle(window)
    yield Shown("trouble", window.trouble_line)
    window.trouble_line.close_button.click()


def _archive(window: MainWindow) -> Iterator[Shown]:
    """No archive yet, then every part of it on a small one, with the session that came back chosen."""
    window.show_page(ARCHIVE)
    settle(window)
    yield Shown("archive-none", shown_page(window))
    program = window._services
    small_archive(program.folder / "archive", program.folder / "archived jobs")
    window.archive.page.list.search.set_text("2117")
    window.archive.presenter.typed("2117")
    yield from _with_tabs(window, "archive")


def _variants(window: MainWindow) -> Iterator[Shown]:
    """The library in each of its states, then every table of the editor on a new variant."""
    word = window.rail.pages()[-1]
    window.show_page(word)
    yield from _with_tabs(window, "library")
    presenter = window.variants.presenter
    presenter.refresh(choose=compose.variant_file("tern-body-2"))
    yield from _with_tabs(window, "library-told")
    presenter.compare_asked()
    presenter.compare_with(compose.variant_file("tern-body-1"))
    yield from _with_tabs(window, "library-compared")
    presenter.compare_left()
    presenter.files_chosen([window._services.library("").own / "unfinished.json"])
    yield from _with_tabs(window, "library-refused")
    presenter.compare_left()
    presenter.chosen(window._services.library("").own / "tern-body-2-copy.json")
    presenter.remove_asked()
    yield from _with_tabs(window, "library-asked")
    presenter.keep_asked()
    window.show_editor()
    yield from _with_tabs(window, word.lower())


def aside_names() -> list[str]:
    """What can be shown beside the work: `show_settings` is settings."""
    return [name.removeprefix("show_") for name in vars(Asides) if name.startswith("show_")]


def _with_tabs(window: MainWindow, name: str) -> Iterator[Shown]:
    settle(window)
    page = shown_page(window)
    rows = [row for row in page.findChildren(TabRow) if row.isVisible()]
    if not rows:
        yield Shown(name, page)
        return
    for tab in rows[0].tabs:
        tab.click()
        settle(window)
        yield Shown(f"{name}-{tab.word.lower().replace(' ', '-')}", page)


def shown_page(window: MainWindow) -> QWidget:
    """The page in front, without the area it scrolls in."""
    area = window.pages.currentWidget()
    return area.widget() if isinstance(area, QScrollArea) else area
