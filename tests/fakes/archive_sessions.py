"""Closed sessions made in memory, for adding thousands to an archive: real journals, no disk.  All made up."""

from __future__ import annotations

import random
from pathlib import Path

import msgspec

from tests.data.archived import VARIANT_RAW, session_in
from valvebench.archive.chain import read_journal
from valvebench.archive.store_add import File, Prepared, prepared_from
from valvebench.bench.desk import variant_from
from valvebench.model.entry import (
    GENESIS,
    AnyBody,
    Note,
    OpenJob,
    Outcome,
    Photo,
    Reading,
    decode_line,
    encode_line,
    sha256_of,
)
from valvebench.model.session import fold


class Sessions:
    """Makes session after session; the same at every run of one seed."""

    def __init__(self, place: Path, seed: int) -> None:
        self._chance = random.Random(seed)
        lines = (session_in(place, "pattern") / "journal.jsonl").read_bytes().splitlines()
        self._pattern = [decode_line(line, source="pattern") for line in lines]
        self._variant = variant_from(fold(self._pattern), lambda _: VARIANT_RAW)

    def closed(self, job: str, *, note: str = "", photo: bytes = b"", **more: str) -> bytes:
        """The journal of a session up to its closing; `more` as of opening a job."""
        between: list[AnyBody] = [Note(text=note)] if note else []
        between += [Photo(sha256=sha256_of(photo), of="x", file_name="x.png", size_bytes=len(photo))] if photo else []
        raw = b""
        for entry in self._pattern:
            for body in between if entry.kind == "close" else ():
                raw += self._line(raw, entry.at, body)
            raw += self._line(raw, entry.at, self._varied(entry.body, {"job": job, **more}))
        return raw

    def _varied(self, body: AnyBody, job: dict[str, str]) -> AnyBody:
        if isinstance(body, OpenJob):
            return msgspec.structs.replace(body, session=self._chance.randbytes(16).hex(), **job)
        if isinstance(body, Reading):
            return msgspec.structs.replace(body, ohm=round(self._chance.uniform(4.9, 5.5), 2))
        return body

    def told(self, raw: bytes) -> bytes:
        """The same journal with one more line after its closing."""
        outcome = Outcome(fitted=True, months=float(self._chance.randint(1, 48)))
        return raw + self._line(raw, "2031-08-01T09:00:00.000Z", outcome)

    def _line(self, before: bytes, at: str, body: AnyBody) -> bytes:
        lines = before.splitlines()
        prev = sha256_of(lines[-1]) if lines else GENESIS
        return encode_line(n=len(lines) + 1, at=at, by="Ann", body=body, prev=prev) + b"\n"

    def prepared(self, raw: bytes) -> Prepared:
        """The journal, checked and judged, as it is put into the database."""
        journal = read_journal(raw, source="made up")
        assert not journal.problems
        session = fold(journal.entries)
        bodies = [item.body for item in session.items]
        photos = [File(one.sha256, one.size_bytes, None) for one in bodies if isinstance(one, Photo)]
        files = (File(sha256_of(VARIANT_RAW), len(VARIANT_RAW), VARIANT_RAW), *photos)
        return prepared_from(raw, journal, session, self._variant, files=files, source="made up")
