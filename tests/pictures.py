"""Pictures of the window on the demo jobs for README and guide: `python -m tests.pictures [--out DIR]`.

Names, numbers and verdicts in the pictures are invented; the verdicts are computed by the real rules.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from PIL import Image
from PySide6.QtCore import QSize
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from valvebench.compose import Program, data_folder
from valvebench.ui import app as window_app
from valvebench.ui import theme
from valvebench.ui.main_window import JOB, PINS, MainWindow

SIZE: Final = QSize(1280, 800)


class Shot(NamedTuple):
    """One picture: which sample job (none: the start page) and what is done before it is taken."""

    sample: str | None
    act: Callable[[MainWindow], None]


def at_rest(window: MainWindow) -> None:
    """As it opens."""


def typing(window: MainWindow) -> None:
    """A reading typed, not kept: it is judged while typing."""
    window.show_page(PINS)
    if window.pins is not None and window.pins_page is not None:
        window.pins.pin_chosen("3")
        window.pins.pin_chosen("11")
        QTest.keyClicks(window.pins_page.field.entry, "5.31")


def pair_of_heron(window: MainWindow) -> None:
    """The solenoid whose contact grows with heat, against temperature."""
    window.show_page(PINS)
    if window.pins is not None:
        window.pins.pin_chosen("3")
        window.pins.pin_chosen("11")


def job_page(window: MainWindow) -> None:
    """Job, set-up and the end of the work."""
    window.show_page(JOB)


SHOTS: Final = MappingProxyType(
    {
        "start": Shot(None, at_rest),
        "job": Shot("2220-meter-cannot-decide", job_page),
        "pins": Shot("2217-in-work", typing),
        "pins-heat": Shot("2219-grows-with-heat", pair_of_heron),
    }
)


@contextlib.contextmanager
def in_a_folder_of_its_own() -> Iterator[None]:
    """Work on copies by relative names: no path of this machine gets into a picture."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        os.environ["VALVEBENCH_SETTINGS"] = folder  # nobody's own sessions get into a picture either
        yield


def settle(window: MainWindow) -> None:
    """Let what runs beside the window arrive in it."""
    for _ in range(5):
        window.runner.wait()
        QTest.qWait(40)


def take(app: QApplication, shot: Shot, *, theme_name: str, target: Path) -> None:
    """Open the window, do what is shown, write the picture."""
    theme.apply(app, theme_name)
    folder = None if shot.sample is None else Path(shot.sample)
    if folder is not None:
        shutil.copytree(data_folder() / "sample_sessions" / folder, folder, ignore=shutil.ignore_patterns("lock"))
    window = window_app.make_window(Program(), folder)
    window.resize(SIZE)
    window.show()
    settle(window)
    shot.act(window)
    settle(window)
    window.grab().save(str(target))
    window.close()
    window.deleteLater()
    if folder is not None:
        shutil.rmtree(folder)


def make_small(picture: Path) -> None:
    """Pack it tighter; every colour stays as it is, since colours are verdicts."""
    with Image.open(picture) as full:
        plain = full.convert("RGB")
    plain.save(picture, optimize=True)


def take_all(out: Path) -> list[Path]:
    """Every picture in both palettes."""
    app = window_app.application()
    out.mkdir(parents=True, exist_ok=True)
    taken = []
    with in_a_folder_of_its_own():
        for theme_name in ("light", "dark"):
            for name, shot in SHOTS.items():
                target = out / f"{name}-{theme_name}.png"
                take(app, shot, theme_name=theme_name, target=target)
                make_small(target)
                taken.append(target)
    return taken


def main(arguments: list[str] | None = None) -> int:
    """Take all pictures and say how large they are."""
    parser = argparse.ArgumentParser(description="Pictures of the window on the demo jobs (invented data)")
    parser.add_argument("--out", type=Path, default=Path("resources/guide/pictures"))
    out = parser.parse_args(arguments).out.resolve()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    for picture in take_all(out):
        print(f"{picture.name}: {picture.stat().st_size / 1000:.0f} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
