"""The window's thread never stands still for long, as its own heart-beat sees it.

A gap is counted in time the thread itself worked: what other programs take away from a busy machine
is no stall of ours.  Where a loop of plain Python, or a bare page of labels, takes longer than on the machine
the limit was set for, the gap is brought to that machine; where it is quicker, nothing is given away.
"""

from __future__ import annotations

import gc
import time
from importlib import import_module

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from tests.data.twenty_pins import CELSIUS, read_ohm, sound, variant_raw
from tests.speed.archive_fill import fill
from tests.speed.measure import calibration
from valvebench import compose
from valvebench.bench.desk import Desk
from valvebench.model.entry import encode_line, sha256_of
from valvebench.ui import app as ui_app
from valvebench.ui.main_window import LATER
from valvebench.ui.set_up import SetUp

BEAT_MS = 5
LONGEST_MS = 50.0
USUAL_LOOP_MS = 45.0  # the calibration loop of tests/speed where the limit was set
USUAL_PAGE_MS = 12.0
"""A bare page laid out and painted, the same: 22 ms at a time when one program's pages took 1.8 times as long as
an hour before, while the loop took no longer: what shares the caches of a machine slows pages down, not loops."""
TRIES = 3  # a busy machine gets another try
READINGS = 200


class HeartBeat(QObject):
    """Beats in the window's thread and remembers the gaps between its beats."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.cpu_ms: list[float] = []
        self.wall_ms: list[float] = []
        self._last = self._now()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self.beat)
        self._timer.start(BEAT_MS)

    @staticmethod
    def _now() -> tuple[float, float]:
        return 1e3 * time.thread_time(), 1e3 * time.perf_counter()

    def beat(self) -> None:
        cpu, wall = self._now()
        self.cpu_ms.append(cpu - self._last[0])
        self.wall_ms.append(wall - self._last[1])
        self._last = cpu, wall

    def stop(self) -> None:
        self.beat()
        self._timer.stop()


def told(what: str, beat: HeartBeat) -> float:
    """Print the longest gap [ms of work] and begin anew."""
    beat.beat()  # what has gone by since the last beat counts too
    cpu_ms, wall_ms = max(beat.cpu_ms), max(beat.wall_ms)
    loop_ms, page_ms = calibration(time.thread_time), bare_page_ms()
    print(f"\n{what}: longest gap {cpu_ms:.1f} ms of work, {wall_ms:.1f} ms on the wall", end="; ")
    print(f"loop {loop_ms:.0f} ms, bare page {page_ms:.1f} ms")
    beat.beat()
    beat.cpu_ms.clear()
    beat.wall_ms.clear()
    return cpu_ms / max(1.0, loop_ms / USUAL_LOOP_MS, page_ms / USUAL_PAGE_MS)


def bare_page_ms() -> float:
    """Two hundred labels of the library's own, laid out and painted: how quick pages are at this moment."""
    best = float("inf")
    for _ in range(3):
        page = QWidget()
        layout = QVBoxLayout(page)
        start = time.thread_time()
        for number in range(200):
            layout.addWidget(QLabel(f"line {number}, 5.20 ohm at 20 degrees"))
        page.grab()
        best = min(best, time.thread_time() - start)
        page.deleteLater()
        QCoreApplication.sendPostedEvents(page, QEvent.Type.DeferredDelete)
    return 1e3 * best


def copies(folder, count: int) -> None:
    """Make a session of `count` readings more, each under conditions of its own, so that each has its row."""
    desk: Desk = compose.open_desk(folder)
    entries, bodies = list(desk.session.entries), [item for item in desk.session.items if item.kind == "reading"]
    desk.release()
    last = entries[-1]
    lines, prev = [], last.sha256
    for place in range(count):
        body = replace(bodies[place % len(bodies)].body, meter_id=f"meter {place}")
        line = encode_line(n=last.n + 1 + place, at=last.at, by=last.by, body=body, prev=prev)
        prev = sha256_of(line)
        lines.append(line + b"\n")
    with (folder / "journal.jsonl").open("ab") as journal:
        journal.writelines(lines)


@pytest.fixture
def frozen(monkeypatch):
    """As the program itself does, after its first picture and once more with its first session."""
    make_window = ui_app.make_window

    def made(*words):
        window = make_window(*words)
        window.session_opened.connect(gc.freeze, Qt.ConnectionType.SingleShotConnection)
        return window

    monkeypatch.setattr(ui_app, "make_window", made)
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


def enter_readings(person) -> None:
    entry = person.pins.field.entry
    for place in range(READINGS):
        count = len(person.entries)
        QTest.keyClicks(entry, f"5.{20 + place % 10}")
        QTest.keyClick(entry, Qt.Key.Key_Enter)
        person.wait(lambda count=count: len(person.entries) > count and not person.window.keeper.is_busy)


@pytest.mark.slow
def test_200_readings_in_a_row_never_stall_the_window(open_window, sample, frozen):
    person = open_window(sample("in-work"))
    beat = HeartBeat(person.window)
    for _ in range(TRIES):
        enter_readings(person)
        longest_ms = told(f"{READINGS} readings", beat)
        if longest_ms <= LONGEST_MS:
            break
    beat.stop()
    assert longest_ms <= LONGEST_MS


def go_round(person) -> None:
    """Copper at 7 plateaus, by the conductor law of IEC 60034-1, 8.6.2; invented."""
    rounds, entry = person.window.beside_pins.rounds, person.pins.field.entry
    for celsius in (23, 45, 70, 98, 80, 55, 31):
        QTest.qWait(2 * BEAT_MS)  # a hand is no faster: what follows is another gap
        QTest.keyClicks(entry, f"{celsius}")
        QTest.keyClick(entry, Qt.Key.Key_Enter)
        QTest.qWait(2 * BEAT_MS)
        while not rounds.is_asking:
            count = len(person.entries)
            QTest.keyClicks(entry, f"{5.2 * (234.5 + celsius) / 254.5:.2f}")
            QTest.keyClick(entry, Qt.Key.Key_Enter)
            person.wait(lambda count=count: len(person.entries) > count and not person.window.keeper.is_busy)


@pytest.mark.slow
def test_rounds_of_a_heat_run_never_stall_the_window(open_window, tmp_path, frozen):
    """49 readings, each followed by what it says against copper and against its like."""
    variant = compose.data_folder() / "resources" / "variants" / "tern-body-2.json"
    compose.create_job(tmp_path / "T-53", {"job": "T-53"}, variant_raw=variant.read_bytes(), by="Ann").release()
    person = open_window(tmp_path / "T-53")
    person.window.show_page("Pins")
    beat = HeartBeat(person.window)
    person.window.beside_pins.rounds.start()
    for _ in range(TRIES):
        go_round(person)
        person.wait(lambda: person.window.keeper.book.rows_of_item("heat Plover") != ())
        longest_ms = told("49 readings in 7 rounds", beat)
        if longest_ms <= LONGEST_MS:
            break
    beat.stop()
    assert longest_ms <= LONGEST_MS


def test_a_session_of_10_000_readings_shows_its_page_first(qtbot, program, sample, frozen):
    folder = sample("in-work")
    copies(folder, 10_000)
    window = ui_app.make_window(program)
    with qtbot.waitExposed(window):
        window.show()
    beat, begun = HeartBeat(window), time.perf_counter()
    window.open_session(folder)
    qtbot.waitUntil(lambda: window.pins_page is not None and window.pins_page.isVisible(), timeout=30_000)
    page_s = time.perf_counter() - begun
    assert window.keeper.book is None, "the page waits for no row"
    qtbot.waitUntil(window.pins_page.field.isEnabled, timeout=60_000)
    rows_s = time.perf_counter() - begun
    print(f"\npage after {page_s:.2f} s, {window.pins_page.model.rowCount()} rows after {rows_s:.2f} s")
    told("opening 10,000 readings", beat)
    beat.stop()
    assert window.pins_page.model.rowCount() > 10_000
    window.close()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


MILLION = 1_000_000


def million(path) -> None:
    """A log of a million samples: warms, holds and cools over ten hours; invented."""
    t_s = np.linspace(0.0, 36_000.0, MILLION)
    probe = np.interp(t_s, [0, 15_000, 20_000, 36_000], [22.0, 110.0, 110.0, 45.0])
    ohm = 5.2 * (234.5 + probe) / 254.5 + np.random.default_rng(5).normal(0, 0.006, MILLION)
    lines = map("{:.3f},{:.2f},{:.3f}".format, t_s.tolist(), probe.tolist(), ohm.tolist())
    path.write_text("t_s,probe_celsius,Gull_ohm\n" + "\n".join(lines) + "\n")


def look_at_a_million(person, path, beat) -> float:
    """Read, fitted, kept, drawn, moved and enlarged: the longest gap [ms of work]."""
    begun, kept = time.perf_counter(), len(person.entries)
    person.window.show_page("Heat")
    page = person.window.later.pages["Heat"]
    card = page.take_card
    longest_ms = [told("opening the page", beat)]
    card.named.emit(str(path))
    person.qtbot.waitUntil(lambda: card.accept.isEnabled() and bool(card.columns), timeout=240_000)
    read_s = time.perf_counter() - begun
    longest_ms.append(told("reading and fitting 1,000,000 samples", beat))
    card.accepted.emit()
    person.qtbot.waitUntil(
        lambda: len(person.entries) > kept and page.plot_card._pages.currentIndex() == 1, timeout=240_000
    )
    drawn_s = time.perf_counter() - begun
    longest_ms.append(told("keeping and drawing them", beat))
    for key in (Qt.Key.Key_Plus, Qt.Key.Key_Right) * 10 + (Qt.Key.Key_0,):
        QTest.keyClick(page.table, key)
        QCoreApplication.processEvents()
    longest_ms.append(told("moving and enlarging them", beat))
    print(f"\nread after {read_s:.1f} s, drawn after {drawn_s:.1f} s")
    assert page.model.row(0).kind == "as copper"
    return max(longest_ms)


@pytest.mark.slow
def test_a_log_of_a_million_samples_never_stalls_the_window(open_window, sample, frozen, tmp_path):
    million(tmp_path / "run.csv")
    person = open_window(sample("in-work"))
    beat = HeartBeat(person.window)
    for _ in range(TRIES):
        longest_ms = look_at_a_million(person, tmp_path / "run.csv", beat)
        if longest_ms <= LONGEST_MS:
            break
    beat.stop()
    assert longest_ms <= LONGEST_MS


FURTHER = 12


def explain_again_and_again(person) -> None:
    """To the reading that is asked for, its value, and back: each time everything is weighed anew."""
    page, window = person.window.later.pages["Findings"], person.window
    for place in range(FURTHER):
        person.qtbot.waitUntil(lambda: not page.explain_card.is_busy, timeout=60_000)
        QTest.qWait(2 * BEAT_MS)  # a hand is no faster: each key is another gap
        page.explain_card.acted.emit()
        QTest.qWait(2 * BEAT_MS)
        if not window.beside_pins.asked.is_on:  # nothing is asked any more, or something else than a pair
            return
        count = len(person.entries)
        QTest.keyClicks(person.pins.field.entry, f"{12 + place % 3}.{place % 10}")
        QTest.qWait(2 * BEAT_MS)
        QTest.keyClick(person.pins.field.entry, Qt.Key.Key_Enter)
        person.wait(lambda count=count: len(person.entries) > count and not window.keeper.is_busy)
        QTest.qWait(2 * BEAT_MS)
        QTest.keyClick(person.pins.field.entry, Qt.Key.Key_Enter)


def explain_from_the_start(open_window, folder) -> float:
    """Eight readings there already; the longest gap [ms] from opening Findings on."""
    compose.create_job(folder, {"job": "T-62"}, variant_raw=variant_raw(), by="Ann").release()
    edges = sound()
    edges["13i", "case"] = 900.0
    desk: Desk = compose.open_desk(folder)
    set_up = SetUp(celsius=CELSIUS, range_ohm=6e7, meter="0.9%+2x0.01")
    for pin in range(1, 9):
        desk.record(set_up.reading(f"{pin}", "10", ohm=round(read_ohm(edges, f"{pin}", "10") or 0.0, 2)))
    desk.release()
    person = open_window(folder)
    import_module(LATER)  # as a second after the opening
    beat, begun = HeartBeat(person.window), time.perf_counter()
    person.window.show_page("Findings")
    card = person.window.later.pages["Findings"].explain_card
    person.qtbot.waitUntil(lambda: bool(card.sentence.text()), timeout=60_000)
    print(f"\nfirst answer after {time.perf_counter() - begun:.2f} s")
    longest_ms = told("opening Findings, the catalogue built", beat)
    explain_again_and_again(person)
    longest_ms = max(longest_ms, told("further readings", beat))
    beat.stop()
    assert len(person.window.desk.session.items) > 9
    return longest_ms


@pytest.mark.slow
def test_explaining_a_body_of_twenty_pins_never_stalls_the_window(open_window, tmp_path, frozen):
    """The catalogue built, then one reading after the other, those it asks for among them; invented."""
    for place in range(TRIES):
        longest_ms = explain_from_the_start(open_window, tmp_path / f"T-62-{place}")
        if longest_ms <= LONGEST_MS:
            break
    assert longest_ms <= LONGEST_MS


SESSIONS = 3_000
TYPED = ("Heron", "0418", "Ann 2", "zzz")


def look_through_the_archive(person, beat) -> float:
    """Opened, searched sign by sign, paged, each part visited: the longest gap [ms of work]."""
    window = person.window
    window.archive.show()
    page = window.archive.page
    person.wait(lambda: page.list.model.rowCount() > 0)
    longest_ms = [told("opening the archive", beat)]
    for text in TYPED:
        page.list.search.entry.clear()
        for sign in text:
            QTest.keyClick(page.list.search.entry, sign)
            QTest.qWait(12 * BEAT_MS)  # as quick as hands are, one search for each sign
        window.archive.runner.wait()
    longest_ms.append(told("typing in the box", beat))
    page.list.search.entry.clear()
    person.wait(lambda: page.list.model.rowCount() >= 30)
    for _ in range(5):
        page.list.next_asked.emit()
        QTest.qWait(20 * BEAT_MS)
    longest_ms.append(told("five pages on", beat))
    for word in page_parts():
        window.archive.show_part(word)
        QTest.qWait(20 * BEAT_MS)
        window.archive.runner.wait()
        QTest.qWait(20 * BEAT_MS)
        longest_ms.append(told(word, beat))
    window.archive.show_part(page_parts()[0])
    drawing = page.parts[page_parts()[0]].pane.drawing
    assert drawing is not None, "the values were drawn"
    for act in (lambda: drawing.enlarge(1.4), lambda: drawing.pan(0.1, 0.0)) * 8:
        act()
        QTest.qWait(2 * BEAT_MS)
    longest_ms.append(told("moving the drawing", beat))
    return max(longest_ms)


def page_parts() -> tuple[str, ...]:
    return import_module("valvebench.ui.archive.view").PARTS[1:]


@pytest.mark.slow
def test_an_archive_of_thousands_never_stalls_the_window(open_window, sample, tmp_path, frozen):
    fill(tmp_path / "archive", SESSIONS, 6).close()
    person = open_window(sample("in-work"))
    import_module(LATER)  # as a second after the opening
    beat = HeartBeat(person.window)
    for _ in range(TRIES):
        longest_ms = look_through_the_archive(person, beat)
        if longest_ms <= LONGEST_MS:
            break
    beat.stop()
    assert longest_ms <= LONGEST_MS
