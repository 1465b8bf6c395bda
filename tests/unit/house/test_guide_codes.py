"""The worked examples of the guide's page on codes and contacts: by hand here, and as the program says them.

Every body and reading is invented; the practice is common practice, no source.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.rows import rows_of
from valvebench.model.entry import SwitchTest
from valvebench.model.words import SwitchState, Verdict

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "resources" / "guide" / "codes.md").read_text("utf-8")
SWITCHES = ("Stork", "Snipe", "Sora")
ROWS = re.findall(r"^\| ([PRND]) \| (\w+) \| (\w+) \| (\w+) \|$", PAGE, re.MULTILINE)
TABLE = {position: dict(zip(SWITCHES, states, strict=True)) for position, *states in ROWS[:4]}
POSITION, READ = ROWS[4][0], dict(zip(SWITCHES, ROWS[4][1:], strict=True))
NUMBER = ("none", "one", "two", "three")


def differing(position):
    """Switches that matter in a position and were read otherwise."""
    stated = {name: state for name, state in TABLE[position].items() if state != "either"}
    return [name for name, state in stated.items() if READ[name] != state]


def test_the_code_by_hand():
    assert list(TABLE) == ["P", "R", "N", "D"]
    assert differing(POSITION) == ["Stork"]
    words = ", ".join(f"against {position} {NUMBER[len(differing(position))]}" for position in ("N", "D"))
    assert f"Against P {NUMBER[len(differing('P'))]} switches that matter differ, {words}." in PAGE


def test_the_code_by_the_program():
    devices = [{"name": name, "kind": "switch", "between": [str(i), "case"]} for i, name in enumerate(SWITCHES, 1)]
    codes = [{"position": position, "switches": states} for position, states in TABLE.items()]
    variant = variant_of(devices=devices, selector_codes=codes, ports=[], solenoid_chart={})
    read = [SwitchTest(device=name, state=SwitchState(state), selector=POSITION) for name, state in READ.items()]
    (row,) = rows_of(session_of(*read), variant)
    assert row.reasons[-1] == "What was read is the code of N."
    assert row.advice[0].startswith("Adjust or check the lever before blaming Stork")
    assert row.advice[0].split(",")[0] in PAGE


CURRENTS = [
    tuple(map(float, row))
    for row in re.findall(r"^\| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", PAGE, re.MULTILINE)
]
COIL_OHM, OPENS_AT_VOLT = 13.5, 0.6


def test_the_diode_by_hand():
    """Ohm's law: the diode holds the voltage where the coil alone would have more."""
    assert [row[0] for row in CURRENTS] == [1, 40, 100]
    for milliampere, volts, blocking, forward in CURRENTS:
        ampere = milliampere / 1000
        assert volts == round(ampere * COIL_OHM, 4)
        assert blocking == COIL_OHM
        assert forward == pytest.approx(min(COIL_OHM, OPENS_AT_VOLT / ampere))


def test_the_diode_by_the_program():
    plover = {"name": "Plover", "kind": "solenoid", "between": ["8", "case"], "low_ohm": 12.0, "high_ohm": 15.0}
    dot = {"name": "Dot", "kind": "diode", "between": ["8", "case"], "across": "Plover", "anode": "case"}
    variant = variant_of(devices=[plover, dot], ports=[], solenoid_chart={}, isolation=None)
    sure = {"temperature": None, "u_celsius": 0.0, "u_ohm": 0.01}
    for _, _, blocking, forward in CURRENTS:
        read = reading("8", "case", blocking, **sure), reading("case", "8", forward, **sure)
        coil, with_diode = rows_of(session_of(*read), variant)
        assert coil.verdict is Verdict.PASS
        assert with_diode.verdict is (Verdict.PASS if forward == blocking else Verdict.NOT_USABLE)
    open_coil = reading("8", "case", open=True, range_ohm=6e7), reading("case", "8", 600.0, **sure)
    assert [row.verdict for row in rows_of(session_of(*open_coil), variant)] == [Verdict.FAIL, Verdict.NOT_USABLE]
