"""Tables of switch codes: every problem of both at once, and positions that nothing tells apart.  All invented."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import variant_data
from valvebench.model.errors import BadInput
from valvebench.model.variant import CodeRow
from valvebench.model.variant_codes import asked_of, code_at, state_of, switches_of, twins
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CodeState

SWITCHES = [
    {"name": "Stork", "kind": "switch", "between": ["1", "case"]},
    {"name": "Snipe", "kind": "switch", "between": ["2", "case"]},
    {"name": "Heron", "kind": "solenoid", "between": ["3", "11"]},
]


def read(**tables):
    bare = {"solenoid_chart": {}, "ports": []}
    raw = json.dumps(variant_data(devices=SWITCHES, **bare, **tables)).encode()
    return read_variant(raw, source="body.json")


def row(position, **switches):
    return CodeRow(position=position, switches={name: CodeState(state) for name, state in switches.items()})


def test_both_tables_are_read_as_they_stand():
    selector = [{"position": "P", "switches": {"Stork": "closed", "Snipe": "either"}}]
    pressure = [{"position": "1", "switches": {"Snipe": "open"}, "source": {"kind": "manual", "text": "page 3"}}]
    variant = read(selector_codes=selector, pressure_codes=pressure)
    assert variant.selector_codes == (row("P", Stork="closed", Snipe="either"),)
    assert variant.pressure_codes[0].source.text == "page 3"


def test_a_file_without_tables_has_none():
    assert read().selector_codes == read().pressure_codes == ()


def test_every_problem_of_both_tables_is_told_at_once():
    selector = [
        {"position": "P", "switches": {"Storck": "closed"}},
        {"position": "p", "switches": {"Stork": "open"}},
        {"position": "R"},
        {"position": "N", "switches": {"Heron": "open"}},
    ]
    with pytest.raises(BadInput) as caught:
        read(selector_codes=selector, pressure_codes=[{"position": "1", "switches": {}}])
    told = {problem.where: (problem.found, problem.expected, problem.what_to_do) for problem in caught.value.problems}
    assert told == {
        "selector_codes[0].switches.Storck": ("'Storck'", "a switch of this variant", "Did you mean Stork?"),
        "selector_codes[1].position": ("'p'", "a position that has one row", ""),
        "selector_codes[2].switches": ("nothing", "open, closed or either for at least one switch", ""),
        "selector_codes[3].switches.Heron": ("'Heron'", "a switch of this variant", ""),
        "pressure_codes[0].switches": ("nothing", "open, closed or either for at least one switch", ""),
    }


def test_a_state_of_no_known_word_is_refused():
    with pytest.raises(BadInput, match="one of open, closed, either"):
        read(selector_codes=[{"position": "P", "switches": {"Stork": "on"}}])


P = row("P", Stork="closed", Snipe="open")
N = row("N", Stork="open", Snipe="open")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        pytest.param((P, N), (), id="one switch differs"),
        pytest.param((P, row("R", Stork="closed", Snipe="open")), (("P", "R"),), id="the same code"),
        pytest.param((P, row("R", Stork="closed", Snipe="either")), (("P", "R"),), id="either hides the difference"),
        pytest.param((P, row("R", Stork="closed")), (("P", "R"),), id="a switch that is not named"),
        pytest.param((row("P", Stork="open"), row("R", Snipe="closed")), (("P", "R"),), id="no switch in common"),
    ],
)
def test_positions_that_cannot_be_told_apart_are_named(rows, expected):
    assert twins(rows) == expected


def test_a_position_is_found_whatever_its_case():
    assert code_at((P, N), " n ") is N
    assert code_at((P, N), "D") is None
    assert code_at((P, N), None) is None


def test_what_a_row_asks_for():
    one = row("P", Stork="closed", Snipe="either")
    assert asked_of(one) == ("Stork",)
    assert (state_of(one, "Snipe"), state_of(one, "Kite")) == (CodeState.EITHER, CodeState.EITHER)
    assert switches_of((row("R", Snipe="open"), one)) == ("Snipe", "Stork")
