"""Explaining an open session: what is made once, what nobody waits for any more, what cannot be read."""

from __future__ import annotations

import pytest

from tests.fakes.pins_bench import AT_20, VARIANT
from valvebench import compose
from valvebench.archive.chain import GENESIS
from valvebench.bench.explaining import Explaining
from valvebench.diagnose.explain_priors import Fault
from valvebench.model.entry import OpenJob, decode_line, encode_line, sha256_of
from valvebench.model.errors import WorldFailed
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant

BODY = read_variant(VARIANT, source="made up")


def session(*pairs):
    """Readings `red, black, ohm` at 20 degrees; invented."""
    bodies = [OpenJob(session="s", job="T-1", variant=sha256_of(VARIANT))]
    bodies += [AT_20.reading(red, black, ohm=ohm) for red, black, ohm in pairs]
    prev, entries = GENESIS, []
    for n, body in enumerate(bodies, start=1):
        line = encode_line(n=n, at="2031-05-06T09:00:00.000Z", by="Ann", body=body, prev=prev)
        prev = sha256_of(line)
        entries.append(decode_line(line, source="made up"))
    return fold(tuple(entries))


class Source:
    """Counts how often the priors and the other variants are read."""

    def __init__(self) -> None:
        self.read: list[str] = []

    def priors(self):
        self.read.append("priors")
        return compose.priors()

    def others(self):
        self.read.append("others")
        return []

    def explaining(self):
        return Explaining(BODY, priors=self.priors, others=self.others)


def yes():
    return True


def test_an_answer_names_the_fault_and_how_warm_a_warm_reading_is():
    answer = Source().explaining().explain(session(("1", "3", 5.4), ("2", "3", 8.9)), is_asking=True, is_wanted=yes)
    assert answer.explained.readings == 2
    assert Fault.VALUE_HIGH in {one.fault for one in answer.explained.explanations}
    assert answer.explained.next
    assert answer.warm_celsius == compose.priors().next.warm_celsius.value


def test_of_a_closed_session_nothing_is_asked():
    answer = Source().explaining().explain(session(("2", "3", 8.9)), is_asking=False, is_wanted=yes)
    assert answer.explained.next == ()


def test_priors_and_other_variants_are_read_once():
    source = Source()
    explaining = source.explaining()
    assert source.read == [], "nothing is read before somebody asks"
    for ohm in (5.4, 5.5):
        explaining.explain(session(("1", "3", ohm)), is_asking=True, is_wanted=yes)
    assert source.read == ["priors", "others"]


def test_two_pages_that_ask_the_same_of_one_session_share_the_answer():
    explaining, same = Source().explaining(), session(("2", "3", 8.9))
    first = explaining.explain(same, is_asking=True, is_wanted=yes)
    assert explaining.explain(same, is_asking=True, is_wanted=yes) is first
    assert explaining.explain(same, is_asking=False, is_wanted=yes) is not first
    assert explaining.explain(session(("2", "3", 5.4)), is_asking=True, is_wanted=yes) is not first


def test_what_nobody_wants_any_more_is_not_begun():
    source = Source()
    assert source.explaining().explain(session(("1", "3", 5.4)), is_asking=True, is_wanted=lambda: False) is None
    assert source.read == []


def test_what_is_no_longer_wanted_after_the_reading_of_files_is_not_weighed():
    source, answers = Source(), iter([True, False])
    assert source.explaining().explain(session(), is_asking=True, is_wanted=lambda: next(answers)) is None
    assert source.read == ["priors", "others"]


def test_priors_that_cannot_be_read_are_said():
    def refuse():
        raise WorldFailed("priors.json: cannot be read.")

    with pytest.raises(WorldFailed, match="cannot be read"):
        Explaining(BODY, priors=refuse, others=list).explain(session(), is_asking=True, is_wanted=yes)
