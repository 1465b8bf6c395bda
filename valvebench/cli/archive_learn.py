"""Words of `valvebench archive` about what it teaches: learn, failures and drift."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from valvebench.bench.learned_file import with_learned
from valvebench.bench.learning import (
    Failures,
    MeterDrift,
    SupplierDrift,
    failures,
    learned,
    meter_drifts,
    supplier_drifts,
)
from valvebench.cli.archive import Call, archive_parser
from valvebench.cli.options import DONE, NOT_DECIDED, Option, answer, fields, number, one_of, share, words
from valvebench.diagnose.band_words import MOST_NAMED
from valvebench.diagnose.failures import By
from valvebench.diagnose.learn_words import LEFT_TEXT, good_means
from valvebench.diagnose.learned import Ask, Learned, Limits, Value
from valvebench.model.errors import bad
from valvebench.model.format import MINUS, decimals_for, plus_minus
from valvebench.model.words import JOBS_TEXT, LEAD_TEXT, AccessPoint, JobKind

if TYPE_CHECKING:
    from valvebench.diagnose.drift import Drift

_ACCESS: Final = Option("--access", "access", one_of(AccessPoint), "where it was read (case_connector)")
_JOB: Final = Option("--job-kind", "job_kind", one_of(JobKind), "of suppliers: only sessions of this kind of job")
_ASK: Final = (
    Option("--months", "months", number, "a body that did not come back for so many months did well (12)"),
    Option("--km", "km", number, "or for so many kilometres (distance does not count)"),
    Option("--new-from", "new_from", words, "supplier whose new bodies are known to be good: bench checks count"),
    Option("--coverage", "coverage", share, "share of bodies like these that the band is to hold (0.9)"),
    Option("--confidence", "confidence", share, "how sure that is to be (0.95)"),
)
_FAILURES: Final = (
    Option("--by", "by", one_of(By), "variant, device, supplier or batch (device)"),
    Option("--variant", "variant", words, "only sessions of this variant"),
    Option("--since", "since", words, "only sessions closed on this day or later"),
)


def run_learn(call: Call) -> int:
    """A band of one device from bodies that did well; written into a variant file only where that is asked."""
    parser = archive_parser("learn", "A band of one device from bodies that were fitted and did not come back.")
    parser.add_argument("variant", help="key of the variant")
    parser.add_argument("device", help="name of the device")
    for option in (*_ASK, _ACCESS):
        option.add_to(parser)
    parser.add_argument("--into", type=Path, metavar="FILE", help="variant file that takes the band as its limits")
    parser.add_argument("--replace", action="store_true", help="with --into: even where limits are stated")
    arguments = parser.read(call.given)
    ask = _asked(fields(arguments, _ASK))
    at = fields(arguments, (_ACCESS,)).get("access", AccessPoint.CASE_CONNECTOR.value)
    if arguments.replace and arguments.into is None:
        raise bad("--replace", "no --into", "the variant file that takes the band, with --into")
    with closing(call.opened(arguments.at)) as archive:
        band, ident = learned(archive, arguments.variant, arguments.device, ask=ask, at=at), archive.id
    into = arguments.into if band.limits is not None else None
    if into is not None:
        source, may = str(into), bool(arguments.replace)
        call.services().variant_files().change(
            into, lambda raw: with_learned(raw, band, source=source, archive_id=ident, may_replace=may)
        )
    answer(arguments.json, {**_learned_data(band), "into": str(into) if into else None}, _learned_text(band, into))
    return DONE if band.limits is not None else NOT_DECIDED


def _asked(given: dict[str, Any]) -> Ask:
    for name in ("months", "km"):
        if name in given and not given[name] >= 0:
            raise bad(f"--{name}", f"{given[name]:g}", "nought or more")
    return Ask(**given)


def _learned_data(band: Learned) -> dict[str, Any]:
    plain = ("variant", "device", "kind", "ref_celsius", "used", "mean_ohm", "sd_ohm", "median_ohm", "mad_ohm")
    return {
        **{name: getattr(band, name) for name in plain},
        "asked": band.asked._asdict(),
        "limits": band.limits._asdict() if band.limits is not None else None,
        "normality_p": band.normality_p,
        "values": [one._asdict() for one in band.values],
        "not_counted": [{"why": why, "bodies": count} for why, count in band.left],
        "warnings": band.warnings,
    }


def _learned_text(band: Learned, into: Path | None) -> str:
    lines = _band_lines(band, band.limits) if band.limits is not None else [f"{band.device}: no band can be told."]
    lines += [f"  Note: {warning}" for warning in band.warnings]
    lines += [_odd(one) for one in band.values if one.is_flagged][:MOST_NAMED]
    lines += [f"  Not counted, {LEFT_TEXT[why]}: {count}" for why, count in band.left]
    lines.append(good_means(band.asked))
    if into is not None:
        lines.append(f"Written into {into} as limits of {band.device}, source learned, n {band.used}.")
    elif band.limits is not None:
        lines.append("Nothing is changed by this; --into FILE writes it into a variant file.")
    return "\n".join(lines)


def _band_lines(band: Learned, limits: Limits) -> list[str]:
    asked, places = band.asked, decimals_for((limits.high_ohm - limits.low_ohm) / 4)
    low, high, least, most = (f"{x:.{places}f}".replace("-", MINUS) for x in limits[:4])
    middle = plus_minus((limits.low_ohm + limits.high_ohm) / 2, limits.mean_half_width_ohm)
    share_text, sure = f"{100 * asked.coverage:g} in 100", f"{100 * asked.confidence:g} %"
    of = f"{band.device} of {band.variant} at {band.ref_celsius:g} \u00b0C"
    return [
        f"{of}: at least {share_text} bodies like these lie from {low} to {high} ohm, said with {sure} confidence.",
        f"  From {band.used} bodies that did well, mean {middle} ohm ({sure}), k2 {limits.k2:.3f}.",
        f"  For one limit alone: not below {least}, or not above {most}.",
    ]


def _odd(one: Value) -> str:
    z = f"{one.modified_z:.1f}".replace("-", MINUS) if one.modified_z is not None else ""
    what = "left out" if one.is_left_out else "counted"
    return f"  Job {one.job} of {one.closed_at[:10]} is odd: {one.ohm_at_ref:.4g} ohm, modified z {z}, {what}."


def run_failures(call: Call) -> int:
    """What fails most; as the sessions were closed, the surest first."""
    parser = archive_parser("failures", "What fails most, as the sessions were closed; the surest first.")
    for option in _FAILURES:
        option.add_to(parser)
    arguments = parser.read(call.given)
    given = fields(arguments, _FAILURES)
    by = By(given.pop("by", By.DEVICE.value))
    with closing(call.opened(arguments.at)) as archive:
        found = failures(archive, by, **given)
    data = {"by": by, "counts": [one._asdict() for one in found.counts], "warnings": found.warnings}
    answer(arguments.json, data, _failures_text(found))
    return DONE


def _failures_text(found: Failures) -> str:
    if not found.counts:
        return "No sessions there."
    lines = []
    for one in found.counts:
        name = " ".join(part for part in (one.of, one.name or "(not told)") if part)
        share_text = f"{100 * one.low:.0f} to {100 * one.high:.0f} % (95 %)"
        lines.append(f"  {name}: {one.failed} of {one.sessions} failed, {share_text}")
    return "\n".join([f"By {found.by.value}:", *lines, *(f"  Note: {text}" for text in found.warnings)])


def run_drift(call: Call) -> int:
    """Whether meters drift by their check resistor, or a supplier by the values of one device."""
    parser = archive_parser("drift", "Whether meters drift by their checks, or suppliers by one device.")
    parser.add_argument("variant", nargs="?", help="key of the variant, for suppliers; without it meters are told of")
    parser.add_argument("device", nargs="?", help="name of the device")
    for option in (_ACCESS, _JOB):
        option.add_to(parser)
    arguments = parser.read(call.given)
    if arguments.variant is not None and arguments.device is None:
        raise bad("drift", "a variant alone", "a variant and a device, or neither")
    given = fields(arguments, (_ACCESS, _JOB))
    at, job = given.get("access", AccessPoint.CASE_CONNECTOR.value), given.get("job_kind")
    if arguments.variant is None and job is not None:
        raise bad("--job-kind", "no device", "a variant and a device: a meter is checked for every kind of job")
    with closing(call.opened(arguments.at)) as archive:
        if arguments.variant is None:
            rows = [(_meter(one), one.drift) for one in meter_drifts(archive)]
        else:
            rows = [
                (_supplier(one), one.drift)
                for one in supplier_drifts(
                    archive, arguments.variant, arguments.device, at=at, job=JobKind(job) if job else None
                )
            ]
    data = {"rows": [{**about, **_drift_data(drift)} for about, drift in rows]}
    answer(
        arguments.json, data, "\n".join(_drift_text(about, drift) for about, drift in rows) or "Nothing to tell from."
    )
    return DONE


def _meter(one: MeterDrift) -> dict[str, Any]:
    points = [(point.id, point.at, point.off_ohm) for point in one.points]
    return {"what": f"meter {one.meter}, {one.check_ohm:g} ohm, {LEAD_TEXT[one.leads]}", "points": points}


def _supplier(one: SupplierDrift) -> dict[str, Any]:
    points = list(zip(one.ids, one.times, one.ohm_at_ref, strict=True))
    return {"what": one.supplier, "jobs": {kind.value: n for kind, n in one.jobs}, "points": points}


def _drift_data(drift: Drift) -> dict[str, Any]:
    return {
        "n": drift.n,
        "chart": drift.chart._asdict() if drift.chart is not None else None,
        "outside": drift.outside,
        "moved_at": drift.moved_at,
        "is_up": drift.is_up,
        "words": drift.words,
    }


def _drift_text(about: dict[str, Any], drift: Drift) -> str:
    jobs = ", ".join(f"{n} of {JOBS_TEXT[JobKind(kind)]}" for kind, n in about.get("jobs", {}).items())
    lines = [f"{about['what']}{f', {jobs}' if jobs else ''}: {drift.words}"]
    if drift.chart is not None:
        places = decimals_for(drift.chart.sd)
        middle, low, high = (
            f"{x:.{places}f}".replace("-", MINUS) for x in (drift.chart.middle, drift.chart.low, drift.chart.high)
        )
        lines.append(f"  middle {middle} ohm, single values from {low} to {high}; outside: {len(drift.outside)}")
    return "\n".join(lines)
