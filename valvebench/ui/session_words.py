"""What the strip and the folders call a session.  No Qt."""

from __future__ import annotations

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


def folder_name(job: str) -> str:
    """A folder name from a job number: letters, digits and hyphens."""
    kept = "".join(sign if sign.isalnum() else "-" for sign in job).strip("-")
    return f"job-{kept}" if kept else "job"
