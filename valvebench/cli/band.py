"""`valvebench band FILE`: a band learned from bodies that did well."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from valvebench.cli.options import DONE, NOT_DECIDED, Option, Parser, answer, fields, share, words
from valvebench.cli.services import MakeServices
from valvebench.diagnose.band_words import MOST_NAMED
from valvebench.model.errors import bad
from valvebench.model.format import MINUS, decimals_for, plus_minus
from valvebench.physics.outliers import ODD_FROM

if TYPE_CHECKING:
    from valvebench.diagnose.band import Asked, Band, Odd


_OPTIONS: Final = (
    Option("--column", "column", words, "heading of the column"),
    Option("--coverage", "coverage", share, "share of bodies like these that the band is to hold (0.9)"),
    Option("--confidence", "confidence", share, "how sure that is to be (0.95)"),
)
_FROM: Final = (
    "A band is worth what its bodies are: take those that did well after fitting, never those that \u201cpassed\u201d."
)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print where the next bodies like these lie; nothing told is not decided."""
    parser = Parser("band", "A band learned from bodies that did well, and the odd ones among them.")
    parser.add_argument("file", type=Path, help="values (CSV or .xlsx) below a header line")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    options = fields(arguments, _OPTIONS)
    if "column" not in options:
        raise bad("--column", "nothing", "the heading of the column that holds the values")
    log = services().read_column_log(arguments.file, options["column"])
    from valvebench.diagnose.band import Asked, learn_band

    asked = Asked(options.get("coverage", 0.9), options.get("confidence", 0.95))
    band = learn_band(log.values, log.lines, asked)
    answer(arguments.json, _data(band), _text(band, asked, log.heading))
    return DONE if band.k2 is not None else NOT_DECIDED


def _data(band: Band) -> dict[str, Any]:
    plain = ("n", "mean", "sd", "median", "mad", "k2", "low", "high")
    return {
        **{name: getattr(band, name) for name in plain},
        "outliers": [one._asdict() for one in band.outliers],
        "grubbs": band.grubbs._asdict() if band.grubbs is not None else None,
        "normality": band.normality._asdict() if band.normality is not None else None,
        "warnings": band.warnings,
    }


def _text(band: Band, asked: Asked, heading: str) -> str:
    lines = [*_head(band, asked, heading), *(f"  Note: {warning}" for warning in band.warnings)]
    places = decimals_for(band.sd or 0.0)
    spread = f", standard deviation {band.sd:.{places + 1}f}" if band.sd is not None else ""
    lines.append(f"  All {band.n}: mean {_fixed(band.mean, places)}{spread},")
    lines.append(f"  median {_fixed(band.median, places)}, median deviation {_fixed(band.mad, places + 1)}.")
    lines += [_odd(one) for one in band.outliers[:MOST_NAMED]]
    if band.grubbs is not None:
        said = "beyond" if band.grubbs.g > band.grubbs.critical else "not beyond"
        lines.append(
            f"  Furthest from the mean: row {band.grubbs.row}, {band.grubbs.g:.3f} standard deviations, "
            f"{said} {band.grubbs.critical:.3f} (Grubbs, 5 %)."
        )
    return "\n".join([*lines, _FROM])


def _head(band: Band, asked: Asked, heading: str) -> list[str]:
    if band.low is None or band.high is None or band.low_alone is None or band.high_alone is None:
        return [f"{heading}: no band can be told."]
    share, sure = f"{100 * asked.coverage:g} in 100", f"{100 * asked.confidence:g} %"
    places = decimals_for((band.high - band.low) / 4)
    low, high, least, most = (_fixed(x, places) for x in (band.low, band.high, band.low_alone, band.high_alone))
    middle = plus_minus((band.low + band.high) / 2, band.mean_half_width or 0.0)
    return [
        f"{heading}: at least {share} bodies like these lie from {low} to {high}, said with {sure} confidence.",
        f"  From {band.used} values, mean {middle} ({sure}), k2 {band.k2:.3f}.",
        f"  For one limit alone: not below {least}, or not above {most}.",
    ]


def _odd(one: Odd) -> str:
    return f"  Row {one.row} is odd: {one.value:g}, modified z {_fixed(one.modified_z, 1)} (odd beyond {ODD_FROM:g})."


def _fixed(x: float, places: int) -> str:
    return f"{x:.{places}f}".replace("-", MINUS)
