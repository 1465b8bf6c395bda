"""The sheet that says how: rule and its risk, meters, constants with sources, statements, cautions."""

from __future__ import annotations

import platform
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from valvebench.judge.device_limits import SWITCH_CLOSED_MAX_OHM, SWITCH_OPEN_MIN_OHM, source_text
from valvebench.judge.rows import SAME_COPPER_CELSIUS, SAME_OTHER_CELSIUS
from valvebench.judge.session import SAME_PLATEAU_CELSIUS
from valvebench.model.entry import MeterCheck, OpenJob, Reading
from valvebench.model.format import OHM, celsius_text, limits_text, ohm_text
from valvebench.model.heat import HeatTest
from valvebench.model.limits import ASSUMED_REF_CELSIUS, ASSUMED_REF_HALF_WIDTH_CELSIUS, COPPER_K_CELSIUS
from valvebench.model.session import Session
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import LEAD_TEXT, RULE_TEXT, Rule
from valvebench.report.cases import Case
from valvebench.report.cells import Book, Sheet
from valvebench.report.heat_cases import has_heat
from valvebench.report.identity import FROM_CUSTOMER, NOT_RECORDED, job_details
from valvebench.report.layout import lines_of, set_height, set_page, set_widths
from valvebench.report.look import LABEL, PARAGRAPH, SECTION, TITLE
from valvebench.report.method_text import CAUTIONS, CHECKING, COVERAGE, HEAT, ON_A_LIMIT, RULES, STATEMENTS, STEPS
from valvebench.report.summary import Front
from valvebench.report.words import heat_words, lead_words, meter_words, temperature_words

_WIDTHS: Final = (30, 118)
Lines = Iterable[tuple[str, str]]


def write_method(book: Book, front: Front, cases: Sequence[Case]) -> None:
    """The sheet, section by section."""
    sheet = book.sheet("Method")
    set_widths(sheet, _WIDTHS)
    set_page(sheet, report_id=front.report_id)
    sheet.text(1, 1, "Method", TITLE)
    set_height(sheet, 1, 1, size=TITLE.size)
    row = 2
    for title, lines in _sections(front, cases):
        row = _write_section(sheet, row + 1, title, lines)
    sheet.worksheet.freeze_panes = "A2"


def _sections(front: Front, cases: Sequence[Case]) -> list[tuple[str, Lines]]:
    session = front.session
    return [
        ("How results come about", STEPS),
        *([("Heat runs", [*HEAT, *_heat_logs(session)])] if has_heat(session) else []),
        ("Decision rule and its risk", _rules(front, cases)),
        ("Coverage", [("As written in this report", COVERAGE)]),
        ("Meters and leads", _set_ups(session)),
        ("Coil temperatures", _temperatures(session)),
        ("Limits", _limits(front.variant, cases)),
        ("Constants", _constants()),
        ("Told by the customer", _from_customer(session.job_now, front.variant)),
        ("What a report names, and where it is", _report_items(front)),
        ("Statements", [("", statement) for statement in STATEMENTS]),
        ("How to check this report", [("Head", session.head), ("", CHECKING)]),
        ("Program and versions", _versions(front)),
        ("Cautions", CAUTIONS),
    ]


def _write_section(sheet: Sheet, row: int, title: str, lines: Lines) -> int:
    sheet.text(row, 1, title, SECTION)
    for label, text in lines:
        row += 1
        sheet.text(row, 1, label, LABEL)
        sheet.text(row, 2, text, PARAGRAPH)
        set_height(sheet, row, max(lines_of(label, _WIDTHS[0]), lines_of(text, _WIDTHS[1])))
    return row + 1


def _rules(front: Front, cases: Sequence[Case]) -> Lines:
    used = {front.judged.rule, *(case.judgement.rule for case in cases)}
    rules = [(RULE_TEXT[rule], RULES[rule]) for rule in Rule if rule in used]
    return [
        *rules,
        ("On a limit, and open", ON_A_LIMIT),
        ("It applies to", "every row of the sheets Readings and Summary that has limits"),
    ]


def _readings(session: Session) -> list[Reading]:
    return [item.body for item in session.items if isinstance(item.body, Reading)]


def _set_ups(session: Session) -> Lines:
    counts = Counter((meter_words(reading), lead_words(reading)) for reading in _readings(session))
    used = [(meter, f"{leads}; {count} entries") for (meter, leads), count in counts.items()]
    checks = [
        (f"Meter check, entry {item.n}", check_words(item.body))
        for item in session.items
        if isinstance(item.body, MeterCheck)
    ]
    return [*used, *checks] or [("", "No resistance was read.")]


def _heat_logs(session: Session) -> Lines:
    """Each logger's file with what was measured in it."""
    bodies = [(item.n, item.body) for item in session.items if isinstance(item.body, HeatTest)]
    return [(f"Logger\u2019s file, entry {n}", heat_words(body)) for n, body in bodies]


def check_words(check: MeterCheck) -> str:
    """A known resistor as it was read, with what."""
    zero = f", tips {check.zero_read_ohm:g} {OHM}" if check.zero_read_ohm is not None else ""
    meter = check.meter_id or check.meter or "the assumed meter"
    resistor = f"{check.check_ohm:g} {OHM} within {check.check_pct:g} % read as {check.read_ohm:g} {OHM}{zero}"
    return f"{resistor}; {meter}; {LEAD_TEXT[check.leads]}"


def _temperatures(session: Session) -> Lines:
    counts = Counter((temperature_words(reading), _half_width(reading)) for reading in _readings(session))
    return [(words, f"{width}; {count} entries") for (words, width), count in counts.items()]


def _half_width(reading: Reading) -> str:
    if reading.u_celsius is not None:
        return "taken as given"
    half_width = reading.half_width_celsius()
    if half_width is None:
        return "no correction can be trusted: such readings are not usable"
    given = reading.celsius_accuracy is not None
    return f"half-width {half_width:g} K of a rectangle, {'as given' if given else 'common practice, no source'}"


def _limits(variant: Variant | None, cases: Sequence[Case]) -> Lines:
    if variant is None:
        given = any(case.row.limit_source for case in cases)
        return [("", "given with the readings" if given else "no variant, and no limits were given")]
    devices = [(device.name, _device_words(device)) for device in variant.devices if isinstance(device, Coil)]
    others = [(device.name, source_text(device.source)) for device in variant.devices if not isinstance(device, Coil)]
    isolation = variant.isolation
    least = (
        []
        if isolation is None
        else [("Isolation", f"{ohm_text(isolation.min_ohm)} or more; {source_text(isolation.source)}")]
    )
    return [*devices, *others, *least]


def _device_words(device: Coil) -> str:
    limits = limits_text(device.low_ohm, device.high_ohm)
    if not limits:
        return "no limits stated"
    at = celsius_text(device.ref_celsius) if device.ref_celsius is not None else "a temperature that is not stated"
    return f"{limits} {OHM} at {at}; conductor constant k = {device.k:g}; {source_text(device.source)}"


def _constants() -> Lines:
    return [
        (
            "Conductor constant of copper",
            (
                f"k = {COPPER_K_CELSIUS:g} \u00b0C: IEC 60028, 0.00393 per K at 20 \u00b0C (1/0.00393 - 20 = "
                "234.45, rounded); IEC 60034-1 uses 235. Where a variant states its own, that one is used "
                "(section Limits)."
            ),
        ),
        (
            "Reference not stated",
            (
                f"{ASSUMED_REF_CELSIUS:g} \u00b0C assumed, plus or minus {ASSUMED_REF_HALF_WIDTH_CELSIUS:g} K added: "
                f"common practice, no source."
            ),
        ),
        (
            "Like conditions",
            (
                f"Windings within {SAME_COPPER_CELSIUS:g} K, others within {SAME_OTHER_CELSIUS:g} K are judged "
                f"together; within {SAME_PLATEAU_CELSIUS:g} K readings answer the same question: common practice, "
                "no source."
            ),
        ),
        (
            "Contacts",
            (
                f"open means {ohm_text(SWITCH_OPEN_MIN_OHM)} or more, closed {SWITCH_CLOSED_MAX_OHM:g} {OHM} or "
                "less where nothing is stated: common practice, no source."
            ),
        ),
        ("One dominating rectangle", "ratio 3.33, k = 1.653: EA-4/02, example S9 and JCGM 100:2008, G.1"),
    ]


def _from_customer(job: OpenJob, variant: Variant | None) -> Lines:
    told = [(detail.label, detail.text) for detail in job_details(job, variant) if detail.origin == FROM_CUSTOMER]
    return told or [("", "Nothing.")]


def _report_items(front: Front) -> Lines:
    """The list is ISO/IEC 17025:2017, 7.8.2.1 and 7.8.6.2, in our words; what is not known is said."""
    session, job = front.session, front.session.job
    return [
        ("Title", "sheet Summary"),
        ("Name and address of the shop", NOT_RECORDED),
        ("Where it was done", NOT_RECORDED),
        (
            "Number of the report, its end",
            f"{front.report_id}; pages are numbered at the foot, the end mark is on sheet Summary",
        ),
        ("Customer and how to reach them", job.customer or NOT_RECORDED),
        ("Method", "this sheet"),
        ("Item and its condition", "sheet Summary, Job and As found"),
        ("Received", f"job opened {session.entries[0].at}"),
        ("Done", _dates(session)),
        ("Issued", front.printed_at),
        ("Sampling", "none: every item named was measured itself"),
        ("Results with units", "sheets Summary, Readings, Air and, where there are heat runs, Heat"),
        ("Deviations from the method", "none are kept apart: see the notes on sheets Readings, Air and Trail"),
        (
            "Released by",
            f"{session.close.by}, {session.close.at}"
            if session.close is not None
            else "not released: the session is not closed",
        ),
        ("From other providers", "none is recorded"),
        (
            "Specification held against",
            front.variant.title if front.variant is not None else "limits given with the readings, if any",
        ),
        ("Who did what, and when", "sheet Trail"),
    ]


def _dates(session: Session) -> str:
    days = [item.at for item in session.items]
    return f"{min(days)} to {max(days)}" if days else "nothing was measured"


def _versions(front: Front) -> Lines:
    close = front.session.close
    by_close = getattr(close.body, "program", "") if close is not None else ""
    return [
        ("Report made by", f"{front.program}, Python {platform.python_version()}"),
        ("Job opened by", front.session.job.program or NOT_RECORDED),
        *([("Session closed by", by_close)] if by_close else []),
        ("Variant file, SHA-256", front.session.job.variant or "no variant"),
    ]
