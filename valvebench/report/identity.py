"""What makes a report this report: its id, where its head was left, which data came from the customer."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.bench.handing import GIVEN_TEXT, given_lines
from valvebench.model.entry import Anchor, OpenJob
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import AnchorKind, JobKind

KIND_TEXT: Final = MappingProxyType(
    {
        JobKind.COMPLAINT: "complaint",
        JobKind.BENCH_CHECK: "bench check, no vehicle",
        JobKind.ENQUIRY: "enquiry",
    }
)
FROM_CUSTOMER: Final = "as told by the customer, not checked here"
FROM_PART: Final = "as read off the part or the paper with it"
FROM_SHOP: Final = "ours"
NOT_RECORDED: Final = "not recorded in this session"


class Detail(NamedTuple):
    """One line of the job data and where it came from."""

    label: str
    text: str
    origin: str


def report_id(session: Session, *, printed_at: str, program: str) -> str:
    """A name that no other report has: it changes with the session, its head and the time of printing."""
    told = f"{session.job.session}\n{session.job.job}\n{session.entries[-1].sha256}\n{printed_at}\n{program}"
    digits = hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:12].upper()
    return "-".join((digits[:4], digits[4:8], digits[8:]))


def anchor_words(anchors: tuple[Anchor, ...]) -> str:
    """Who else holds the head; without anyone a rebuilt journal could not be told."""
    kinds = {anchor.kind for anchor in anchors}
    if not kinds:
        return "not anchored: nobody else was given the head"
    if kinds == {AnchorKind.OWN_ARCHIVE}:
        return "kept by the shop only"
    return "; ".join(_one_anchor(anchor) for anchor in anchors)


def given_words(session: Session) -> str:
    """The same with the time of each, for a page that is read on its own."""
    kinds = {anchor.kind for anchor in session.anchors}
    return "; ".join(given_lines(session)) if kinds - {AnchorKind.OWN_ARCHIVE} else anchor_words(session.anchors)


def _one_anchor(anchor: Anchor) -> str:
    return GIVEN_TEXT[anchor.kind] + (f", to {anchor.to}" if anchor.to else "")


def job_details(job: OpenJob, variant: Variant | None) -> list[Detail]:
    """Everything that is known of the job, each with its origin."""
    details = (
        Detail("Job", job.job, FROM_SHOP),
        Detail("Kind of job", KIND_TEXT[job.kind], FROM_SHOP),
        Detail("Customer", job.customer or "", FROM_CUSTOMER),
        Detail("Vehicle", job.vehicle or "", FROM_CUSTOMER),
        Detail("Odometer", f"{job.odometer_km:g} km" if job.odometer_km is not None else "", FROM_CUSTOMER),
        Detail("Complaint", complaint_words(job), FROM_CUSTOMER),
        Detail("Variant", _variant_words(variant), FROM_SHOP),
        Detail("Part", job.part or "", FROM_PART),
        Detail("Batch", job.batch or "", FROM_PART),
        Detail("Date and trim code", job.trim or "", FROM_PART),
        Detail("Serial", job.serial or "", FROM_PART),
        Detail("Our own mark", job.mark or "", FROM_SHOP),
        Detail("Supplier and invoice", job.supplier or "", FROM_SHOP),
        Detail("Comeback of job", job.comeback_of or "", FROM_SHOP),
    )
    return [detail for detail in details if detail.text]


def complaint_words(job: OpenJob) -> str:
    """The complaint as one line, empty where nothing was said."""
    parts = (("shift", job.shift), ("when", job.when), ("feels like", job.feel))
    return ", ".join(f"{label} {text}" for label, text in parts if text)


def _variant_words(variant: Variant | None) -> str:
    if variant is None:
        return ""
    note = f"; {variant.note}" if variant.note else ""
    return f"{variant.title} ({variant.key}){note}"


def moment(rfc3339: str) -> datetime | None:
    """A time stamp as the file's own date, in universal time; None where it is none."""
    try:
        stamp = datetime.fromisoformat(rfc3339)
    except ValueError:
        return None
    return stamp.astimezone(UTC).replace(tzinfo=None, microsecond=0) if stamp.tzinfo is not None else stamp
