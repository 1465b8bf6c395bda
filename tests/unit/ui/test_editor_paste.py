"""Text from a spreadsheet: what each column is taken for, and what is told before it is taken over."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import FIELDS
from valvebench.model.draft_places import with_pin_count
from valvebench.model.variant_draft import empty_draft, identities_of, new_row, row_of, with_merged
from valvebench.ui.editor.paste import (
    SKIP,
    grid_of,
    is_one_cell,
    nodes_of,
    problems_of,
    rows_of,
    summary,
    tsv_of,
    understand,
    with_header,
    with_key,
)

DEVICES = Part.DEVICES
SHEET = (
    "Solenoid\tType\tPin\tGround\t\u03a9 min\t\u03a9 max\t\u00b0C\tWhere from\tPage\tShelf\n"
    "Heron\tlinear\t3\t11\t4,9\t5,5\t20\tmanual\tpage 12\tB\n"
    "Plover\ton/off\t8\tcase\t12\t15\tnot stated\tManual\tpage 13\tB\n"
)


def test_a_sheet_with_headings_is_understood():
    plan = understand(DEVICES, SHEET)
    assert plan.has_header
    assert plan.keys == ("name", "duty", "from", "to", "low", "high", "ref", "source", "source_text", SKIP)
    assert problems_of(plan) == ()
    assert rows_of(plan)[0]["low"] == "4,9"
    assert nodes_of(plan) == ["3", "11", "8"]
    assert summary(plan, ["Heron"]) == "1 added, 1 of the same name changed, decimal comma."


def test_without_headings_the_columns_follow_in_order_from_the_cell():
    plan = understand(DEVICES, "4.9\t5.5\n4.9\t5.5", at_key="low")
    assert not plan.has_header
    assert plan.keys == ("low", "high")


def test_more_columns_than_there_are_fields_are_left_out():
    plan = understand(Part.PINS, "\t".join("123456"))
    assert plan.keys == ("name", "face", "x", "y", SKIP, SKIP)


def test_a_column_can_be_taken_for_another_and_its_old_one_is_left_out():
    plan = with_key(understand(DEVICES, SHEET), 9, "note")
    assert rows_of(plan)[0]["note"] == "B"
    swapped = with_key(plan, 4, "high")
    assert (swapped.keys[4], swapped.keys[5]) == ("high", SKIP)


def test_the_first_row_can_be_a_row_after_all_and_headings_again():
    plan = understand(DEVICES, SHEET)
    as_row = with_header(plan, has_header=False)
    assert len(as_row.grid) == 3
    assert with_header(as_row, has_header=True) == plan
    assert with_header(plan, has_header=True) is plan


def test_a_cell_that_cannot_be_read_is_told_and_comes_in_as_it_is():
    plan = understand(DEVICES, "Name\tLow\nHeron\t4,9x\nGull\t5")
    (problem,) = problems_of(plan)
    assert (problem.row, problem.column) == (0, 1)
    assert "found '4,9x'" in problem.words
    assert rows_of(plan)[0]["low"] == "4,9x"
    assert "1 cell cannot be read; it comes in as it is." in summary(plan, [])


@pytest.mark.parametrize(
    ("cells", "low", "count"),
    [
        pytest.param("1,234\n4,95", "1.2340", 0, id="other-cells-show-a-decimal-comma"),
        pytest.param("1,234\n4.95", "1,234", 1, id="other-cells-show-a-decimal-point"),
        pytest.param("1,234\n5", "1,234", 1, id="nothing-tells"),
    ],
)
def test_a_comma_is_decimal_only_where_the_sheet_says_so(cells, low, count):
    one, other = cells.split("\n")
    plan = understand(DEVICES, f"Name\tLow\nA\t{one}\nB\t{other}")
    assert rows_of(plan)[0]["low"] == low
    assert len(problems_of(plan)) == count


@pytest.mark.parametrize(
    ("text", "grid"),
    [
        ("a\tb\r\nc\td\r\n", (("a", "b"), ("c", "d"))),
        ("a;b\nc", (("a", "b"), ("c", ""))),
        ("a,b\nc,d", (("a", "b"), ("c", "d"))),
        ("4,95\n5,10", (("4,95",), ("5,10",))),
        ('"two\nlines"\tb', (("two lines", "b"),)),
        ('"a ""quoted"" word"\tb', (('a "quoted" word', "b"),)),
        ("a\tb\n\t\nc\td", (("a", "b"), ("c", "d"))),
        (" \n", ()),
        ("", ()),
    ],
)
def test_cells_are_parted_as_spreadsheets_part_them(text, grid):
    assert grid_of(text) == grid


def test_one_cell_is_no_table():
    assert is_one_cell("4,7")
    assert not is_one_cell("4,7\t5")
    assert understand(DEVICES, " \n ") is None


def test_what_is_copied_is_understood_when_it_is_pasted():
    pins = with_pin_count(empty_draft(), 0, 6)
    plan = understand(Part.PINS, tsv_of(Part.PINS, pins.rows(Part.PINS)))
    assert plan.keys == tuple(field.key for field in FIELDS[Part.PINS])
    assert [row_of(Part.PINS, texts) for texts in rows_of(plan)] == list(pins.rows(Part.PINS))


WORDS = st.text(st.characters(categories=("L", "N", "P", "Zs")), min_size=1, max_size=8).map(
    lambda text: " ".join(text.split())
)


@given(st.lists(st.lists(WORDS, min_size=17, max_size=17), min_size=1, max_size=4))
def test_any_rows_survive_copy_and_paste(rows):
    found = [
        row_of(DEVICES, dict(zip([field.key for field in FIELDS[DEVICES]], cells, strict=False))) for cells in rows
    ]
    plan = understand(DEVICES, tsv_of(DEVICES, found))
    kept = [row for row in found if any(row.cells)]
    assert [row_of(DEVICES, texts) for texts in rows_of(with_no_comma(plan))] == kept


def with_no_comma(plan):
    from dataclasses import replace

    return replace(plan, has_decimal_comma=False)


@given(st.text(max_size=200))
def test_any_text_is_understood_or_empty(text):
    plan = understand(DEVICES, text)
    if plan is not None:
        assert len({len(row) for row in plan.grid} | {len(plan.keys)}) == 1
        summary(plan, [])


def test_a_new_device_is_a_solenoid():
    assert new_row(DEVICES).cells[1] == "solenoid"


BOLTS = "Bolt\tQuantity\tmm\tNm\nouter ring\t11\t32\t9\nouter ring\t3\t55\t9,5\n"


def test_bolts_of_two_lengths_in_one_place_are_two_rows():
    plan = understand(Part.FASTENERS, BOLTS)
    assert plan.keys == ("name", "count", "length", "torque")
    draft = with_merged(empty_draft(), Part.FASTENERS, rows_of(plan))
    assert draft.texts(Part.FASTENERS, "length") == ("32", "55")
    assert draft.texts(Part.FASTENERS, "torque") == ("9", "9,5")


def test_pasted_once_more_bolts_change_and_none_is_added():
    plan = understand(Part.FASTENERS, BOLTS)
    draft = with_merged(empty_draft(), Part.FASTENERS, rows_of(plan))
    assert summary(plan, identities_of(draft, Part.FASTENERS)).startswith("2 of the same name changed")
    assert with_merged(draft, Part.FASTENERS, rows_of(plan)) == draft


@pytest.mark.parametrize(
    ("part", "sheet", "keys"),
    [
        (Part.CHECKLIST, "Check\tRequired\tStage\nMagnets clean\tno\twhile open\n", ("name", "required", "when")),
        (Part.PART_NUMBERS, "Part number\tReplaced by\nQT-2\tQT-2-B\n", ("name", "next")),
        (Part.ORDER_WITH, "Item\tPart number\tRemark\nseal set\tQT-S2\tinvented\n", ("name", "number", "note")),
    ],
)
def test_a_sheet_of_the_refit_is_understood(part, sheet, keys):
    plan = understand(part, sheet)
    assert plan.keys == keys
    assert problems_of(plan) == ()
