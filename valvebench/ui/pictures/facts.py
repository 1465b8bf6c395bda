"""What the pictures of a session say and show, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from valvebench.bench.story import INVENTED
from valvebench.judge.device_limits import limits_of, source_text
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.judge.targets import isolation_limits
from valvebench.model.entry import Note
from valvebench.model.errors import bad
from valvebench.model.format import celsius_text
from valvebench.model.limits import Limits
from valvebench.model.session import Session
from valvebench.model.variant import AnyDevice, Face, Solenoid, TemperatureSensor, Variant
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Verdict
from valvebench.ui.findings.shown import limit_words
from valvebench.ui.pins.faces import spots_of
from valvebench.ui.pins.marks import pin_marks
from valvebench.ui.pins.shown import KIND_TEXT, PlotShown, plot_shown
from valvebench.ui.widgets.face_geometry import PinSpot

INVENTED_JOB: Final = "Invented data: this is a demo job, no part was measured."
INVENTED_LIMITS: Final = "The variant calls its own data invented: its limits are no maker's limits."
EACH_MARK: Final = "Each mark is one row of readings with its expanded uncertainty (about 95 %)."
BAND: Final = "The tinted band is where the limits lie at each coil temperature."
EACH_PIN: Final = "A pin shows the worst of its devices; a common shows faults of its own only."
NOTHING: Final = "a job with a variant: without one there is neither a connector nor a limit to draw"
_HEAD_DIGITS: Final = 16
_SENSOR_CELSIUS: Final = 20.0


@dataclass(frozen=True, kw_only=True)
class About:
    """What every picture of a session says of it."""

    job: str
    invented: str
    footer: str


@dataclass(frozen=True, kw_only=True)
class Line:
    """One device in words: its mark, its name and pins, its limits and their source."""

    verdict: Verdict
    words: str
    limits: str


@dataclass(frozen=True, kw_only=True)
class FacePicture:
    """A connector with its marks."""

    name: str
    title: str
    about: About
    told: tuple[str, ...]
    spots: tuple[PinSpot, ...]
    marks: dict[str, Verdict | None] = field(default_factory=dict)
    lines: tuple[Line, ...] = ()
    is_round: bool = False
    is_turned: bool = False


@dataclass(frozen=True, kw_only=True)
class PlotPicture:
    """One solenoid against its temperature."""

    name: str
    title: str
    about: About
    told: tuple[str, ...]
    plot: PlotShown
    verdict: Verdict
    verdict_words: str


Picture = FacePicture | PlotPicture


def pictures_of(session: Session, variant: Variant | None, judged: SessionJudgement, *, program: str) -> list[Picture]:
    """Every connector, then every solenoid that was read, named so that the names sort.

    Raises
    ------
    BadInput : where there is nothing to draw.
    """
    if variant is None or not variant.pins:
        raise bad("pictures", "no variant" if variant is None else "no pins", NOTHING)
    about = _about(session, variant, program)
    drawn: list[Picture] = list(_faces(variant, judged, about))
    drawn += list(_plots(variant, judged, about))
    return drawn


def file_names(pictures: Sequence[Picture]) -> list[str]:
    """A name for each file: its place, as wide as the last one's, then what it shows."""
    width = max(2, len(str(len(pictures))))
    return [f"{place:0{width}d}-{_plain(one.name)}.png" for place, one in enumerate(pictures, start=1)]


def _plain(name: str) -> str:
    kept = "".join(sign if sign.isalnum() else "-" for sign in name).strip("-")[:60]
    return kept or "picture"


def _about(session: Session, variant: Variant, program: str) -> About:
    job = session.job
    parts = (f"Job {job.job}", job.vehicle or "", variant.title, f"body serial {job.serial}" if job.serial else "")
    head, _, digits = session.head.partition(":")
    return About(
        job=" \u00b7 ".join(part for part in (*parts, _days(session)) if part),
        invented=_invented(session, variant),
        footer=f"{program} \u00b7 head {head}:{digits[:_HEAD_DIGITS]}",
    )


def _days(session: Session) -> str:
    """The day of the session's entries, or the first and the last."""
    days = [datetime.fromisoformat(entry.at).date().isoformat() for entry in session.entries]
    return days[0] if days[0] == days[-1] else f"{days[0]} to {days[-1]}"


def _invented(session: Session, variant: Variant) -> str:
    notes = (item.body for item in session.items_of("note"))
    if any(isinstance(note, Note) and note.text == INVENTED for note in notes):
        return INVENTED_JOB
    return INVENTED_LIMITS if "invented" in f"{variant.title} {variant.note}".lower() else ""


# -- connectors --------------------------------------------------------------------------------


def _faces(variant: Variant, judged: SessionJudgement, about: About) -> Iterator[FacePicture]:
    marks = pin_marks(variant, lambda key: judged.items.get(key, Verdict.NOT_TAKEN))
    for face in variant.faces or (None,):
        spots = spots_of(variant, face)
        if spots:
            shown = {spot.name: marks[spot.name][0] for spot in spots}
            yield _face(variant, face, about, spots=tuple(spots), marks=shown, judged=judged)


def _face(
    variant: Variant,
    face: Face | None,
    about: About,
    *,
    spots: tuple[PinSpot, ...],
    marks: dict[str, Verdict | None],
    judged: SessionJudgement,
) -> FacePicture:
    name = f"Connector {face.name}" if face is not None else "Connector"
    is_turned = face is not None and face.seen_from == "wire"
    here = {spot.name for spot in spots}
    on_face = [device for device in variant.devices if here & set(device.between)]
    return FacePicture(
        name=name,
        title=f"{name}, seen from the {'wire' if is_turned else 'mating'} side",
        about=about,
        told=(_rule(judged), *_isolation(variant), EACH_PIN),
        spots=spots,
        marks=marks,
        lines=tuple(_line(device, judged) for device in on_face),
        is_round=face is not None and face.layout == "ring",
        is_turned=is_turned,
    )


def _rule(judged: SessionJudgement) -> str:
    return f"Judged by the rule: {RULE_TEXT[judged.rule]}."


def _isolation(variant: Variant) -> tuple[str, ...]:
    limits = isolation_limits(variant)
    return (f"Isolation to the case: {_limits_words(limits)}.",) if limits.is_stated else ()


def _line(device: AnyDevice, judged: SessionJudgement) -> Line:
    verdict = judged.items.get(f"device {device.name}", Verdict.NOT_TAKEN)
    kind = KIND_TEXT.get(str(type(device).__struct_config__.tag), "")
    name = f"{kind} {device.name}".strip()
    return Line(
        verdict=verdict,
        words=f"{name}, {device.between[0]}\u2013{device.between[1]}: {VERDICT_TEXT[verdict].lower()}",
        limits=_device_limits(device),
    )


def _device_limits(device: AnyDevice) -> str:
    words = _limits_words(limits_of(device, _SENSOR_CELSIUS))
    return f"at {celsius_text(_SENSOR_CELSIUS)}: {words}" if isinstance(device, TemperatureSensor) else words


def _limits_words(limits: Limits) -> str:
    if not limits.is_stated:
        return "no limit stated"
    at = f" at {celsius_text(limits.ref_celsius)}" if limits.k_celsius is not None else ""
    unsure = "" if limits.is_ref_stated or limits.k_celsius is None else " (assumed: the source does not state it)"
    return f"{limit_words(limits.low_ohm, limits.high_ohm)}{at}{unsure}; {limits.source or source_text(None)}"


# -- against temperature -----------------------------------------------------------------------


def _plots(variant: Variant, judged: SessionJudgement, about: About) -> Iterator[PlotPicture]:
    for device in variant.devices:
        rows = tuple(row for row in judged.rows if row.key == f"device {device.name}")
        if isinstance(device, Solenoid) and rows:
            title = f"Solenoid {device.name} against its temperature"
            shown = plot_shown(title, device, rows, None)
            if shown.marks:
                yield _plot(device, shown, rows, judged, about)


def _plot(
    device: Solenoid, shown: PlotShown, rows: tuple[Row, ...], judged: SessionJudgement, about: About
) -> PlotPicture:
    verdict = judged.items[f"device {device.name}"]
    limits = _limits_words(limits_of(device, _SENSOR_CELSIUS))
    counted = "one row of readings" if len(rows) == 1 else f"{len(rows)} rows of readings"
    return PlotPicture(
        name=f"Solenoid {device.name}",
        title=shown.title,
        about=about,
        told=(
            f"Limits: {limits}.",
            _rule(judged),
            *_left_out(rows, shown),
            f"{EACH_MARK} {BAND}" if shown.band else EACH_MARK,
        ),
        plot=shown,
        verdict=verdict,
        verdict_words=f"{VERDICT_TEXT[verdict]}, from {counted}",
    )


def _left_out(rows: tuple[Row, ...], shown: PlotShown) -> tuple[str, ...]:
    """Rows without a number cannot stand on the plot; they are named, so that nothing bad is left out in silence."""
    left = len(rows) - len(shown.marks)
    if not left:
        return ()
    what = "1 row of readings has" if left == 1 else f"{left} rows of readings have"
    return (f"{what} no number to draw, such as open.",)
