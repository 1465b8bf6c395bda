"""A form on A4 as PDF: rows of cells down the page, over as many pages as they need."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import singledispatchmethod
from itertools import zip_longest
from typing import TYPE_CHECKING, Final, NamedTuple

from valvebench.report.form import Block, Form, Line, Lines, Photos, Ruler, Signatures, Table, Words
from valvebench.report.look import INK, LINE, MUTED, SOFT, VERDICT_COLOUR
from valvebench.report.square_code import modules_of

if TYPE_CHECKING:
    from valvebench.report.pdf import Act, Image, Picture, Text, Type

A4_PT: Final = (595.0, 842.0)
_MARGIN: Final = 40.0
_FOOT: Final = 30.0
_WIDTH: Final = A4_PT[0] - 2 * _MARGIN
_BOTTOM: Final = A4_PT[1] - _MARGIN - _FOOT
_CODE_SIDE: Final = 78.0
_LABEL_SHARE: Final = 0.2
_SMALLEST: Final = 0.66
"""Of the drawn size: type of 6 points can still be read."""
_STEP: Final = 0.97
_OVER_PAGES: Final = (0.9, 0.85, 0.8)
_PHOTOS_IN_ROW: Final = 3
_PHOTO_HEIGHT: Final = 112.0
_RULER_WIDTH: Final = 150.0
_SIGN_HEIGHT: Final = 34.0


class Cell(NamedTuple):
    """A text in a row: from where, how wide, and what lies behind it."""

    text: str
    left: float
    width: float
    kind: Type
    fill: str = ""
    is_centred: bool = False
    ruler: Ruler | None = None

    def inset(self, pad: float) -> float:
        """White beside the text; a centred word needs hardly any."""
        return min(pad, 1.0) if self.is_centred else pad


def form_pdf(form: Form, *, printed_at: str) -> bytes:
    """The bytes of the PDF, the same for the same form."""
    from valvebench.report.pdf import pdf_bytes

    pages = _fitted(form)
    numbered = [[*acts, *_foot(form, number, len(pages))] for number, acts in enumerate(pages, start=1)]
    return pdf_bytes(numbered, size_pt=A4_PT, title=form.title, printed_at=printed_at)


def _fitted(form: Form) -> list[list[Act]]:
    """On one page as large as it fits there; what cannot be read on one any more goes on over pages."""
    images = _images(form)
    factor = 1.0
    while form.is_one_page and factor >= _SMALLEST:
        pages = _Flow(factor, images).of(form)
        if len(pages) == 1:
            return pages
        factor *= _STEP
    if not form.is_one_page:
        return _Flow(1.0, images).of(form)
    return min((_Flow(one, images).of(form) for one in _OVER_PAGES), key=len)


def _images(form: Form) -> dict[bytes | None, Image | None]:
    """Each photo read once, whatever size is tried."""
    from valvebench.report.pdf import image_of

    raws = {one.raw for block in form.blocks if isinstance(block, Photos) for one in block.shown}
    return {raw: image_of(raw) for raw in raws}


def _foot(form: Form, number: int, count: int) -> list[Act]:
    from valvebench.report.pdf import Text, Type, rule

    kind = Type(7.0, 400, MUTED)
    right, left = Text(f"Page {number} of {count}", 70, kind), Text(form.foot, _WIDTH - 80, kind)
    top = A4_PT[1] - _MARGIN - max(left.height_pt, right.height_pt) + 4
    return [
        rule(_MARGIN, _MARGIN + _WIDTH, top - 4),
        left.drawn(_MARGIN, top),
        right.drawn(_MARGIN + _WIDTH - right.width_pt, top),
    ]


class _Flow:
    """Lays one form out at a size; `factor` is 1 for the drawn size."""

    def __init__(self, factor: float, images: Mapping[bytes | None, Image | None]) -> None:
        from valvebench.report.pdf import Type

        self._factor, self._images = factor, images
        self._pages: list[list[Act]] = [[]]
        self._y = _MARGIN
        self._again: list[Cell] = []
        self._title = Type(17.0, 700).scaled(max(factor, 0.8))
        self._about = Type(10.0, 400, MUTED).scaled(factor)
        self._sentence = Type(11.0, 600).scaled(factor)
        self._section = Type(10.5, 600).scaled(factor)
        self._label = Type(9.0, 400, MUTED).scaled(factor)
        self._text = Type(9.0).scaled(factor)
        self._head = Type(8.5, 600).scaled(factor)
        self._quiet = Type(8.0, 400, MUTED).scaled(factor)

    def of(self, form: Form) -> list[list[Act]]:
        """The pages of a form, without their feet."""
        self._top(form)
        for block in form.blocks:
            self._block(block)
        return self._pages

    def _px(self, length: float) -> float:
        return length * self._factor

    def _top(self, form: Form) -> None:
        from valvebench.report.pdf import square

        modules = modules_of(form.code)
        width, low = _WIDTH, _MARGIN
        if modules:
            width -= _CODE_SIDE + 12
            self._pages[0].append(square(modules, _MARGIN + _WIDTH - _CODE_SIDE, _MARGIN - 8, _CODE_SIDE))
            low = _MARGIN + _CODE_SIDE - 4
        self._row([Cell(form.title, 0, width, self._title)])
        self._row([Cell(form.about, 0, width, self._about)], below=self._px(6))
        if form.word:
            self._verdict(form, width)
        elif form.sentence:
            self._row([Cell(form.sentence, 0, width, self._sentence)])
        self._y = max(self._y, low) + self._px(2)

    def _verdict(self, form: Form, width: float) -> None:
        """The word on its colour, the sentence beside it."""
        colour = VERDICT_COLOUR.get(form.word)
        kind = self._sentence._replace(code=colour.ink if colour else INK, weight=700)
        wide = self._px(92)
        word = Cell(form.word, 0, wide, kind, fill=colour.fill if colour else SOFT, is_centred=True)
        self._row([word, Cell(form.sentence, wide + 10, width - wide - 10, self._sentence)], pad=self._px(4))

    # -- rows ------------------------------------------------------------------------------

    def _row(self, cells: Sequence[Cell], *, pad: float = 0.0, below: float = 0.0, is_ruled: bool = False) -> None:
        """Cells beside each other; a row that no page holds goes on over the next."""
        from valvebench.report.pdf import Text

        texts = [
            Text(cell.text, cell.width - 2 * cell.inset(pad), cell.kind, is_centred=cell.is_centred) for cell in cells
        ]
        first, count = 0, max((text.count for text in texts), default=0)
        height = max((_whole_height(cell, text) for cell, text in zip(cells, texts, strict=True)), default=0.0)
        if self._y + height + 2 * pad > _BOTTOM and height + 2 * pad < _BOTTOM - 2 * _MARGIN:
            self._next_page()
        while True:
            last = self._last_line(texts, first, count, pad)
            self._slab(cells, texts, first, last, pad, is_ruled=is_ruled)
            if last >= count:
                break
            first = last
            self._next_page()
        self._y += below

    def _last_line(self, texts: Sequence[Text], first: int, count: int, pad: float) -> int:
        """Up to which line the rest of this page holds; at least one goes on every page."""
        room = _BOTTOM - self._y - 2 * pad
        fits = [n for n in range(first + 1, count + 1) if all(_height(text, first, n) <= room for text in texts)]
        return fits[-1] if fits else min(first + 1, count)

    def _slab(
        self, cells: Sequence[Cell], texts: Sequence[Text], first: int, last: int, pad: float, *, is_ruled: bool
    ) -> None:
        from valvebench.report.pdf import box, rule

        is_whole = first == 0 and all(last >= text.count for text in texts)
        heights = [
            _whole_height(cell, text) if is_whole else _height(text, first, last)
            for cell, text in zip(cells, texts, strict=True)
        ]
        height = max(heights, default=0.0) + 2 * pad
        page = self._pages[-1]
        page.extend(
            box(_MARGIN + cell.left, self._y, cell.width, _fill_height(cell, text, height, pad), code=cell.fill)
            for cell, text in zip(cells, texts, strict=True)
            if cell.fill and (first == 0 or not cell.is_centred)
        )
        page.extend(
            text.drawn(_MARGIN + cell.left + cell.inset(pad), self._y + pad, first=first, last=last)
            for cell, text in zip(cells, texts, strict=True)
            if first < text.count
        )
        if is_whole:
            self._rulers(cells, texts, pad)
        self._y += height
        if is_ruled:
            page.append(rule(_MARGIN, _MARGIN + _WIDTH, self._y, code=LINE))

    def _rulers(self, cells: Sequence[Cell], texts: Sequence[Text], pad: float) -> None:
        """Below the numbers they draw; a row that goes on over a page has the numbers alone."""
        from valvebench.report.pdf import ruler

        for cell, text in zip(cells, texts, strict=True):
            if cell.ruler is not None:
                top = self._y + pad + text.height_pt + 1
                width = min(cell.width - 2 * pad, _RULER_WIDTH)
                self._pages[-1].append(ruler(cell.ruler, _MARGIN + cell.left + pad, top, width))

    def _next_page(self) -> None:
        self._pages.append([])
        self._y = _MARGIN
        again, self._again = self._again, []
        if again:  # the headings of a table that goes on
            self._row(again, pad=self._px(3))
            self._again = again

    def _keep(self, height: float) -> None:
        """A new page where this much does not fit on the rest of this one."""
        if self._y + height > _BOTTOM and self._y > _MARGIN:
            self._next_page()

    def _section_line(self, title: str) -> None:
        self._y += self._px(7)
        if title:
            self._keep(self._px(60))
            self._row([Cell(title, 0, _WIDTH, self._section)], below=self._px(2))

    # -- blocks ----------------------------------------------------------------------------

    @singledispatchmethod
    def _block(self, block: Block) -> None:
        raise TypeError(block)

    @_block.register
    def _(self, block: Words) -> None:
        self._section_line(block.title)
        self._row([Cell(block.text, 0, _WIDTH, self._quiet if block.is_quiet else self._text)])

    @_block.register
    def _(self, block: Lines) -> None:
        self._section_line(block.title)
        step = _WIDTH / block.columns
        for row in block.rows():
            width = step * block.width_of(row)
            self._row(
                [cell for place, line in enumerate(row) for cell in self._line(line, place * step, width)],
                below=self._px(2),
            )

    def _line(self, line: Line, left: float, width: float) -> tuple[Cell, Cell]:
        label = _WIDTH * _LABEL_SHARE
        kind = self._text._replace(code=MUTED) if line.is_missing else self._text
        if line.is_code:
            kind = self._quiet._replace(code=INK)
        return (
            Cell(line.label, left, label - 8, self._label),
            Cell(line.text, left + label, width - label - 8, kind),
        )

    @_block.register
    def _(self, block: Table) -> None:
        self._section_line(block.title)
        if not block.rows:
            self._row([Cell(block.none, 0, _WIDTH, self._text)])
            return
        lefts = [sum(head.twelfths for head in block.heads[:place]) * _WIDTH / 12 for place in range(len(block.heads))]
        widths = [head.twelfths * _WIDTH / 12 for head in block.heads]
        heads = [
            Cell(head.title, left, width, self._head, fill=SOFT)
            for head, left, width in zip(block.heads, lefts, widths, strict=True)
        ]
        pad = self._px(3)
        self._keep(self._px(50))
        self._row(heads, pad=pad)
        self._again = heads
        for row, ruler in zip_longest(block.rows, block.rulers):
            cells = [
                self._cell(text, left, width, is_verdict=place == block.verdicts)
                for place, (text, left, width) in enumerate(zip(row, lefts, widths, strict=True))
            ]
            if ruler is not None:
                cells[block.ruled] = cells[block.ruled]._replace(ruler=ruler)
            self._row(cells, pad=pad, is_ruled=True)
        self._again = []

    def _cell(self, text: str, left: float, width: float, *, is_verdict: bool) -> Cell:
        if not is_verdict:
            return Cell(text, left, width, self._text)
        colour = VERDICT_COLOUR.get(text)
        kind = self._head._replace(code=colour.ink if colour else INK)
        return Cell(text, left, width, kind, fill=colour.fill if colour else "", is_centred=True)

    @_block.register
    def _(self, block: Photos) -> None:
        from valvebench.report.pdf import Picture

        self._section_line(block.title)
        width = (_WIDTH - 12 * (_PHOTOS_IN_ROW - 1)) / _PHOTOS_IN_ROW
        for start in range(0, len(block.shown), _PHOTOS_IN_ROW):
            row = block.shown[start : start + _PHOTOS_IN_ROW]
            images = [self._images[one.raw] for one in row]
            height = self._px(_PHOTO_HEIGHT)
            self._pictures([Picture(image, width, height) if image is not None else None for image in images], width)
            captions = [Cell(one.caption, place * (width + 12), width, self._quiet) for place, one in enumerate(row)]
            self._row(captions, below=self._px(4))

    def _pictures(self, pictures: Sequence[Picture | None], width: float) -> None:
        height = max((one.height_pt for one in pictures if one is not None), default=0.0)
        self._keep(height + self._px(30))
        for place, one in enumerate(pictures):
            if one is not None:
                self._pages[-1].append(one.drawn(_MARGIN + place * (width + 12), self._y))
        self._y += height + self._px(2)

    @_block.register
    def _(self, block: Signatures) -> None:
        from valvebench.report.pdf import rule

        height = self._px(_SIGN_HEIGHT)
        self._keep(height + self._px(20))
        self._y += height
        width = (_WIDTH - 16 * (len(block.labels) - 1)) / len(block.labels)
        lefts = [place * (width + 16) for place in range(len(block.labels))]
        self._pages[-1].extend(rule(_MARGIN + left, _MARGIN + left + width, self._y, code=INK) for left in lefts)
        self._y += 2
        self._row([Cell(text, left, width, self._quiet) for text, left in zip(block.labels, lefts, strict=True)])


def _whole_height(cell: Cell, text: Text) -> float:
    from valvebench.report.pdf import RULER_PT

    return text.height_pt + (RULER_PT + 1 if cell.ruler is not None else 0.0)


def _fill_height(cell: Cell, text: Text, height: float, pad: float) -> float:
    """A verdict's colour is as high as its word; a heading's as the row."""
    return min(text.height_pt + 2 * pad, height) if cell.is_centred else height


def _height(text: Text, first: int, last: int) -> float:
    """Height of the lines from `first` up to `last`; nothing where the text has ended before."""
    low, high = min(first, text.count), min(last, text.count)
    return text.tops_pt[high] - text.tops_pt[low]
