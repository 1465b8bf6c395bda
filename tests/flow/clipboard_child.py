"""Owns the clipboard of a screen with the text on standard input, as the spreadsheet next door would, until killed."""

from __future__ import annotations

import sys

from PySide6.QtGui import QGuiApplication

if __name__ == "__main__":
    app = QGuiApplication(sys.argv)
    app.clipboard().setText(sys.stdin.read())
    print("ready", flush=True)
    app.exec()
