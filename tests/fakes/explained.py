"""Answers of the engine as facts, made up: what a card of explanations is shown with."""

from __future__ import annotations

from tests.fakes.pins_bench import VARIANT
from valvebench.bench.explaining import Answer
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explained import Ask, Explained, Explanation, LeftOut, Place, Told, Value
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint
from valvebench.ui.findings.explain_shown import ExplainShown, explain_shown

BODY = read_variant(VARIANT, source="made up")
AT = AccessPoint.CASE_CONNECTOR
TOLD = (Told("2", "3", AT, 8.9, 8.95), Told("1", "3", AT, 5.4, 5.41), Told("1", "2", AT, None, None))
PAIR = Ask("1", "2", AT, "pair", 0.4, 10.0)


def one(fault, *where, p, same=(), value=None, predicts=()) -> Explanation:
    """One answer with its share."""
    return Explanation(fault, where, p, None, same, value, predicts)


HEALTHY = one(Fault.HEALTHY, p=0.03, predicts=(TOLD[0]._replace(ohm=5.4), *TOLD[1:]))
HIGH = one(
    Fault.VALUE_HIGH,
    "Heron",
    p=0.9,
    same=(Place(Fault.TERMINAL_RESISTIVE, ("2",)),),
    value=Value(8.9, 0.05),
    predicts=TOLD,
)


def found(*explanations, **fields) -> Explained:
    """Everything the engine says, from eight readings at 20 degrees."""
    facts = Explained(
        explanations=explanations,
        next=(PAIR,),
        possible=1,
        invisible=(),
        left_out=(),
        readings=8,
        celsius=((20.0, 1.0),),
        is_strained=False,
        called_bad=(),
        access=(),
    )
    return facts._replace(**fields)


def shown(*explanations, is_closed=False, is_done=None, **fields) -> ExplainShown:
    """The card of it."""
    answer = Answer(found(*explanations, **fields), 80.0)
    return explain_shown(answer, BODY, is_closed=is_closed, is_done=is_done)


def many() -> ExplainShown:
    """Few readings: many answers."""
    answers = [one(Fault.LEAK, pin, "case", p=0.1) for pin in "1234"]
    return shown(HEALTHY._replace(p=0.4), *answers, possible=14)


def called_bad() -> ExplainShown:
    """A bad reading in between, one left out, nothing more worth asking."""
    bad = one(Fault.ONE_BAD_READING, "1", "3", p=0.05)
    left = (LeftOut(4, "the coil temperature is not known before the part has soaked"),)
    return shown(HIGH, bad, HEALTHY, called_bad=(("1", "3"),), left_out=left, next=())
