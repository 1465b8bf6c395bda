"""Words of `valvebench archive` about many sessions at once: trend and rejudge."""

from __future__ import annotations

from contextlib import closing
from typing import Any, Final

from valvebench.bench.archived import Again, Rejudged, Trend
from valvebench.cli.archive import Call, archive_parser, progress
from valvebench.cli.options import DONE, NOT_DECIDED, Option, answer, fields, number, one_of, words
from valvebench.model.format import decimals_for
from valvebench.model.words import VERDICT_TEXT, AccessPoint, Rule

_ACCESS: Final = Option("--access", "access", one_of(AccessPoint), "where it was read (case_connector)")
_AGAIN: Final = (
    Option("--rule", "rule", one_of(Rule), "another rule"),
    Option("--variant", "variant", words, "only sessions of this variant"),
    Option("--since", "since", words, "only sessions closed on this day or later"),
    Option("--device", "device", words, "coil whose band is corrected; needs --variant"),
    Option("--low", "low_ohm", number, "its lower limit at the reference temperature [ohm]"),
    Option("--high", "high_ohm", number, "its upper limit [ohm]"),
    Option("--why", "why", words, "the reason, kept with the judgement"),
)


def run_trend(call: Call) -> int:
    """Values of one device over time."""
    parser = archive_parser("trend", "Values of one device over time, at the reference temperature.")
    parser.add_argument("variant", help="key of the variant")
    parser.add_argument("device", help="name of the device")
    _ACCESS.add_to(parser)
    arguments = parser.read(call.given)
    at = fields(arguments, (_ACCESS,)).get("access", AccessPoint.CASE_CONNECTOR.value)
    with closing(call.opened(arguments.at)) as archive:
        found = archive.trend(arguments.variant, arguments.device, at=at)
    answer(arguments.json, _trend_data(found), _trend_text(found))
    return DONE


def _trend_data(found: Trend) -> dict[str, Any]:
    return {
        **{name: getattr(found, name) for name in ("variant", "device", "kind", "ref_celsius")},
        "points": [one._asdict() for one in found.points],
        "months": [one._asdict() for one in found.months],
    }


def _trend_text(found: Trend) -> str:
    where = "as read" if found.ref_celsius is None else f"at {found.ref_celsius:g} \u00b0C"
    widest = max((one.high_ohm - one.low_ohm for one in found.months), default=0.0)
    places = decimals_for(widest / 10)
    lines = [f"{found.device} of {found.variant}: {len(found.points)} values [ohm] {where}"]
    for one in found.months:
        numbers = "  ".join(f"{x:.{places}f}" for x in (one.mean_ohm, one.low_ohm, one.high_ohm))
        failed = f"  {one.failed} failed" if one.failed else ""
        lines.append(f"  {one.month}  {one.n:>6}  mean, least, most {numbers}{failed}")
    return "\n".join(lines)


def run_rejudge(call: Call) -> int:
    """A new dated judgement beside the first one; the first one stands."""
    parser = archive_parser("rejudge", "Judge sessions anew by another rule or a corrected band; what stood stays.")
    for option in _AGAIN:
        option.add_to(parser)
    arguments = parser.read(call.given)
    given = fields(arguments, _AGAIN)
    again = Again(**{**given, "rule": Rule(given["rule"]) if "rule" in given else None})
    with closing(call.opened(arguments.at)) as archive:
        found = archive.rejudge(again, step=progress("sessions"))
    if found is None:
        return NOT_DECIDED
    answer(arguments.json, _rejudged_data(found), _rejudged_text(found))
    return DONE


def _rejudged_data(found: Rejudged) -> dict[str, Any]:
    return {
        **{name: getattr(found, name) for name in ("run", "at", "sessions", "readings")},
        "changed": [{"from": old, "to": new, "sessions": n} for old, new, n in found.changed],
        "not_judged": [{"id": ident, "what": what} for ident, what in found.not_judged],
    }


def _rejudged_text(found: Rejudged) -> str:
    lines = [f"judgement {found.run}: {found.sessions} sessions, {found.readings} readings judged anew"]
    lines += [f"  {VERDICT_TEXT[old]} -> {VERDICT_TEXT[new]}: {n} sessions" for old, new, n in found.changed]
    lines += [f"  not judged: {ident[:8]}: {what}" for ident, what in found.not_judged]
    return "\n".join(lines if found.changed else [*lines, "  no verdict changed"])
