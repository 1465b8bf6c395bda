"""Every own widget in all its states, as pictures: `python -m tests.gallery [--out DIR] [--show]`.

Names, numbers and verdicts in the pictures are invented.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from PySide6.QtWidgets import QApplication

from tests.gallery_pages import PAGES, column_of
from valvebench.ui import fonts, theme
from valvebench.ui.widgets.scroll import ScrollPage

ZOOMS = (1.0, 2.0)


def render(app: QApplication, out: Path, *, only: str = "") -> int:
    """Write one picture per page, palette and zoom; the number written."""
    out.mkdir(parents=True, exist_ok=True)
    count = 0
    for theme_name in theme.THEMES:
        theme.apply(app, theme_name)
        for zoom in ZOOMS:
            fonts.set_zoom(zoom)
            app.setFont(fonts.font(14))
            for name, build in PAGES.items():
                if only and name != only:
                    continue
                page = build()
                page.adjustSize()
                page.grab().save(str(out / f"{name}-{theme_name}-{zoom * 100:.0f}.png"))
                page.deleteLater()
                count += 1
    return count


def show(app: QApplication) -> int:
    """A window with every page one below the other."""
    theme.apply(app, "light")
    app.setFont(fonts.font(14))
    area = ScrollPage(column_of(*[build() for build in PAGES.values()]), name="Gallery")
    area.setWindowTitle("Gallery")
    area.resize(1360, 900)
    area.show()
    return app.exec()


def main(arguments: list[str] | None = None) -> int:
    """Render to a folder, and perhaps show."""
    parser = argparse.ArgumentParser(description="Pictures of every own widget in all states and palettes")
    parser.add_argument("--out", type=Path, default=Path("build/gallery"))
    parser.add_argument("--only", choices=PAGES, default="")
    parser.add_argument("--show", action="store_true")
    chosen = parser.parse_args(arguments)
    if not chosen.show:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    if chosen.show:
        return show(app)
    print(f"{render(app, chosen.out, only=chosen.only)} pictures in {chosen.out}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
