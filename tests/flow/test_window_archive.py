"""The archive in a real window by keyboard alone: a comeback found and compared, and an empty machine restored.

Every name and number is made up.
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.data.archived import VARIANT_RAW, DayClock, session_in
from tests.flow.test_window_flow import ROOT, RealWindow, screen, valvebench, wait_for
from tests.patience import PATIENCE_S
from valvebench.archive.archives import Archives
from valvebench.compose import open_desk, view_session
from valvebench.model.entry import Reading
from valvebench.model.meter import PRESETS
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.pins.plan import Plan

__all__ = ["screen"]

EARLIER = (5.2, 5.3, 12.0)
NOW = ("9.9", "5.3", "12.0")
MOST_KEYS = 15
READ_CLIPBOARD = """
from PySide6.QtGui import QGuiApplication
app = QGuiApplication([])
print(app.clipboard().text())
"""


class StartWindow(RealWindow):
    """The program opened without a session, its settings and jobs in a folder of their own."""

    def __init__(self, screen: str, root) -> None:
        self.root, self.folder, self.keys = root, root / "jobs", 0
        settings = root / "settings"
        settings.mkdir(exist_ok=True)
        self.folder.mkdir(exist_ok=True)
        if not (settings / "settings.json").exists():
            (settings / "settings.json").write_text(json.dumps({"jobs_folder": str(self.folder)}))
        self.open(screen, VALVEBENCH_SETTINGS=str(settings))
        self.take_keyboard("^valvebench$")

    def press(self, *names: str) -> None:
        """Keys that count."""
        self.keys += len(names)
        self.key(*names)
        wait_for(self._is_at_rest, f"what {names} does")

    def write(self, text: str) -> None:
        """Signs that count."""
        self.keys += len(text)
        self.type(text)
        wait_for(self._is_at_rest, f"what {text} does")

    def clipboard(self) -> str:
        return subprocess.run(
            [sys.executable, "-c", READ_CLIPBOARD],
            env=self._env,
            capture_output=True,
            text=True,
            check=True,
            timeout=30,
        ).stdout


@pytest.fixture
def start(screen):
    opened = []

    def make(root):
        opened.append(StartWindow(screen, root))
        return opened[-1]

    yield make
    for window in opened:
        window.process.kill()
        window.process.communicate()


def pairs(count):
    plan = Plan(read_variant(VARIANT_RAW, source="made up"))
    for _ in range(count):
        yield plan.pair
        plan.step(1)


def kept_session(root):
    """One closed session with three readings, in the archive of this computer and nowhere else."""
    about = {
        "celsius": 23.4,
        "meter": PRESETS["hundredths"].text(),
        "leads": LeadState.NULLED,
        "temperature": TemperatureSource.TAPED,
    }
    read = [Reading(from_node=a, to_node=b, ohm=ohm, **about) for (a, b), ohm in zip(pairs(3), EARLIER, strict=True)]
    folder = session_in(root / "earlier", "2117", read, day="2026-02-03", serial="0418-77", customer="Harbour Shuttle")
    archives = Archives(root / "settings" / "archive", clock=DayClock("2026-02-03"), open_desk=open_desk)
    archive = archives.open()
    archive.add(folder)
    archive.close()
    return folder


@pytest.mark.slow
def test_a_comeback_is_found_and_compared_in_under_15_keys(start, tmp_path):
    (tmp_path / "settings").mkdir()
    kept_session(tmp_path).rename(tmp_path / "gone")  # only the archive has it now
    window = start(tmp_path)
    window.press("ctrl+shift+a")
    window.write("2117")
    window.press("ctrl+b")
    window.write("2301")
    window.press("Return")
    folder = tmp_path / "jobs" / "job-2301"
    wait_for((folder / "journal.jsonl").is_file, "the new job")
    job = view_session(folder).session.job
    assert (job.comeback_of, job.serial, job.customer) == ("2117", "0418-77", "Harbour Shuttle")
    assert view_session(folder).variant == read_variant(VARIANT_RAW, source="made up")
    window.folder = folder
    wait_for(window._is_at_rest, "the new job")
    window.set_up()
    for typed in NOW:
        window.keep(typed)
    window.press("ctrl+6")
    wait_for(window._is_at_rest, "the comparison")
    window.picture(tmp_path / "compared.png")
    print(f"\ncomeback found and compared: {window.keys} keys from the start page, besides the readings themselves")
    assert window.keys < MOST_KEYS
    window.key("Tab", "space")
    wait_for(window._is_at_rest, "the comparison as text")
    told = window.clipboard()
    assert told.startswith("Job 2301 compared with job 2117, serial 0418-77")
    different = [line for line in told.splitlines() if line.endswith("\tdifferent")]
    assert len(different) == 1, told
    # by hand, copper from 23.4 to 20 degrees: 254.5 / 257.9 = 0.98682; of (9.9 - 0.1 for leads) and of 5.2
    assert different[0].startswith("3\u201311 Heron\t9.67 \u03a9\t5.13 \u03a9\t+4.54"), told
    window.close()
    again = start(tmp_path)
    again.press("ctrl+l")
    again.press("ctrl+6")
    again.key("Tab", "space")
    wait_for(again._is_at_rest, "the comparison as text")
    assert again.clipboard().startswith("Job 2301 compared with job 2117")
    print(f"opened again, it stands there after {again.keys} keys")
    assert json.loads(valvebench("verify", folder, "--json").stdout)["ok"]
    again.close()


@pytest.mark.slow
def test_an_empty_machine_has_its_archive_back_by_keyboard_alone(start, tmp_path):
    """Backup on one machine, brought back on another that has neither settings nor archive."""
    old, new, backup = tmp_path / "old", tmp_path / "new", tmp_path / "b.sqlite"
    (old / "settings").mkdir(parents=True)
    new.mkdir()
    kept_session(old)
    window = start(old)
    window.press("ctrl+shift+a", "ctrl+Prior")
    window.write(str(backup))
    window.press("Return")
    wait_for(backup.is_file, "the backup")
    wait_for(window._is_at_rest, "the backup")
    window.close()
    window = start(new)
    window.press("ctrl+shift+a", "ctrl+Prior")
    window.write(str(backup))
    window.press("Return")
    wait_for((new / "settings" / "archive" / "archive.sqlite").is_file, "the archive")
    wait_for(window._is_at_rest, "the check of the archive")
    window.picture(tmp_path / "restored.png")
    print(f"\narchive brought back: {window.keys - len(str(backup))} keys and the name of the backup")
    window.press("ctrl+f")
    window.write("2117")
    window.press("Return")
    window.title_of_job = "Job 2117"
    wait_for(window._find, "the job that was brought back")
    (folder,) = (new / "jobs").iterdir()
    assert view_session(folder).session.job.job == "2117"
    checked = subprocess.run(
        [sys.executable, "-m", "valvebench", "archive", "verify", "--json"],
        cwd=ROOT,
        env=window._env,
        capture_output=True,
        text=True,
        check=True,
        timeout=PATIENCE_S,
    )
    assert json.loads(checked.stdout)["ok"]
    window.close()
