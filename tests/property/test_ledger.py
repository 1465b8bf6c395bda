"""The fold over any sequence of entries against a plain list, read from the start each time."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.data.made_up import job
from valvebench.model.entry import KIND_OF_BODY, Correct, Entry, FluidFound, Note, Restore, Withdraw
from valvebench.model.errors import BadInput
from valvebench.model.session import Ledger, fold


@dataclass
class Line:
    """One line of the plain list: what was done, to which line, with which words."""

    what: str
    target: int = 0
    words: str = ""


class PlainList:
    """Everything that was written, in order; every question is answered by reading all of it."""

    def __init__(self):
        self.lines = [Line("job")]

    def root(self, number):
        line = self.lines[number - 1]
        return self.root(line.target) if line.what == "correct" else number

    def gone(self):
        """Numbers that are withdrawn and not brought back."""
        out = set()
        for line in self.lines:
            if line.what == "withdraw":
                out.add(line.target)
            elif line.what == "restore":
                out.discard(self.brought_back(line.target))
        return out

    def brought_back(self, number):
        named = self.lines[number - 1]
        return named.target if named.what == "withdraw" else number

    def may(self, what, target):
        """Whether this may follow."""
        if what in ("note", "fluid"):
            return True
        if not 1 <= target <= len(self.lines):
            return False
        if what == "restore":
            return self.brought_back(target) in self.gone()
        is_data = self.lines[target - 1].what in ("note", "fluid", "correct")
        return is_data and not {target, self.root(target)} & self.gone()

    def counts(self):
        """What counts now: number of the entry -> (kind, words)."""
        gone = self.gone()
        found = {}
        for n, line in enumerate(self.lines, start=1):
            if line.what in ("note", "fluid") and n not in gone:
                found[n] = (line.what, line.words)
        for n, line in enumerate(self.lines, start=1):
            if line.what == "correct" and n not in gone and (root := self.root(n)) in found:
                found[root] = (found[root][0], line.words)
        return found


FIELD = {"note": "text", "fluid": "colour"}


def body_of(what, target, words, plain):
    if what == "note":
        return Note(text=words)
    if what == "fluid":
        return FluidFound(colour=words)
    if what == "withdraw":
        return Withdraw(entry=target)
    if what == "restore":
        return Restore(entry=target)
    known = 1 <= target <= len(plain.lines) and plain.lines[plain.root(target) - 1].what
    return Correct(entry=target, why="typing error", body={FIELD.get(known, "text"): words})


def written(n, body):
    return Entry(n, "2031-05-04T10:00:00Z", "bench", KIND_OF_BODY[type(body)], body, "0" * 64, f"{n:064x}")


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["note", "note", "fluid", "correct", "withdraw", "withdraw", "restore"]), st.integers(0, 5)
    ),
    max_size=30,
)


def run(steps):
    """The same steps through both; where the list says no, the ledger must refuse and stay as it is."""
    plain, ledger, kept = PlainList(), Ledger(), [written(1, job())]
    ledger.take(kept[0])
    for what, back in steps:  # the targets lie close, so that entries meet often
        target = len(kept) - back if back < 5 else 99
        entry = written(len(kept) + 1, body_of(what, target, f"words {len(kept) + 1}", plain))
        if plain.may(what, target):
            plain.lines.append(Line(what, target, f"words {entry.n}"))
            ledger.take(entry)
            kept.append(entry)
        else:
            with pytest.raises(BadInput):
                ledger.take(entry)
    return plain, ledger, kept


def what_counts(items):
    return {item.n: (item.kind, getattr(item.body, FIELD[item.kind])) for item in items}


def test_every_sequence_of_four_steps_equals_a_plain_list():
    """One note, then all 10^4 ways to go on: another note, or an undo, redo or correction of the last three entries."""
    moves = [("note", 0), *product(("correct", "withdraw", "restore"), range(3))]
    for steps in product(moves, repeat=4):
        plain, ledger, _ = run([("note", 0), *steps])
        assert what_counts(ledger.items.values()) == plain.counts(), steps


@given(STEPS)
@settings(max_examples=300, deadline=None, derandomize=True)
def test_fold_equals_a_plain_list(steps):
    plain, ledger, kept = run(steps)
    session = ledger.session()
    assert what_counts(session.items) == plain.counts()
    assert session.withdrawn == plain.gone()
    assert [item.n for item in session.items] == sorted(item.n for item in session.items)
    assert fold(kept) == session


@given(STEPS)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_undo_and_redo_lead_back(steps):
    """Withdraw and restore of the same entry leave what counted before."""
    plain, ledger, kept = run(steps)
    before = what_counts(ledger.session().items)
    for n in list(before):
        ledger.take(written(len(kept) + 1, Withdraw(entry=n)))
        kept.append(None)
        assert n not in what_counts(ledger.session().items)
        ledger.take(written(len(kept) + 1, Restore(entry=len(kept))))
        kept.append(None)
    assert what_counts(ledger.session().items) == before == plain.counts()
    for n in before:
        assert ledger.root(n).n == n
