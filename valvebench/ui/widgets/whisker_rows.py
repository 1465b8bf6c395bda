"""The lines of a chart of whiskers and the stretch of numbers it shows; for painting only, nothing is judged here."""

from __future__ import annotations

from dataclasses import dataclass

from valvebench.ui.widgets.ruler_scale import Scale


@dataclass(frozen=True, kw_only=True)
class Whisker:
    """One line: its name, value and reach in the chart's unit, words at the right, whether it stands out."""

    name: str
    value: float
    reach: float
    words: str = ""
    answer: str = ""
    stands_out: bool = False


@dataclass(frozen=True, kw_only=True)
class WhiskersState:
    """What the chart shows: lines around the post at `middle`; `widest` cuts what lies farther from it."""

    unit: str = ""
    middle: float = 0.0
    rows: tuple[Whisker, ...] = ()
    widest: float | None = None

    def scale(self) -> Scale:
        """As far to the left of the post as to the right."""
        far = max((abs(row.value - self.middle) + row.reach for row in self.rows), default=0.0)
        if self.widest is not None:
            far = min(far, self.widest)
        far = 1.1 * far or max(abs(self.middle), 1.0) * 0.01
        return Scale(low=self.middle - far, high=self.middle + far)

    def sentence(self) -> str:
        """Every line, for the reader."""
        return "; ".join(_said(row, self.unit) for row in self.rows)


def _said(row: Whisker, unit: str) -> str:
    words = row.words or f"{row.value:.3g} \N{PLUS-MINUS SIGN} {row.reach:.2g} {unit}".rstrip()
    return f"{row.name} {words}, {row.answer}" if row.answer else f"{row.name} {words}"
