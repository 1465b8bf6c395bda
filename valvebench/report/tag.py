"""The tag that goes with the part: its square code, and beside it in words what the code says."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from valvebench.bench.handing import TagFacts, head_text, tag_text
from valvebench.model.format import stamp_text
from valvebench.report.look import MUTED
from valvebench.report.square_code import modules_of

if TYPE_CHECKING:
    from valvebench.report.pdf import Act, Text

_POINTS_PER_MM: Final = 72.0 / 25.4
WIDTH_MM: Final = 90.0
_WIDTH: Final = WIDTH_MM * _POINTS_PER_MM
_LOWEST: Final = 40.0 * _POINTS_PER_MM
_EDGE: Final = 8.0
_SIDE: Final = 100.0
_LEFT: Final = _EDGE + _SIDE + 6.0
_SHORT_JOB: Final = 24
_CHECK: Final = "valvebench verify SESSION --head N:HEX"


def tag_pdf(facts: TagFacts, *, printed_at: str) -> bytes:
    """The label as a PDF page of its own size; Qt is loaded only here."""
    from valvebench.report.pdf import pdf_bytes

    acts, size = _laid_out(facts)
    return pdf_bytes([acts], size_pt=size, title="Tag", printed_at=printed_at)


def tag_png(facts: TagFacts) -> bytes:
    """The label as a picture of 300 dots per inch, for a label printer or a cell of a sheet."""
    from valvebench.report.pdf import png_bytes

    acts, size = _laid_out(facts)
    return png_bytes(acts, size_pt=size)


def _laid_out(facts: TagFacts) -> tuple[list[Act], tuple[float, float]]:
    """What is drawn, and how large the label is: as high as its words need, nothing is cut."""
    from valvebench.report.pdf import square

    acts = [square(modules_of(tag_text(facts)), _EDGE - 4, _EDGE - 4, _SIDE)]
    y = _EDGE
    for text, gap in _texts(facts):
        acts.append(text.drawn(_LEFT, y))
        y += text.height_pt + gap
    return acts, (_WIDTH, max(_LOWEST, y + _EDGE))


def _texts(facts: TagFacts) -> list[tuple[Text, float]]:
    from valvebench.report.pdf import Text, Type

    room = _WIDTH - _LEFT - _EDGE
    marks = (("part", facts.part), ("serial", facts.serial), ("mark", facts.mark))
    item = ", ".join([facts.variant or "no variant", *(f"{label} {text}" for label, text in marks if text)])
    closed = f"Closed {stamp_text(facts.closed_at)} by {facts.closed_by}"
    plain, quiet = Type(7.0), Type(6.0, 400, MUTED)
    return [
        (Text(f"Job {facts.job}", room, Type(11.0 if len(facts.job) <= _SHORT_JOB else 8.0, 700)), 1),
        (Text(item, room, plain), 2),
        (Text(facts.verdict, room, Type(7.0, 600)), 2),
        (Text(closed, room, quiet), 3),
        (Text(f"Head {head_text(facts.head)}", room, Type(6.5, 500)), 3),
        (Text(f"Keep this tag. It shows any later change: {_CHECK}", room, quiet), 0),
    ]
