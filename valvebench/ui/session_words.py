"""What the strip says of a session.  No Qt."""

from __future__ import annotations

from typing import Protocol

from valvebench.bench.desk import Desk
from valvebench.judge.session import SessionJudgement
from valvebench.model.variant import Solenoid, Switch, Variant
from valvebench.model.words import VERDICT_TEXT, Verdict


def asks_by_ear(variant: Variant | None) -> bool:
    """Whether the Ports page has anything to ask."""
    return variant is not None and bool(variant.ports or any(isinstance(d, Switch | Solenoid) for d in variant.devices))


def variant_words(variant: Variant) -> tuple[str, str]:
    """Title and size of a variant."""
    solenoids = sum(isinstance(device, Solenoid) for device in variant.devices)
    return variant.title, f"{len(variant.pins)} pins, {solenoids} solenoids, {len(variant.ports)} ports"


def verdict_words(judged: SessionJudgement) -> tuple[str, str]:
    """The session's verdict as a sentence, and what else there is to know."""
    failed = [key.removeprefix("device ") for key, verdict in judged.items.items() if verdict is Verdict.FAIL]
    rest = judged.scope
    if not failed:
        return VERDICT_TEXT[judged.verdict], rest
    if len(failed) == 1:
        is_device = f"device {failed[0]}" in judged.items
        return f"Fail: {failed[0]}{' is outside its limits' if is_device else ''}", rest
    more = f" and {len(failed) - 2} more" if len(failed) > 2 else ""
    joint = ", " if more else " and "
    return f"Fail: {joint.join(failed[:2])}{more}", rest


class ShowsCells(Protocol):
    """The strip on top."""

    def set_cell(self, name: str, head: str, sub: str = "") -> None:
        """Write the two lines of one cell."""
        ...

    def set_verdict(self, verdict: Verdict, head: str, sub: str = "") -> None:
        """Write the verdict with its mark."""
        ...


def write_strip(strip: ShowsCells, desk: Desk, judged: SessionJudgement | None) -> None:
    """Job, variant and verdict of a session; without a judgement it is still being judged."""
    job, variant = desk.job, desk.variant
    where = " \u00b7 ".join(part for part in (job.vehicle, f"body serial {job.serial}" if job.serial else None) if part)
    strip.set_cell("job", f"Job {job.job}", where or job.kind.value.replace("_", " "))
    strip.set_cell("variant", *(variant_words(variant) if variant is not None else ("No variant", "")))
    if judged is None:
        strip.set_verdict(Verdict.NOT_FINISHED, "Judging \u2026", "")
        return
    saved = "Closed" if desk.is_closed else "All kept"
    head, sub = verdict_words(judged)
    strip.set_verdict(judged.verdict, head, f"{saved} \u00b7 {sub}")
