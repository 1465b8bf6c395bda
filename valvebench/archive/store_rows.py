"""What the archive's index holds of one session: found in its journal, and found again the same."""

from __future__ import annotations

import hashlib
import math
import struct
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final, NamedTuple, TypeVar

from valvebench.archive.store_words import code_of, words_of
from valvebench.bench.archived import Fate, OutcomeTold
from valvebench.judge.again import CODE_OF, RULES
from valvebench.judge.codes import CODE_KIND
from valvebench.judge.diodes import polar_of
from valvebench.judge.functions import FUNCTION_KEY
from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import bounds, to_reference
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement, plateau_verdict, plateaus_of
from valvebench.judge.targets import device_at
from valvebench.model.entry import Close, FluidFound, OpenJob, Photo, Reading
from valvebench.model.errors import bad
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import COOLER_TEXT, AccessPoint, Comeback, ItemState, Verdict
from valvebench.physics.uncertainty import shape_of

RECORD: Final = struct.Struct("<IHHBBBdddd")
"""Device, question, shape of the doubt, verdict, rule, state; value, u, low and high [ohm] where the limits hold."""
RECORD_FIELDS: Final = ("device", "question", "shape", "verdict", "rule", "state", "ohm", "u", "low", "high")
RECORD_TYPES: Final = ("<u4", "<u2", "<u2", "u1", "u1", "u1", "<f8", "<f8", "<f8", "<f8")
STATES: Final = (ItemState.VALUE, ItemState.OPEN, ItemState.BELOW_RESOLUTION)
IS_PLAIN, IS_MISSING, HAS_MIXED = 1, 2, 4
OTHERS_SHIFT: Final = 8
OTHERS_MASK: Final = 0xFF
VERDICT_SHIFT: Final = 16
"""What stands in `about`: flags, a bit for each verdict that something else got, the verdict at closing."""
FATES: Final = tuple(Fate)
_DEVICE: Final = "device "
_MOST_QUESTIONS: Final = 65535
Said = TypeVar("Said")


class DeviceKey(NamedTuple):
    """One device of a variant, read at one place, with what its values refer to."""

    variant: str
    name: str
    kind: str
    at: str
    basis: str
    ref_celsius: float | None
    k_celsius: float | None


class Record(NamedTuple):
    """One judged row: what judging it anew needs, and what a trend shows of it; ohm and degrees Celsius."""

    device: DeviceKey | None
    question: int
    shape: int
    verdict: int
    rule: int
    state: int
    value: float
    u: float
    low: float
    high: float
    ohm: float | None
    celsius: float


class Indexed(NamedTuple):
    """Everything the index holds of one session; `closed_at` in milliseconds since 1970."""

    key: bytes
    job: str
    serial: str | None
    part: str | None
    customer: str | None
    supplier: str | None
    batch: str | None
    variant: str | None
    verdict: int
    closed_at: int
    n_entries: int
    codes: tuple[str, ...]
    words: tuple[str, ...]
    records: tuple[Record, ...]
    about: int
    comeback_of: str | None
    revises: tuple[bytes, str] | None


def key_of(session: str) -> bytes:
    """Sixteen bytes that name a session everywhere: its own number, or a hash of another name."""
    name = session.lower()
    if len(name) == 32 and all(sign in "0123456789abcdef" for sign in name):
        return bytes.fromhex(name)
    return hashlib.sha256(session.encode()).digest()[:16]


def milliseconds(at: str) -> int:
    """A time of a journal, in whole milliseconds since 1970 (raises BadInput)."""
    try:
        moment = datetime.fromisoformat(at)
        return round(moment.timestamp() * 1000)
    except (ValueError, OverflowError) as error:
        raise bad("time", repr(at), "a date and time such as 2031-05-06T10:00:00Z") from error


def index_of(session: Session, variant: Variant | None, judged: SessionJudgement | None) -> Indexed:
    """What the index holds of a closed session (raises BadInput); unjudged, all but its readings."""
    close, job = session.close, session.job
    if close is None or not isinstance(close.body, Close):
        raise bad("session", "an open session", "a closed one", "Close it first.")
    records, about = records_of(judged, variant) if judged is not None else ((), 0)
    verdict = _session_code(close.body.verdict)
    codes = dict.fromkeys(code for text in (job.job, job.serial, job.part) if text and (code := code_of(text)))
    return Indexed(
        key=key_of(job.session),
        job=job.job,
        serial=job.serial,
        part=job.part,
        customer=job.customer,
        supplier=job.supplier,
        batch=job.batch,
        variant=variant.key if variant is not None else None,
        verdict=verdict,
        closed_at=milliseconds(close.at),
        n_entries=close.n,
        codes=tuple(codes),
        words=words_in(session, variant),
        records=records,
        about=about | verdict << VERDICT_SHIFT,
        comeback_of=(code_of(job.comeback_of) or None) if job.comeback_of else None,
        revises=(key_of(job.revises), job.revises_why or "") if job.revises else None,
    )


def _session_code(word: str) -> int:
    try:
        return CODE_OF[Verdict(word)]
    except ValueError:
        raise bad("close", repr(word), "a verdict that this program knows") from None


def words_in(session: Session, variant: Variant | None) -> tuple[str, ...]:
    """Every word one could look for: job, part, people, variant, devices that were read, notes."""
    job = session.job
    texts = [job.job, job.serial, job.part, job.customer, job.batch, job.supplier, job.mark, job.vehicle, job.trim]
    texts += [job.comeback_of, job.shift, job.when, job.feel]
    texts += [variant.key, variant.title] if variant is not None else []
    texts += sorted(_devices_read(session, variant))
    for item in session.items:
        body = item.body
        texts += [getattr(body, name, None) for name in ("note", "text", "device", "of")]
        if isinstance(body, FluidFound):
            texts += [body.colour, body.smell, body.level, body.debris]
            texts += [f"cooler {COOLER_TEXT[body.cooler]}"] if body.cooler is not None else []
    texts += sorted({entry.by for entry in session.entries if entry.n <= (session.close or entry).n})
    return words_of(text for text in texts if isinstance(text, str))


def _devices_read(session: Session, variant: Variant | None) -> set[str]:
    if variant is None:
        return set()
    pairs = {(body.from_node, body.to_node) for item in session.items if isinstance(body := item.body, Reading)}
    found = (device_at(variant, *pair) for pair in pairs)
    return {device.name for device in found if device is not None}


def records_of(judged: SessionJudgement, variant: Variant | None) -> tuple[tuple[Record, ...], int]:
    """Every judged reading as a record, and what judging the session anew has to know."""
    by_key: dict[str, list[Row]] = defaultdict(list)
    for row in judged.rows:
        by_key[row.key].append(row)
    records: list[Record] = []
    about = (IS_MISSING if judged.missing else 0) | IS_PLAIN
    question = 0
    for rows in by_key.values():
        for plateau in plateaus_of(rows):
            if all(_is_record(row, variant) for row in plateau):
                records += [_record(row, question, variant) for row in plateau]
                about |= HAS_MIXED if any(_is_mixed(row) for row in plateau) else 0
                question += 1
                continue
            stands = {plateau_verdict(plateau)} if plateau[0].heat is None else {row.verdict for row in plateau}
            about |= sum(1 << OTHERS_SHIFT + CODE_OF[verdict] for verdict in stands)
            if any(row.judgement is not None or not _is_heard(row) for row in plateau):
                about &= ~IS_PLAIN
    if question > _MOST_QUESTIONS:
        about &= ~IS_PLAIN
        records = [record._replace(question=0) for record in records]
    return tuple(records), about


def _is_record(row: Row, variant: Variant | None) -> bool:
    """Whether the verdict of a row follows from value, doubt and limits alone."""
    j = row.judgement
    if j is None or row.by_number is not None or j.verdict is not row.verdict or variant is None:
        return j is not None and variant is None and j.verdict is row.verdict
    if row.from_node is None or row.to_node is None or row.kind == CODE_KIND:
        return False
    return polar_of(variant, device_at(variant, row.from_node, row.to_node)) is None


def _is_heard(row: Row) -> bool:
    """A test by ear: no rule and no limit has a say in it."""
    numbers = (row.judgement, row.heat, row.flex, row.leak, row.pressure, row.sweep)
    is_number = any(one is not None for one in numbers)
    return not is_number and row.kind != CODE_KIND and not row.key.startswith(FUNCTION_KEY)


def _is_mixed(row: Row) -> bool:
    """Whether limits of several devices are in those of a row."""
    j = row.judgement
    return j is not None and (row.kind == "pair" or "nother path" in j.limits.note)


def _record(row: Row, question: int, variant: Variant | None) -> Record:
    j = row.judgement
    if j is None:
        raise TypeError("a row without a judgement is no record")
    low, high = bounds(j.limits)
    value, u = j.ohm_at_ref, j.u_ohm_at_ref
    if j.state is ItemState.OPEN:
        value = (j.range_ohm or 0.0) * to_reference(j.limits, j.celsius)
    usable = j.verdict is not Verdict.NOT_USABLE
    return Record(
        device=_device(row, j, variant),
        question=question,
        shape=shape_of(j.nu_eff, is_dominated=j.is_dominated),
        verdict=CODE_OF[row.verdict],
        rule=RULES.index(j.rule),
        state=STATES.index(j.state),
        value=value if value is not None and usable else math.nan,
        u=u if u is not None else (0.0 if j.state is ItemState.OPEN else math.nan),
        low=low,
        high=high,
        ohm=j.ohm,
        celsius=j.celsius,
    )


def _device(row: Row, j: Judgement, variant: Variant | None) -> DeviceKey | None:
    if variant is None or not row.key.startswith(_DEVICE):
        return None
    limits = j.limits
    moves = limits.k_celsius is not None
    return DeviceKey(
        variant=variant.key,
        name=row.key.removeprefix(_DEVICE),
        kind=row.kind,
        at=row.at or AccessPoint.CASE_CONNECTOR.value,
        basis=f"{limits.ref_celsius:g}/{limits.k_celsius:g}" if moves else "",
        ref_celsius=limits.ref_celsius if moves else None,
        k_celsius=limits.k_celsius,
    )


def in_trend(record: Record) -> bool:
    """Whether a row has a value that can be followed over time."""
    is_value = STATES[record.state] is not ItemState.OPEN and math.isfinite(record.value)
    return record.device is not None and record.ohm is not None and is_value


def digest_of(pack: bytes, *rows: Iterable[Sequence[object]]) -> bytes:
    """Sixteen bytes over what the index holds of a session's readings; a changed one does not agree with them."""
    found = hashlib.blake2b(pack, digest_size=16)
    for some in rows:
        found.update(repr([tuple(row) for row in some]).encode())
    return found.digest()


class RunDigest:
    """Sixteen bytes over a later judgement, made while its rows are written."""

    def __init__(self, *run: object) -> None:
        self._parts = [hashlib.blake2b(digest_size=16) for _ in range(4)]
        self._parts[0].update(repr(run).encode())

    def add(self, rows: Sequence[tuple[int, int, bytes]]) -> None:
        """Rows of session, verdict and readings, by rising session."""
        for number, (part, code) in enumerate(zip(self._parts[:3], "qbi", strict=True)):
            column = [len(row[2]) for row in rows] if code == "i" else [row[number] for row in rows]
            part.update(struct.pack(f"<{len(rows)}{code}", *column))
        self._parts[3].update(b"".join([row[2] for row in rows]))

    def value(self) -> bytes:
        """The digest so far."""
        return hashlib.blake2b(b"".join(part.digest() for part in self._parts), digest_size=16).digest()


def outcome_of(session: Session) -> OutcomeTold | None:
    """What became of the part: of each thing the latest that was said."""
    if not session.outcomes:
        return None
    comeback = _latest([one.comeback for one in session.outcomes])
    told = OutcomeTold(
        fate=None,
        fitted=_latest([one.fitted for one in session.outcomes]),
        comeback=comeback.value if comeback is not None else None,
        months=_latest([one.months for one in session.outcomes]),
        odometer_km=_latest([one.odometer_km for one in session.outcomes]),
    )
    return told._replace(fate=_fate(told))


def _latest(said: Sequence[Said | None]) -> Said | None:
    return next((one for one in reversed(said) if one is not None), None)


def _fate(told: OutcomeTold) -> Fate | None:
    if told.comeback is not None:
        words = {Comeback.HOT: Fate.COMEBACK_HOT, Comeback.COLD: Fate.COMEBACK_COLD, Comeback.NO: Fate.NO_COMEBACK}
        return words[Comeback(told.comeback)]
    if told.fitted is None:
        return None
    return Fate.FITTED if told.fitted else Fate.NOT_FITTED


def files_of(session: Session, variant: Variant | None) -> tuple[str, ...]:
    """The hashes of all files that a session names: what its entries do, and the photos of its variant."""
    found: dict[str, None] = {}
    for entry in session.entries:
        body = entry.body
        sha256 = body.variant if isinstance(body, OpenJob) else getattr(body, "sha256", None)
        if isinstance(sha256, str):
            found[sha256] = None
    for picture in variant.named_pictures if variant is not None else ():
        found[picture.sha256] = None
    return tuple(found)


def photos_of(session: Session, variant: Variant | None) -> frozenset[str]:
    """The hashes of the files that are pictures: they lie beside the database whatever their size."""
    shown = {entry.body.sha256 for entry in session.entries if isinstance(entry.body, Photo)}
    return frozenset(shown | {picture.sha256 for picture in (variant.named_pictures if variant is not None else ())})
