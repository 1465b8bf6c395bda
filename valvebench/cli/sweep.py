"""`valvebench sweep FILE`: pressure against current, up and down."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from valvebench.cli.leak_text import SAFETY
from valvebench.cli.options import DONE, Option, Parser, answer, fields, number
from valvebench.cli.services import MakeServices
from valvebench.model.errors import BadInput
from valvebench.model.format import decimals_for, plus_minus
from valvebench.model.heat import Sized
from valvebench.model.leak import Hysteresis, SweepFound

_OPTIONS: Final = (Option("--rated-ampere", "rated_ampere", number, "rated current (the largest that was set) [A]"),)
_K: Final = 2.0
_CURRENT: Final = "Feed a linear or pulsed solenoid only from a current-limited supply, dry of solvent."


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print hysteresis, linearity and dead band."""
    parser = Parser("sweep", "Pressure against current, up and down: hysteresis, linearity, dead band.")
    parser.add_argument("file", type=Path, help="readings (CSV or .xlsx) with ampere, kpa_gauge, branch")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    options = fields(arguments, _OPTIONS)
    log = services().read_sweep_log(arguments.file)
    from valvebench.diagnose.sweep import find_sweep

    try:
        found = find_sweep(log.ampere, log.kpa, log.is_up, unit_kpa=log.unit_kpa, **options)
    except BadInput as error:
        raise BadInput(error.problems, source=str(arguments.file)) from error
    answer(arguments.json, _data(found), _text(found, log.not_used))
    return DONE


def _data(found: SweepFound) -> dict[str, Any]:
    return {name: _plain(getattr(found, name)) for name in found.__struct_fields__}


def _plain(value: object) -> object:
    if isinstance(value, msgspec.Struct):
        return {name: _plain(getattr(value, name)) for name in value.__struct_fields__}
    return list(value) if isinstance(value, tuple) else value


def _text(found: SweepFound, not_used: Sequence[str]) -> str:
    lines = [*found.reasons, *_hysteresis("of the span, at equal current", found.hysteresis_pct_span)]
    rated = f"of {found.rated_ampere:g} A, at equal pressure"
    lines += _hysteresis(rated, found.hysteresis_pct_current)
    straight = found.linearity_pct
    if straight is not None:
        stretch = f"{_ampere(found.linearity_from_ampere)} to {_ampere(found.linearity_to_ampere)} A"
        lines.append(f"  Linearity over {stretch}, {_pct(straight.minimax)} of the span from the best line,")
        lines.append(f"  {_pct(straight.terminal)} from the line between the ends.")
    if found.dead_band_ampere is not None:
        lines.append(f"  Dead band {_pair(found.dead_band_ampere)} A.")
    places = decimals_for(found.noise_kpa)
    lines.append(f"  Span {found.span_kpa:.4g} kPa, scatter {found.noise_kpa:.{places}f} kPa, {found.n} readings.")
    lines += [f"  Next: {advice}" for advice in found.advice]
    if not_used:
        lines.append(f"Columns not used: {', '.join(not_used)}")
    return "\n".join([*lines, _CURRENT, SAFETY])


def _hysteresis(what: str, one: Hysteresis | None) -> list[str]:
    if one is None:
        return []
    resolved = "" if one.resolved else ", not resolved"
    return [f"  Hysteresis {what}: largest {_pct(one.max)}, mean over 10 to 90 % {_pct(one.mean_10_90)}{resolved}."]


def _pct(one: Sized) -> str:
    return f"{_pair(one)} %"


def _pair(one: Sized) -> str:
    return plus_minus(one.value, _K * one.u)


def _ampere(value: float | None) -> str:
    return f"{value:.3g}" if value is not None else ""
