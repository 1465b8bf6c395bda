"""The first line of a kept journal: what is asked of it beside the index, such as the kind of job."""

from __future__ import annotations

from typing import Final

import msgspec

from valvebench.model.errors import EvidenceBroken
from valvebench.model.words import JobKind

FIRST_LINE: Final = "substr(j.bytes, 1, instr(j.bytes, x'0a') - 1)"
"""SQL for it, where `j` is the table of journals."""
_DAMAGED: Final = (
    "The first line of a kept session cannot be read, so its kind of job is not known. "
    "'valvebench archive verify' names the session; bring the archive back from a backup."
)


class JobTold(msgspec.Struct):
    """What was said of the job when it was opened."""

    kind: JobKind = JobKind.COMPLAINT
    odometer_km: float | None = None


class _FirstLine(msgspec.Struct):
    body: JobTold


def job_told(line: bytes | None) -> JobTold:
    """From the bytes of the line; None where it was not asked for (raises EvidenceBroken)."""
    if line is None:
        return JobTold()
    try:
        return msgspec.json.decode(line, type=_FirstLine).body
    except (msgspec.MsgspecError, UnicodeDecodeError):
        raise EvidenceBroken(_DAMAGED) from None
