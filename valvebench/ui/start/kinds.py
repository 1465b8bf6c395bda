"""Which data a new job is asked for, by its kind, with the words to pick from.  No Qt."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.model.words import JobKind


class JobField(NamedTuple):
    """One field of a job: its name in files, its label, an example, and words to pick from."""

    name: str
    label: str
    hint: str = ""
    picks: tuple[str, ...] = ()


KIND_WORDS: Final = MappingProxyType(
    {
        JobKind.COMPLAINT: "Complaint: a vehicle and how it shifts",
        JobKind.BENCH_CHECK: "Bench check: a body, no vehicle",
        JobKind.ENQUIRY: "Enquiry: only a question, no number",
    }
)

# Words of the trade: common practice, no source.
SHIFTS: Final = (
    "1-2",
    "2-3",
    "3-4",
    "4-5",
    "5-6",
    "6-7",
    "downshift",
    "selector N-D",
    "selector N-R",
    "lock-up",
    "stopping",
)
WHENS: Final = ("always", "cold", "hot", "sometimes", "hot, after a long drive", "first shift of the day")
FEELS: Final = (
    "harsh",
    "bump",
    "flare",
    "slip",
    "late",
    "early",
    "bind-up",
    "shudder",
    "delayed",
    "no shift",
    "stuck in one gear",
)

FIELDS: Final = (
    JobField("job", "Job number", "2217"),
    JobField("serial", "Body serial", "0418-77"),
    JobField("customer", "Customer"),
    JobField("vehicle", "Vehicle", "what tells it from others"),
    JobField("shift", "Which shift or event", "5-6", SHIFTS),
    JobField("when", "When", "hot", WHENS),
    JobField("feel", "What it feels like", "bump", FEELS),
    JobField("part", "Part number"),
    JobField("odometer_km", "Odometer when it came in, km", "184210"),
    JobField("batch", "Batch"),
    JobField("trim", "Date and trim code"),
    JobField("mark", "Shop's own mark on the part"),
    JobField("supplier", "Supplier and invoice"),
    JobField("comeback_of", "Comeback of job"),
)
_FIRST: Final = MappingProxyType(
    {
        JobKind.COMPLAINT: ("job", "serial", "customer", "vehicle", "shift", "when", "feel"),
        JobKind.BENCH_CHECK: ("job", "serial", "part"),
        JobKind.ENQUIRY: ("customer", "part"),
    }
)
_NEVER: Final = MappingProxyType(
    {
        JobKind.COMPLAINT: frozenset[str](),
        JobKind.BENCH_CHECK: frozenset({"vehicle", "odometer_km", "shift", "when", "feel"}),
        JobKind.ENQUIRY: frozenset({"job"}),
    }
)


def first_fields(kind: JobKind) -> tuple[str, ...]:
    """What is asked for at once."""
    return _FIRST[kind]


def more_fields(kind: JobKind) -> tuple[str, ...]:
    """What stands behind "more"."""
    left_out = _NEVER[kind] | set(_FIRST[kind])
    return tuple(field.name for field in FIELDS if field.name not in left_out)
