"""How cells look: ink on paper, colour for verdicts only, words always beside it."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.model.words import VERDICT_TEXT, Verdict

INK: Final = "17201D"
MUTED: Final = "5A6762"
LINE: Final = "D5DAD6"
SOFT: Final = "E9ECE8"
BAND: Final = "DCE8F0"
GUARD: Final = "C9D6DE"
PAPER: Final = "FFFFFF"
_MOST_DECIMALS: Final = 9


class Look(NamedTuple):
    """Everything that makes the style of a cell; equal looks share one style of the workbook."""

    is_text: bool = False
    number_format: str = "General"
    is_bold: bool = False
    is_struck: bool = False
    color: str = INK
    size: float = 10.0
    fill: str = ""
    is_wrapped: bool = False
    align: str = ""
    is_ruled: bool = True


TEXT: Final = Look(is_text=True)
WRAPPED: Final = TEXT._replace(is_wrapped=True)
MUTED_TEXT: Final = TEXT._replace(color=MUTED)
MONO: Final = TEXT._replace(color=MUTED, size=8.0)
GONE: Final = TEXT._replace(color=MUTED, is_struck=True)
VERDICT: Final = TEXT._replace(is_bold=True, align="center")
TITLE: Final = TEXT._replace(is_bold=True, size=20.0, is_ruled=False)
SENTENCE: Final = TEXT._replace(is_bold=True, size=14.0, is_wrapped=True, is_ruled=False)
PLAIN: Final = TEXT._replace(is_ruled=False)
PARAGRAPH: Final = PLAIN._replace(is_wrapped=True)
QUIET: Final = PARAGRAPH._replace(color=MUTED)
SECTION: Final = TEXT._replace(is_bold=True, size=12.0, is_ruled=False)
HEADER: Final = TEXT._replace(is_bold=True, fill=SOFT, is_wrapped=True)
GROUP: Final = HEADER._replace(fill=BAND, is_wrapped=False)
LABEL: Final = TEXT._replace(color=MUTED, is_ruled=False, is_wrapped=True)
GENERAL: Final = Look()
WHOLE: Final = Look(number_format="0")
TENTHS: Final = Look(number_format="0.0")
CHANCE: Final = Look(number_format="0.000")
FULL: Final = Look(number_format="0.000000000")
LIVE: Final = Look(number_format="0.000000")
LIVE_WORD: Final = Look(is_bold=True, align="center")
ANSWER: Final = TEXT._replace(align="center")
LIVE_ANSWER: Final = Look(align="center")


def decimals(count: int) -> Look:
    """Numbers with that many decimals."""
    places = min(max(count, 0), _MOST_DECIMALS)
    return Look(number_format=f"0.{'0' * places}" if places else "#,##0")


class Colour(NamedTuple):
    """Fill and writing of a verdict; contrast of the writing is 4.5:1 or more."""

    fill: str
    ink: str


VERDICT_COLOUR: Final = MappingProxyType(
    {
        VERDICT_TEXT[Verdict.PASS]: Colour("0072B2", PAPER),
        VERDICT_TEXT[Verdict.FAIL]: Colour("D55E00", "000000"),
        VERDICT_TEXT[Verdict.CANT_TELL]: Colour("F0E442", INK),
        VERDICT_TEXT[Verdict.NOT_USABLE]: Colour("CC79A7", "000000"),
    }
)
