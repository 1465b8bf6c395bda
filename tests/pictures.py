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
from PySide6.QtWidgets import QApplication, QScrollArea

from tests.data.made_photo import made_photo
from tests.fakes.heat_logs import copper, grows, log_of
from valvebench.compose import Program, data_folder, variant_file
from valvebench.model.draft_field import Part
from valvebench.model.variant_draft import Spot
from valvebench.model.words import Place
from valvebench.ui import app as window_app
from valvebench.ui import theme
from valvebench.ui.editor.tables_card import TABS
from valvebench.ui.editor.wiring import Editor
from valvebench.ui.findings.view import FindingsPage
from valvebench.ui.heat.view import HeatPage
from valvebench.ui.main_window import FINDINGS, HEAT, JOB, PINS, PORTS, MainWindow
from valvebench.ui.pins.view import PAUSE_MS

SIZE: Final = QSize(1280, 800)
HALF_A_WALK: Final = 20


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


def undecided(window: MainWindow) -> None:
    """A reading that can't be told, with what would decide it."""
    window.show_page(PINS)
    if window.pins is not None and window.pins_page is not None:
        window.pins.choose("device Heron")
        QTest.keyClicks(window.pins_page.field.entry, "5.4")
        QTest.qWait(2 * PAUSE_MS)


def job_page(window: MainWindow) -> None:
    """Job, set-up and the end of the work."""
    window.show_page(JOB)


SHEET: Final = (
    "Solenoid\tType\tPin\tGround\t\u03a9 min\t\u03a9 max\t\u00b0C\tSource\tPage\n"
    "Heron\tlinear\t3\t11\t4,9\t5,5\t20\tmanual\tpage 12\n"
    "Gull\tlinear\t1\t2\t4,9\t5,5\t20\tmanual\tpage 12\n"
    "Plover\ton/off\t8\tcase\t12\t15\tnot stated\tmanual\tpage 13\n"
)


def variant(window: MainWindow) -> None:
    """An invented body in the editor."""
    _in_editor(window, Part.DEVICES)


def variant_paste(window: MainWindow) -> None:
    """The preview of a pasted table."""
    window.show_editor()
    if window.editor is not None:
        window.editor.page.show_tab(TABS.index(Part.DEVICES))
        window.editor.presenter.pasted(Spot(Part.DEVICES, 0, "name"), SHEET)


def variant_photo(window: MainWindow) -> None:
    """Ports on a drawn picture of a casting."""
    photo, copy = Path("lower half.jpg"), Path("tern-body-2.json")
    editor = _in_editor(window, Part.PORTS)
    names = editor.history.draft.texts(Part.PORTS, "place")
    places = zip(names, *(editor.history.draft.texts(Part.PORTS, key) for key in "xy"), strict=True)
    photo.write_bytes(made_photo([(float(x), float(y)) for place, x, y in places if place == Place.BODY.value]))
    editor.presenter.photos.named(Place.BODY, photo)
    settle(window)
    editor.presenter.save_to(copy)  # nobody is asked on leaving


def _in_editor(window: MainWindow, part: Part) -> Editor:
    window.show_editor(variant_file("tern-body-2"))
    settle(window)
    if window.editor is None:
        raise TypeError("the editor is there once it was shown")
    window.editor.page.say("")
    window.editor.page.show_tab(TABS.index(part))
    return window.editor


def names(window: MainWindow) -> None:
    """The wiring is found, the first name is asked for."""
    window.show_page(PINS)


def walking(window: MainWindow) -> None:
    """In the middle of the walk: the later half of the readings taken back."""
    window.show_page(PINS)
    desk = window.desk
    if desk is not None and window.hand is not None:
        for item in desk.session.items[-HALF_A_WALK:]:
            desk.withdraw(item.n, "for the picture")
        window.hand.names.leave()
        window.hand.walk.reload()


def heat_take(window: MainWindow) -> None:
    """A logger's file, looked at before it is kept."""
    page, path = heat_page(window), Path("warmed.csv")
    path.write_bytes(
        log_of({"Heron": grows, "Gull": copper, "Curlew": copper}, opens="Curlew", separator=";", decimal=",")
    )
    page.take_asked.emit()
    page.take_card.show_path(str(path))
    page.take_card.named.emit(str(path))
    settle(window)
    page.begin()


def heat(window: MainWindow) -> None:
    """The same, kept: the contact that grows with heat against time and temperature."""
    heat_take(window)
    heat_page(window).take_card.accepted.emit()
    settle(window)
    heat_page(window).say("")


def heat_page(window: MainWindow) -> HeatPage:
    """The page, built at its first visit."""
    window.show_page(HEAT)
    page = window.later.pages[HEAT]
    if not isinstance(page, HeatPage):
        raise TypeError("the Heat page stands behind its word")
    return page


def ports(window: MainWindow) -> None:
    """What is asked for by ear, and what was heard."""
    window.show_page(PORTS)


def findings(window: MainWindow) -> None:
    """The verdict with its reasons."""
    window.show_page(FINDINGS)


def compared(window: MainWindow) -> None:
    """An old body beside a new one; the card of both in sight."""
    other = Path("2232-new-body")
    shutil.copytree(data_folder() / "sample_sessions" / other, other, ignore=shutil.ignore_patterns("lock"))
    window.show_page(FINDINGS)
    page = window.later.pages[FINDINGS]
    if isinstance(page, FindingsPage):
        page.compare_card.chosen.emit(other)
        settle(window)
        scroll = window.pages.currentWidget()
        if isinstance(scroll, QScrollArea):
            scroll.verticalScrollBar().setValue(page.compare_card.y() - scroll.height() // 40)
    shutil.rmtree(other)


SHOTS: Final = MappingProxyType(
    {
        "start": Shot(None, at_rest),
        "job": Shot("2220-meter-cannot-decide", job_page),
        "pins": Shot("2217-in-work", typing),
        "variant": Shot(None, variant),
        "variant-paste": Shot(None, variant_paste),
        "variant-photo": Shot(None, variant_photo),
        "proof": Shot("2220-meter-cannot-decide", undecided),
        "heat-take": Shot("2217-in-work", heat_take),
        "heat": Shot("2217-in-work", heat),
        "ports": Shot("2219-grows-with-heat", ports),
        "findings": Shot("2219-grows-with-heat", findings),
        "compare": Shot("2231-old-body", compared),
        "hand-walk": Shot("2230-body-unknown", walking),
        "hand-names": Shot("2230-body-unknown", names),
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
        window.exporter.wait()
        window.thinker.wait()
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
