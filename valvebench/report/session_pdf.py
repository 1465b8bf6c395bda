"""A session's report as PDF: verdict, job, every item with its reason, the method in short, the head."""

from __future__ import annotations

from typing import Final

from valvebench.bench.handing import head_text, tag_facts, tag_text
from valvebench.judge.session import session_sentence
from valvebench.model.entry import MeterCheck, Reading
from valvebench.model.format import stamp_text
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Rule
from valvebench.report.form import Block, Form, Head, Line, Lines, Table, Words
from valvebench.report.form_pdf import form_pdf
from valvebench.report.found import found_facts
from valvebench.report.identity import FROM_CUSTOMER, given_words, job_details
from valvebench.report.method import check_words
from valvebench.report.method_text import CHECKING, COVERAGE, ON_A_LIMIT, RULES, STATEMENTS
from valvebench.report.method_words import gauges_text, kinds_text
from valvebench.report.summary import CAUTION, OPEN_SESSION, Front, Item, items_of, row_words, ruler_of
from valvebench.report.words import lead_words, meter_words, temperature_words

_HEADS: Final = (Head("Item", 2), Head("Verdict", 1), Head("Value and limits", 4), Head("Why", 5))
_NOTHING: Final = "Nothing was taken, and nothing is asked for."


def session_pdf(front: Front) -> bytes:
    """The bytes of the PDF, the same for the same report; Qt is loaded only here."""
    return form_pdf(session_form(front), printed_at=front.printed_at)


def session_form(front: Front) -> Form:
    """The report in words, over as many pages as it needs."""
    session = front.session
    variant = f", {front.variant.title}" if front.variant is not None else ", no variant"
    serial = f", serial {session.job.serial}" if session.job.serial else ""
    items = items_of(front.judged)
    return Form(
        title="Valve body test report",
        about=f"Job {session.job.job}{variant}{serial}",
        word=VERDICT_TEXT[front.judged.verdict],
        sentence=session_sentence(front.judged),
        blocks=(
            *([] if session.is_closed else [Words(text=OPEN_SESSION)]),
            _report(front),
            _job(front),
            Table(
                title="Items",
                heads=_HEADS,
                rows=tuple(_row(item) for item in items),
                verdicts=1,
                rulers=tuple(ruler_of(item.row) for item in items),
                ruled=2,
                none=_NOTHING,
            ),
            *_found(front),
            _method(front),
            Words(title="Statements", text=" ".join((CAUTION, *STATEMENTS[1:])), is_quiet=True),
            Words(text=f"End of report {front.report_id}.", is_quiet=True),
        ),
        foot=f"Report {front.report_id}, printed {stamp_text(front.printed_at)} by {front.program}",
        code=tag_text(tag_facts(session, front.variant)) if session.is_closed else "",
        is_one_page=False,
    )


def _report(front: Front) -> Lines:
    session = front.session
    closed = f"closed {stamp_text(session.close.at)} by {session.close.by}" if session.close is not None else "open"
    count = f"{len(session.entries)} entries, {session.tail} of them after the head"
    lines = (
        Line("Report", f"{front.report_id}, printed {stamp_text(front.printed_at)} by {front.program}"),
        Line("Session", f"{session.job.session}, {count}; {closed}"),
        Line("Head", head_text(session.head), is_code=True),
        Line("Head was given", given_words(session)),
    )
    return Lines(title="This report", lines=lines)


def _job(front: Front) -> Lines:
    details = job_details(front.session.job, front.variant)
    lines = tuple(
        Line(one.label, f"{one.text} ({one.origin})" if one.origin == FROM_CUSTOMER else one.text) for one in details
    )
    return Lines(title="Job", lines=lines, columns=2)


def _row(item: Item) -> tuple[str, ...]:
    value, limits, entries, why = row_words(item.row)
    told = f"{why} Entries: {entries}." if entries else why
    numbers = "\n".join(part for part in (value, f"limits {limits}" if limits else "") if part)
    return item.what, VERDICT_TEXT[item.verdict], numbers, told


def _found(front: Front) -> list[Block]:
    lines = tuple(Line(label, text) for label, text in found_facts(front.session))
    return [Lines(title="As found", lines=lines)] if lines else []


def _method(front: Front) -> Lines:
    """In short: rule and risk, coverage, meters, temperatures; the workbook has all of it."""
    session = front.session
    readings = [item.body for item in session.items if isinstance(item.body, Reading)]
    used = {row.judgement.rule for row in front.judged.rows if row.judgement is not None} | {front.judged.rule}
    checks = [f"entry {i.n}: {check_words(i.body)}" for i in session.items if isinstance(i.body, MeterCheck)]
    rules = [Line(f"Rule: {RULE_TEXT[rule]}", RULES[rule]) for rule in Rule if rule in used]
    meters = dict.fromkeys(f"{meter_words(one)}, {lead_words(one)}" for one in readings)
    lines = (
        Line("Measured", kinds_text(session.items) or "nothing"),
        *rules,
        Line("On a limit", ON_A_LIMIT),
        Line("Coverage", COVERAGE),
        Line("Meters and leads", "; ".join(meters) or "no resistance was read"),
        Line("Gauges", gauges_text(session.items) or "none named"),
        Line("Meter checks", "; ".join(checks) or "none recorded"),
        Line("Coil temperatures", "; ".join(dict.fromkeys(map(temperature_words, readings))) or "none recorded"),
        Line("To check it", CHECKING),
    )
    return Lines(title="Method in short", lines=lines)
