"""What the strip says of a session.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Protocol

from valvebench.model.entry import OpenJob
from valvebench.model.format import OHM
from valvebench.model.meter import Check
from valvebench.model.variant import Coil, Solenoid, Switch, Variant
from valvebench.model.words import VERDICT_TEXT, JobKind, Verdict

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.judge.session import SessionJudgement

_DEVICE: Final = "device "


def asks_by_ear(variant: Variant | None) -> bool:
    """Whether the Ports page has anything to ask."""
    return variant is not None and bool(variant.ports or any(isinstance(d, Switch | Solenoid) for d in variant.devices))


def asks_heat(variant: Variant | None) -> bool:
    """Whether there can be a winding to warm; a body without a variant may hold any."""
    return variant is None or any(isinstance(device, Coil) for device in variant.devices)


def variant_words(variant: Variant) -> tuple[str, str]:
    """Title and size of a variant."""
    solenoids = sum(isinstance(device, Solenoid) for device in variant.devices)
    counts = ((len(variant.pins), "pin"), (solenoids, "solenoid"), (len(variant.ports), "port"))
    return variant.title, ", ".join(f"{number} {word}{'' if number == 1 else 's'}" for number, word in counts)


def verdict_words(judged: SessionJudgement) -> tuple[str, str]:
    """The session's verdict as a sentence, and what else there is to know."""
    failed = [key for key, verdict in judged.items.items() if verdict is Verdict.FAIL]
    names = _names(failed)
    rest = brief_scope(judged.scope)
    if not names:
        return VERDICT_TEXT[judged.verdict], rest
    if len(names) == 1:
        is_device = failed[0].startswith(_DEVICE)
        return f"Fail: {names[0]}{' is outside its limits' if is_device else ''}", rest
    more = f" and {len(names) - 2} more" if len(names) > 2 else ""
    joint = ", " if more else " and "
    return f"Fail: {joint.join(names[:2])}{more}", rest


def _names(keys: Sequence[str]) -> list[str]:
    """Items for people, each device once; one that fails in a heat run or a flex test only says so."""
    from valvebench.judge.flex_rows import FLEX_KEY
    from valvebench.judge.heat_rows import HEAT_KEY

    cold = {key.removeprefix(_DEVICE) for key in keys if key.startswith(_DEVICE)}
    warm = {key: key.removeprefix(HEAT_KEY) for key in keys if key.startswith(HEAT_KEY)}
    flexed = {key: key.removeprefix(FLEX_KEY) for key in keys if key.startswith(FLEX_KEY)}
    words = {key: f"{name} in the heat run" for key, name in warm.items()}
    words |= {key: f"{name} in the flex test" for key, name in flexed.items()}
    named = warm | flexed
    return [words.get(key, key.removeprefix(_DEVICE)) for key in keys if named.get(key) not in cold]


def check_words(check: Check | None) -> str:
    """The meter check that serves, as it stands before the leads; nothing where there is none."""
    return f"{check.ohm:.5g} {OHM} check \u00b7 " if check is not None else ""


def brief_scope(scope: str) -> str:
    """How far the verdict reaches, in one short line: the first count of each half; Findings tells the others."""
    return ", ".join(half.split(", ")[0] for half in scope.split("; "))


class ShowsCells(Protocol):
    """The strip on top."""

    def set_cell(self, name: str, head: str, sub: str = "") -> None:
        """Write the two lines of one cell."""
        ...

    def set_verdict(self, verdict: Verdict, head: str, sub: str = "") -> None:
        """Write the verdict with its mark."""
        ...


def job_title(job: OpenJob) -> str:
    """A session by its number; an enquiry has no name of its own and says what it is."""
    return f"{'Enquiry' if job.kind is JobKind.ENQUIRY else 'Job'} {job.job}"


def write_job(strip: ShowsCells, job: OpenJob, variant: Variant | None) -> None:
    """Job and variant of a session."""
    where = " \u00b7 ".join(part for part in (job.vehicle, f"body serial {job.serial}" if job.serial else None) if part)
    strip.set_cell("job", job_title(job), where or job.kind.value.replace("_", " "))
    strip.set_cell("variant", *(variant_words(variant) if variant is not None else ("No variant", "")))


def write_judging(strip: ShowsCells) -> None:
    """The verdict is still on its way."""
    strip.set_verdict(Verdict.NOT_FINISHED, "Judging \u2026", "")


def write_strip(strip: ShowsCells, desk: Desk, judged: SessionJudgement | None) -> None:
    """Job, variant and verdict of a session; without a judgement it is still being judged."""
    write_job(strip, desk.job, desk.variant)
    if judged is None:
        write_judging(strip)
        return
    saved = "Closed" if desk.is_closed else "All kept"
    head, sub = verdict_words(judged)
    strip.set_verdict(judged.verdict, head, f"{saved} \u00b7 {sub}")
