"""The claim page: what failed, against whose limit, how it was measured, and how anyone can check that it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from valvebench.bench.claiming import ClaimFacts, FailedItem
from valvebench.bench.handing import head_text, tag_facts, tag_text
from valvebench.judge.session import session_sentence
from valvebench.model.entry import AnyBody, FluidFound, MeterCheck, Note, Outcome, Photo, Reading
from valvebench.model.flex import FlexTest
from valvebench.model.format import OHM, celsius_text, stamp_text
from valvebench.model.heat import HeatTest
from valvebench.model.session import Item
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Comeback, Verdict
from valvebench.report.form import (
    NOT_RECORDED,
    Block,
    Form,
    Head,
    Line,
    Lines,
    Photos,
    Printing,
    Shown,
    Signatures,
    Table,
    Words,
    missing_labels,
    told,
)
from valvebench.report.form_pdf import form_pdf
from valvebench.report.form_sheet import form_xlsx
from valvebench.report.found import COOLER, cooler_words
from valvebench.report.identity import given_words, report_id
from valvebench.report.method import check_words
from valvebench.report.method_words import gauges_text, method_words
from valvebench.report.summary import row_name, row_words, ruler_of
from valvebench.report.words import field_words, lead_words, meter_words, temperature_words

SHEET: Final = "Claim"
_HEADS: Final = (Head("Item", 2), Head("Verdict", 1), Head("Value, limit and whose limit", 4), Head("How measured", 5))
_NONE_FAILED: Final = "No item failed in this session. What was measured is told by its report."
_MOST_PHOTOS: Final = 6
STATEMENT: Final = (
    "The results relate only to the item tested, as it was received, at the conditions stated. The shop answers for "
    "everything here except what the customer told. No accreditation is claimed. A bench pass is not a road test."
)
CHECK: Final = "valvebench verify SESSION --head {head} finds any change to what was kept up to this head."
_COMEBACK: Final = {
    Comeback.NO: "no",
    Comeback.COLD: "yes, fault when cold",
    Comeback.HOT: "yes, fault when hot",
}
_MARK: Final = "mark"


def claim_form(facts: ClaimFacts, printing: Printing) -> Form:
    """The page in words; a photo that is missing is said to be missing."""
    job = facts.job
    variant = facts.variant.title if facts.variant is not None else "no variant"
    serial = f", serial {job.serial}" if job.serial else ""
    parts = (_dates(facts), _marks(facts), _found(facts), _evidence(facts))
    missing = [label for part in parts for label in missing_labels(part.lines)]
    number = report_id(facts.session, printed_at=printing.printed_at, program=printing.program)
    return Form(
        title="Claim page",
        about=f"Job {job.job}, {variant}{serial}. Closed {stamp_text(facts.closed.at)} by {facts.closed.by}.",
        word=VERDICT_TEXT[facts.judged.verdict],
        sentence=session_sentence(facts.judged),
        blocks=(
            parts[0],
            parts[1],
            *_failed_blocks(facts),
            parts[2],
            *_photo_blocks(facts, printing.photos),
            parts[3],
            *_missing(missing),
            Words(text=STATEMENT, is_quiet=True),
            Signatures(labels=("For the shop: name, signature", "Date", "For the supplier: name, signature")),
        ),
        foot=f"Claim {number}, printed {stamp_text(printing.printed_at)} by {printing.program}. End of the claim page.",
        code=tag_text(tag_facts(facts.session, facts.variant)),
    )


def claim_xlsx(facts: ClaimFacts, printing: Printing) -> bytes:
    """The bytes of the workbook with the claim page; the caller saves them."""
    form = claim_form(facts, printing)
    return form_xlsx(form, sheet=SHEET, program=printing.program, printed_at=printing.printed_at)


def claim_pdf(facts: ClaimFacts, printing: Printing) -> bytes:
    """The bytes of the PDF of the claim page; Qt is loaded only here."""
    return form_pdf(claim_form(facts, printing), printed_at=printing.printed_at)


# -- what came in, and when ----------------------------------------------------------------


def _dates(facts: ClaimFacts) -> Lines:
    job, outcomes = facts.job, facts.session.outcomes
    lines = (
        told("Supplier and invoice", job.supplier),
        told("Customer", job.customer),
        told("Vehicle", job.vehicle),
        told("Odometer, km", _km(job.odometer_km)),
        told("Came in", f"{stamp_text(facts.opened.at)}, by {facts.opened.by}"),
        told("Tested", _tested(facts.tested)),
        told("Fitted", _last(outcomes, _fitted)),
        told("Came back", _last(outcomes, lambda one: _COMEBACK[one.comeback] if one.comeback is not None else "")),
        told("Months fitted", _last(outcomes, lambda one: f"{one.months:g}" if one.months is not None else "")),
        told("Odometer then, km", _last(outcomes, lambda one: _km(one.odometer_km))),
        Line("Comeback of job", job.comeback_of or "none named"),
    )
    return Lines(title="Job", lines=lines, columns=2)


def _last(outcomes: Sequence[Outcome], words: Callable[[Outcome], str]) -> str:
    """What the newest outcome that tells says."""
    found = [words(one) for one in outcomes]
    return next((text for text in reversed(found) if text), "")


def _fitted(one: Outcome) -> str:
    return {True: "yes", False: "no", None: ""}[one.fitted]


def _km(odometer_km: float | None) -> str:
    return f"{odometer_km:.12g}" if odometer_km is not None else ""


def _tested(items: Sequence[Item]) -> str:
    if not items:
        return ""
    first, last = stamp_text(items[0].at), stamp_text(items[-1].at)
    people = ", ".join(dict.fromkeys(item.by for item in items))
    return f"{first}, by {people}" if first == last else f"{first} to {last}, by {people}"


def _marks(facts: ClaimFacts) -> Lines:
    job, variant = facts.job, facts.variant
    named = f"{variant.title} ({variant.key})" if variant is not None else ""
    seen = [item for item in facts.photos if isinstance(item.body, Photo) and _MARK in item.body.of.lower()]
    photographed = ", ".join(f"entry {item.n}" for item in seen)
    lines = (
        told("Variant", named),
        told("Part", job.part),
        told("Batch", job.batch),
        told("Date and trim code", job.trim),
        told("Serial", job.serial),
        told("Shop\u2019s own mark", job.mark),
        told("Photo of the mark", photographed),
    )
    return Lines(title="Item and its marks", lines=lines, columns=2)


# -- what failed ---------------------------------------------------------------------------


def _failed_blocks(facts: ClaimFacts) -> list[Block]:
    rows = tuple(_failed_row(one, facts) for one in facts.failed)
    rule = f"Rule of the session: {RULE_TEXT[facts.judged.rule]}."
    rulers = tuple(ruler_of(one.row) for one in facts.failed)
    table = Table(title="What failed", heads=_HEADS, rows=rows, verdicts=1, none=_NONE_FAILED, rulers=rulers, ruled=2)
    return [table, Words(text=rule, is_quiet=True)]


def _failed_row(one: FailedItem, facts: ClaimFacts) -> tuple[str, ...]:
    row = one.row
    value, limits, entries, why = row_words(row)
    judged = row.judgement or row.heat or row.leak or row.pressure or row.sweep
    rules = [f"Rule: {RULE_TEXT[judged.rule]}"] if judged is not None else []
    noun = "Entry" if len(row.entries) == 1 else "Entries"
    whose = row.limit_source or _whose(one, facts)
    result = [f"Value: {value}" if value else "", f"Limits: {limits}" if limits else "", f"Whose: {whose}", why]
    return (
        row_name(row),
        VERDICT_TEXT[Verdict.FAIL],
        "\n".join(part for part in result if part),
        "\n".join((*_how(one), *rules, f"{noun} {entries}: {_tested(one.taken) or NOT_RECORDED}")),
    )


def _whose(one: FailedItem, facts: ClaimFacts) -> str:
    """Where a row without a source of its own gets what it is held against."""
    row = one.row
    if row.flex is not None or (row.judgement is None and row.heat is not None):
        return "none is needed: an opening, a jump or a contact fails whatever the limits"
    if facts.variant is None:
        return "not stated"
    return f"as the variant {facts.variant.title} expects it; source not stated"


def _how(one: FailedItem) -> list[str]:
    readings = [item.body for item in one.taken if isinstance(item.body, Reading)]
    lines = [f"Method: {method_words(one.row, one.taken)}"]
    if readings:
        lines += [
            f"Meter: {_joined(meter_words(reading) for reading in readings)}",
            f"Leads: {_joined(lead_words(reading) for reading in readings)}",
            f"Last meter check: {_check(one.check)}",
            f"Coil temperature: {_joined(f'{celsius_text(r.celsius)}, {temperature_words(r)}' for r in readings)}",
        ]
    else:
        lines += [f"{label}: {text or NOT_RECORDED}" for label, text in _other_conditions(one.taken)]
    return lines


def _other_conditions(taken: Sequence[Item]) -> list[tuple[str, str]]:
    """Gauge or meter and temperature of a test that is no single resistance."""
    bodies = [item.body for item in taken]
    meters = [text for body in bodies if isinstance(body, FlexTest | HeatTest) and (text := _meter(body))]
    gauges = gauges_text(taken)
    return [
        ("Meter or gauge", _joined([*meters, *([gauges] if gauges else [])])),
        ("Temperature", _joined(text for body in bodies if (text := _celsius(body)))),
    ]


def _meter(body: FlexTest | HeatTest) -> str:
    named = body.meter_id if isinstance(body, FlexTest) else None
    return ", ".join(part for part in (named or "", f"{body.meter} {OHM}" if body.meter else "") if part)


def _celsius(body: AnyBody) -> str:
    if isinstance(body, HeatTest):
        return f"by the probe of the logger, plus or minus {body.celsius_accuracy:g} K"
    found = getattr(body, "celsius", getattr(body, "fluid_celsius", None))
    return celsius_text(found) if isinstance(found, float) else ""


def _check(item: Item | None) -> str:
    if item is None or not isinstance(item.body, MeterCheck):
        return "none before it with this meter and these leads"
    return f"{check_words(item.body)}; {stamp_text(item.at)}, entry {item.n}"


def _joined(texts: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(texts))


# -- as found, and the evidence ------------------------------------------------------------


def _found(facts: ClaimFacts) -> Lines:
    fluid = [item.body for item in facts.fluid if isinstance(item.body, FluidFound)]
    lines = (
        told("Fluid", _joined(_fluid(one) for one in fluid if _fluid(one))),
        told("Debris", _joined(one.debris for one in fluid if one.debris)),
        _cooler(facts),
        told("Photos", f"{len(facts.photos)} kept with the session" if facts.photos else ""),
    )
    return Lines(title="As found", lines=lines)


def _fluid(one: FluidFound) -> str:
    return field_words({k: v for k in ("colour", "smell", "level") if (v := getattr(one, k))})


def _cooler(facts: ClaimFacts) -> Line:
    """What was said of it, then notes that name it, word for word."""
    notes = [
        f"noted {stamp_text(item.at)} by {item.by}: \u201c{item.body.text}\u201d"
        for item in facts.cooler.notes
        if isinstance(item.body, Note)
    ]
    asked = "; ".join(facts.cooler.asked)
    missing = (
        f"{NOT_RECORDED}, though the checklist of the variant asks: \u201c{asked}\u201d" if asked else NOT_RECORDED
    )
    said = "; ".join(text for text in (cooler_words(facts.fluid), *notes) if text)
    return told(COOLER, said, missing=missing)


def _photo_blocks(facts: ClaimFacts, photos: Mapping[str, bytes]) -> list[Block]:
    taken = [(item, item.body) for item in facts.photos if isinstance(item.body, Photo)]
    shown = tuple(Shown(_caption(item, body, photos), photos.get(body.sha256)) for item, body in taken[:_MOST_PHOTOS])
    more = [f"entry {item.n}: {body.of}" for item, body in taken[_MOST_PHOTOS:]]
    blocks: list[Block] = [Photos(title="Photos", shown=shown)] if shown else []
    return (
        [*blocks, Words(text=f"Further photos in the session: {'; '.join(more)}.", is_quiet=True)] if more else blocks
    )


def _caption(item: Item, body: Photo, photos: Mapping[str, bytes]) -> str:
    gone = "" if body.sha256 in photos else " The picture is not there or not as it was."
    return f"{body.of}, entry {item.n}, {stamp_text(item.at)}.{gone}"


def _evidence(facts: ClaimFacts) -> Lines:
    session = facts.session
    count = f"{len(session.entries)} entries, {session.tail} of them after the head"
    lines = (
        Line("Head", head_text(session.head), is_code=True),
        told("Head was given", given_words(session)),
        Line("Session", f"{session.job.session}, {count}", is_code=True),
        told("To check it", CHECK.format(head="N:HEX")),
    )
    return Lines(title="Evidence", lines=lines)


def _missing(labels: Sequence[str]) -> list[Block]:
    """What nobody told, once more in one line: a reader asks for it before anything else."""
    text = f"Not recorded in this session: {', '.join(labels)}."
    return [Words(text=text, is_quiet=True)] if labels else []
