"""Gives a page of the guide its room: space around headings, paragraphs, lists and tables, and true weights."""

from __future__ import annotations

from typing import Final

from PySide6.QtGui import QFont, QTextBlock, QTextBlockFormat, QTextCharFormat, QTextCursor, QTextDocument, QTextTable

from valvebench.ui import fonts

_MARGIN_PX: Final = 16
_PARAGRAPH_PX: Final = 12
_LINE_PX: Final = 4
_CELL_PX: Final = 6
_LINE_HEIGHT_PERCENT: Final = 120.0
_HEADINGS: Final = {1: (24, fonts.BOLD, 0, 12), 2: (17, fonts.SEMIBOLD, 20, 8), 3: (15, fonts.SEMIBOLD, 16, 4)}
"""Level to size and weight of the letters and the room above and below [px]."""
_SMALLEST: Final = max(_HEADINGS)


def set_out(document: QTextDocument) -> None:
    """Set every block of a page that was read from Markdown."""
    document.setDocumentMargin(fonts.px(_MARGIN_PX))
    block = document.begin()
    while block.isValid():
        level = block.blockFormat().headingLevel()
        if level:
            _set_heading(block, min(level, _SMALLEST))
        else:
            _set_text(block)
        block = block.next()


def _set_heading(block: QTextBlock, level: int) -> None:
    size_px, weight, above_px, below_px = _HEADINGS[level]
    font, letters = fonts.font(size_px, weight), QTextCharFormat()
    # TRAP: Markdown enlarges headings and makes them bold by weight, which a variable font smears: set anew.
    letters.setFont(font)
    letters.setFontWeight(QFont.Weight.Normal)
    cursor = _over(block)
    cursor.setCharFormat(letters)
    cursor.mergeBlockFormat(_room(above_px if block.position() else 0, below_px))


def _set_text(block: QTextBlock) -> None:
    cursor = _over(block)
    table = _table_of(cursor)
    if table is not None:
        _set_table(table)
    elif _is_listed(block):
        cursor.mergeBlockFormat(_room(0, _LINE_PX if _list_goes_on(block) else _PARAGRAPH_PX))
    else:
        cursor.mergeBlockFormat(_room(0, _PARAGRAPH_PX))


def _set_table(table: QTextTable) -> None:
    shape = table.format()
    if shape.cellPadding() != fonts.px(_CELL_PX):
        shape.setCellPadding(fonts.px(_CELL_PX))
        shape.setBottomMargin(fonts.px(_PARAGRAPH_PX))
        table.setFormat(shape)


def _table_of(cursor: QTextCursor) -> QTextTable | None:
    return cursor.currentTable()


def _is_listed(block: QTextBlock) -> bool:
    return block.textList() is not None


def _list_goes_on(block: QTextBlock) -> bool:
    return block.next().isValid() and _is_listed(block.next())


def _over(block: QTextBlock) -> QTextCursor:
    cursor = QTextCursor(block)
    cursor.movePosition(QTextCursor.MoveOperation.EndOfBlock, QTextCursor.MoveMode.KeepAnchor)
    return cursor


def _room(above_px: float, below_px: float) -> QTextBlockFormat:
    found = QTextBlockFormat()
    found.setTopMargin(fonts.px(above_px))
    found.setBottomMargin(fonts.px(below_px))
    found.setLineHeight(_LINE_HEIGHT_PERCENT, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value)
    return found
