"""A whole job in a real window on a virtual screen, by keyboard alone, and one cut short by SIGKILL.

The screen has no window manager, so the test itself gives the window the keyboard.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest

from tests.external_tools import need
from tests.patience import PATIENCE_S

ROOT = Path(__file__).parents[2]
VARIANT = ROOT / "resources" / "variants" / "tern-body-1.json"
TYPED = ("5.92", "5.95", "*", "15.8", "6.01", "2200", "*", "*", "5.93", "5.94")
"""Ten readings, invented: open where the isolation and a broken coil show open."""


def wait_for(is_so, what: str):
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        if found := is_so():
            return found
        time.sleep(0.02)
    raise AssertionError(f"waited in vain for {what}")


@pytest.fixture(scope="module")
def screen():
    need("xdotool")
    ready, told = os.pipe()
    # TRAP: a screen starts anew when its last client leaves, and refuses whoever comes meanwhile; `-noreset` stays up.
    command = [need("Xvfb"), "-noreset", "-displayfd", str(told), "-screen", "0", "1280x800x24", "-nolisten", "tcp"]
    server = subprocess.Popen(command, pass_fds=(told,), stderr=subprocess.DEVNULL)
    os.close(told)
    with os.fdopen(ready) as answer:
        number = answer.readline().strip()
    yield f":{number}"
    server.terminate()
    server.wait(timeout=PATIENCE_S)


def valvebench(*words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "valvebench", *map(str, words)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )


class RealWindow:
    """The program as a process of its own, and the hands at its keyboard."""

    def __init__(self, screen: str, folder: Path) -> None:
        self.folder = folder
        self.open(screen, str(folder))
        self.take_keyboard(f"Job {folder.name}")

    def open(self, screen: str, *words: str, **env: str) -> None:
        """Begin the process, on a session if one is named."""
        self._env = os.environ | {"DISPLAY": screen, "QT_QPA_PLATFORM": "xcb"} | env
        command = [sys.executable, "-m", "valvebench", "window", *words]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=self._env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )

    def take_keyboard(self, title: str) -> None:
        """What a window manager would do when a window comes to the front."""
        self.title_of_job = title
        self._window = wait_for(self._find, f"the window {title}").split()[-1]
        self._hands("windowfocus", "--sync", self._window)
        wait_for(self._is_at_rest, "the window to come to rest")

    def _is_at_rest(self) -> bool:
        """Whether it has used and wanted no time for a while: everything that was to be judged is."""
        before = self._ticks()
        for _ in range(10):
            # TRAP: on a busy machine a thread that waits for its turn uses no time either.
            if "R" in self._states():
                return False
            time.sleep(0.03)
        return self._ticks() == before

    def _ticks(self) -> list[str]:
        # fields 14 and 15 of proc(5), counted after the name in brackets: time in user and in system mode
        return self._stat(Path(f"/proc/{self.process.pid}"))[11:13]

    def _states(self) -> set[str]:
        """Field 3 of proc(5) for each thread: R runs or waits for its turn."""
        found = set()
        for task in Path(f"/proc/{self.process.pid}/task").iterdir():
            with contextlib.suppress(FileNotFoundError, ProcessLookupError):  # a thread that has just ended
                found.add(self._stat(task)[0])
        return found

    @staticmethod
    def _stat(task: Path) -> list[str]:
        return (task / "stat").read_text(encoding="ascii").rpartition(")")[2].split()

    def _find(self) -> str:
        assert self.process.poll() is None, self.process.communicate()[0]
        return self._hands("search", "--onlyvisible", "--name", self.title_of_job).strip()

    def _hands(self, *words: str) -> str:
        done = subprocess.run(
            ["xdotool", *words], env=self._env, capture_output=True, text=True, check=False, timeout=PATIENCE_S
        )
        return done.stdout

    def type(self, text: str) -> None:
        self._hands("type", "--delay", "8", text)

    def key(self, *names: str) -> None:
        self._hands("key", "--delay", "15", *names)

    def lines(self) -> list[dict]:
        raw = (self.folder / "journal.jsonl").read_bytes()
        return [json.loads(line) for line in raw.split(b"\n")[:-1]]

    def readings(self) -> list[dict]:
        return [line["body"] for line in self.lines() if line["kind"] == "reading"]

    def set_up(self) -> None:
        """The page asks for the coil temperature first; Enter leads to the pins."""
        self.type("23.4")
        self.key("Return")

    def keep(self, typed: str) -> None:
        """One reading, waited for until it is on disk."""
        count = len(self.readings())
        if typed == "*":
            self.key("asterisk")
        else:
            self.type(typed)
            self.key("KP_Enter")
        wait_for(lambda: len(self.readings()) == count + 1, f"reading {count + 1}, {typed}")

    def picture(self, path: Path) -> None:
        subprocess.run([need("import"), "-window", "root", str(path)], env=self._env, check=True, timeout=PATIENCE_S)

    def close(self) -> str:
        self._hands("windowclose", self._window)
        with contextlib.suppress(subprocess.TimeoutExpired):
            return self.process.communicate(timeout=5)[0]
        self.process.kill()
        return self.process.communicate()[0]


class CountedWindow(RealWindow):
    """Starts without a session, and counts every key."""

    def __init__(self, screen: str, folder: Path, **env: str) -> None:
        self.folder, self.keys = folder, 0
        self.open(screen, **env)
        self.take_keyboard("valvebench")

    def type(self, text: str) -> None:
        self.keys += len(text)
        super().type(text)

    def key(self, *names: str) -> None:
        self.keys += len(names)
        super().key(*names)


@pytest.fixture
def job(tmp_path) -> Path:
    made = valvebench("open-job", tmp_path / "T-31", "--job", "T-31", "--variant", VARIANT)
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-31"


@pytest.fixture
def open_it(screen):
    opened: list[RealWindow] = []

    def make(folder: Path) -> RealWindow:
        opened.append(RealWindow(screen, folder))
        return opened[-1]

    yield make
    for window in opened:
        window.process.kill()
        window.process.communicate()


def answer_range(window: RealWindow) -> None:
    """The first open reading asks on which range; that answer keeps it."""
    count = len(window.readings())
    window.key("asterisk")
    window.type("60 M")
    window.key("KP_Enter")
    wait_for(lambda: len(window.readings()) == count + 1, "the first open reading")


def enter(window: RealWindow, typed: tuple[str, ...]) -> None:
    for each in typed:
        if each == "*" and not any(reading.get("open") for reading in window.readings()):
            answer_range(window)
        else:
            window.keep(each)


@pytest.mark.slow
def test_ten_readings_close_export_verify_by_keyboard_alone(open_it, job, tmp_path):
    window = open_it(job)
    window.set_up()
    enter(window, TYPED)
    shown = ["open" if reading.get("open") else f"{reading['ohm']:g}" for reading in window.readings()]
    assert shown == ["open" if typed == "*" else typed for typed in TYPED]
    assert {(r["celsius"], r.get("range_ohm")) for r in window.readings() if r.get("open")} == {(23.4, 6e7)}
    window.key("F2", *["Tab"] * 9, "space", "space")
    wait_for(lambda: window.lines()[-1]["kind"] == "close", "the closing entry")
    wait_for(lambda: _pressed(window, job.with_suffix(".xlsx")), "the workbook")
    time.sleep(0.5)
    window.picture(tmp_path / "closed.png")
    assert (tmp_path / "closed.png").stat().st_size > 10_000
    verified = json.loads(valvebench("verify", job, "--json").stdout)
    assert verified["ok"]
    assert "Readings" in openpyxl.load_workbook(job.with_suffix(".xlsx")).sheetnames
    papers = [job.with_name(f"T-31-{end}") for end in ("tag.pdf", "claim.pdf")]
    window.key(*["Tab"] * 6, "space")
    wait_for(papers[0].is_file, "the tag")
    window.key(*["Tab"] * 3, "space")
    wait_for(papers[1].is_file, "the claim page")
    assert all(path.read_bytes().startswith(b"%PDF") for path in papers)
    window.close()


def _pressed(window: RealWindow, workbook: Path) -> bool:
    """The keyboard goes on to the export button once closing is done; press until it is there."""
    if not workbook.is_file():
        window.key("space")
        time.sleep(1.0)
    return workbook.is_file()


@pytest.mark.slow
def test_killed_in_the_middle_nothing_is_lost(open_it, job):
    window = open_it(job)
    window.set_up()
    enter(window, TYPED[:5])
    window.type("6.1")
    before = (job / "journal.jsonl").read_bytes()
    window.process.send_signal(signal.SIGKILL)
    window.process.wait(timeout=PATIENCE_S)
    assert (job / "journal.jsonl").read_bytes() == before
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
    again = open_it(job)
    again.keep("2200")
    lines = again.lines()
    assert len(again.readings()) == 6
    assert [line["n"] for line in lines] == list(range(1, len(lines) + 1))
    assert again.readings()[-1]["celsius"] == 23.4
    again.process.kill()
    again.process.wait(timeout=PATIENCE_S)
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
