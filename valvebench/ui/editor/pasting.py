"""A paste as the draft takes it: the text made ready for its table, and the rows taken over in one step.  No Qt."""

from __future__ import annotations

from valvebench.model.draft_codes import SWITCH_KEY, switches_in
from valvebench.model.draft_field import CODE_PARTS, Part
from valvebench.model.draft_file import kind_of
from valvebench.model.draft_names import clutches_named, with_clutches_named
from valvebench.model.draft_places import filled_up, with_pins_named
from valvebench.model.variant_draft import Draft, Spot, with_merged
from valvebench.ui.editor import chart_sheet, code_sheet
from valvebench.ui.editor.paste import Plan, clutches_of, nodes_of, rows_of


def prepared(draft: Draft, spot: Spot, text: str) -> str:
    """Copied text as the table of that cell reads it: columns of switches, clutches and solenoids gathered."""
    if spot.part in CODE_PARTS:
        switches = switches_in(draft, spot.part)
        return code_sheet.gathered(spot.part, text, switches, at=spot.key.removeprefix(SWITCH_KEY))
    return chart_sheet.gathered(text, _chart_names(draft)) if spot.part is Part.GEARS else text


def _chart_names(draft: Draft) -> chart_sheet.Known:
    rows = range(len(draft.rows(Part.DEVICES)))
    solenoids = [draft.text(Part.DEVICES, i, "name") for i in rows if kind_of(draft, Part.DEVICES, i) == "solenoid"]
    return chart_sheet.Known(clutches_named(draft), solenoids)


def with_pasted(draft: Draft, plan: Plan) -> Draft:
    """The draft with previewed rows; pins and clutches that are new come with what names them."""
    after = with_merged(draft, plan.part, rows_of(plan))
    if plan.part is Part.PINS:
        return filled_up(after)
    if plan.part is Part.GEARS:
        return with_clutches_named(after, clutches_of(plan))
    return with_pins_named(after, nodes_of(plan)) if plan.adds_pins and plan.part is Part.DEVICES else after
