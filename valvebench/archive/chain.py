"""Read a journal and check its chain: every line names the hash of the one before."""

from __future__ import annotations

from dataclasses import dataclass

from valvebench.bench.evidence import ChainProblem
from valvebench.model.entry import GENESIS, Entry, decode_line, sha256_of
from valvebench.model.errors import BadInput, bad
from valvebench.model.session import Ledger


@dataclass(frozen=True, kw_only=True)
class Journal:
    """What a journal file holds: entries, hashes of all its lines, a torn last line, problems."""

    entries: tuple[Entry, ...]
    line_hashes: tuple[str, ...]
    torn: bytes
    problems: tuple[ChainProblem, ...]
    length_bytes: int


def read_journal(raw: bytes, *, source: str) -> Journal:
    """Take a journal apart; a last line without its line feed is torn and never trusted."""
    whole, _, torn = raw.rpartition(b"\n")
    lines = whole.split(b"\n") if whole or raw.startswith(b"\n") else []
    entries: list[Entry] = []
    hashes: list[str] = []
    problems: list[ChainProblem] = []
    previous = GENESIS
    for number, line in enumerate(lines, 1):
        try:
            entry = decode_line(line, source=f"{source}, line {number}")
        except BadInput as error:
            problems.append(ChainProblem(line=number, what=f"unreadable: {error.problems[0].text()}"))
            previous = sha256_of(line)
        else:
            problems += _link_problems(entry, number, previous)
            entries.append(entry)
            previous = entry.sha256
        hashes.append(previous)
    if not problems:
        problems += _fold_problems(entries)
    return Journal(
        entries=tuple(entries),
        line_hashes=tuple(hashes),
        torn=torn,
        problems=tuple(problems),
        length_bytes=len(raw) - len(torn),
    )


def _link_problems(entry: Entry, number: int, previous: str) -> list[ChainProblem]:
    problems = []
    if entry.n != number:
        problems.append(ChainProblem(line=number, what=f"numbered {entry.n}: a line is missing, added or moved"))
    if entry.prev != previous:
        before = max(number - 1, 1)
        problems.append(ChainProblem(line=before, what=f"changed, or line {number} does not belong after it"))
    return problems


def _fold_problems(entries: list[Entry]) -> list[ChainProblem]:
    ledger = Ledger()
    for entry in entries:
        try:
            ledger.take(entry)
        except BadInput as error:
            return [ChainProblem(line=entry.n, what=error.problems[0].text())]
    return [] if entries else [ChainProblem(line=0, what="the journal is empty")]


def head_problems(journal: Journal, head: str) -> list[ChainProblem]:
    """Hold a journal against a head `N:HEX` that was given out (raises BadInput for a malformed one)."""
    number, digits = parse_head(head)
    if number > len(journal.line_hashes):
        return [ChainProblem(line=number, what=f"missing: the journal has {len(journal.line_hashes)} lines")]
    if not journal.line_hashes[number - 1].startswith(digits):
        return [ChainProblem(line=number, what="differs from the head that was given")]
    return []


def parse_head(head: str) -> tuple[int, str]:
    """Line count and at least sixteen hexadecimal digits of a head."""
    number, _, digits = head.strip().partition(":")
    digits = digits.strip().lower()
    fewest, most = 16, 64
    is_hex = all(sign in "0123456789abcdef" for sign in digits)
    if not (number.isascii() and number.isdigit() and int(number) > 0 and fewest <= len(digits) <= most and is_hex):
        raise bad("head", repr(head), "N:HEX with at least 16 hexadecimal digits, as report and tag print it")
    return int(number), digits
