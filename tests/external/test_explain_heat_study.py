"""Bodies gone round while warming: what is said of them is right when it is said for sure.

The truth is made here: copper by IEC 60028, spreads, meter and probe drawn anew for each body, a contact of 0.15 to
0.8 ohm that stays or grows from somewhere between 40 and 70 degrees.  All made up; the dice are the CRC-32 of a name.
"""

from __future__ import annotations

import random
import zlib
from collections import Counter

import msgspec
import pytest

from tests.external.explain_bench import standard_error, within
from tests.unit.diagnose.test_explain import PRIORS, VARIANT, read
from tests.unit.diagnose.test_explain_heat import ROUNDS, copper, open_pins
from tests.unit.report.samples import session_of
from valvebench.diagnose.explain import Explainer
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explained import HOT, Place

CONTACT_OHM = 0.02
RIGHT = {
    "healthy": Place(Fault.HEALTHY, ()),
    "fixed": Place(Fault.TERMINAL_RESISTIVE, ("2",)),
    "grows": Place(Fault.TERMINAL_RESISTIVE, ("2",), HOT),
}


def gone_round(kind: str, dice: random.Random):
    """The readings of one body."""
    lot = dice.gauss(0, 0.02)
    at_20 = {pair: 5.2 * (1 + lot + dice.gauss(0, 0.015)) for pair in (("1", "4"), ("2", "4"))}
    at_20["3", "4"] = 13.0 * (1 + dice.gauss(0, 0.025))
    gain, zero, probe = 1 + dice.uniform(-0.006, 0.006), dice.uniform(-0.01, 0.01), dice.gauss(0, 0.7)
    size, start, hottest = dice.uniform(0.15, 0.8), dice.uniform(40, 70), max(ROUNDS)
    found = []
    for number, celsius in enumerate(ROUNDS, start=1):
        coil = celsius + probe + dice.gauss(0, 0.4)
        for pair, ohm in at_20.items():
            true = copper(ohm, coil) + 2 * CONTACT_OHM
            if "2" in pair:
                true += {"healthy": 0.0, "fixed": size, "grows": size * max(0.0, celsius - start) / (hottest - start)}[
                    kind
                ]
            shown = round(true * gain + zero + dice.gauss(0, 0.006), 2)
            found.append(msgspec.structs.replace(read(*pair, shown, celsius=celsius), round=number))
    return [*found, *open_pins()]


def check_rounds(each: int) -> None:
    explainer = Explainer(VARIANT, PRIORS)
    print(f"\nThree windings gone round seven times, {each} bodies of each kind")
    for kind, right in RIGHT.items():
        said: Counter[str] = Counter()
        for number in range(each):
            dice = random.Random(zlib.crc32(f"{kind} {number}".encode()))
            found = explainer.explain(session_of(*gone_round(kind, dice)), is_asking=False)
            top = found.explanations[0]
            is_right = right in {Place(top.fault, top.where, top.when), *top.same_as}
            is_right |= kind == "healthy" and top.fault is Fault.ONE_BAD_READING
            said["right"] += is_right
            said["wrong for sure"] += found.is_settled and not is_right
            said["strained"] += found.is_strained
        shares = {word: said[word] / each for word in ("right", "wrong for sure", "strained")}
        print(
            f"  {kind:<8}"
            + ", ".join(f"{word} {share:.3f} +- {standard_error(share, each):.3f}" for word, share in shares.items())
        )
        assert within(1 - shares["wrong for sure"], 0.98, each)
        assert within(shares["right"], 0.8, each)


@pytest.mark.slow
def test_in_short_nothing_wrong_is_said_for_sure_of_bodies_that_were_warmed(capsys):
    with capsys.disabled():
        check_rounds(8)


@pytest.mark.study
def test_study_nothing_wrong_is_said_for_sure_of_bodies_that_were_warmed(capsys):
    with capsys.disabled():
        check_rounds(100)
