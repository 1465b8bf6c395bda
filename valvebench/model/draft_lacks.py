"""What is wrong with a draft, and what is still missing, in words, each with the cell to go to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from valvebench.model.draft_field import FORMS, PART_TITLE, Part
from valvebench.model.draft_fields import FIELDS, field_of, path_of
from valvebench.model.draft_file import Unreadable, data_of, kind_of
from valvebench.model.draft_hints import hints_of
from valvebench.model.draft_taps import rest_of, row_at
from valvebench.model.strict_json import Path
from valvebench.model.validate import Finding
from valvebench.model.variant import Variant
from valvebench.model.variant_checks import doubts_of, library_doubts
from valvebench.model.variant_draft import Draft, Spot
from valvebench.model.variant_rules import check_written

_NEEDED: Final = {
    "key": "a short name for the file is needed, such as tern-body-2",
    "title": "a title is needed, as people call the body",
}
_SENTENCES: Final = (Part.CHECKLIST, Part.ORDER_WITH)
"""Tables whose names are whole sentences: their rows are told by number."""
_STAND_IN: Final = {"key": "key", "title": "title"}


class Lack(NamedTuple):
    """One thing to do: where, in which words, and whether the file cannot be saved before."""

    spot: Spot
    where: str
    words: str
    is_wrong: bool


class Checked(NamedTuple):
    """The data a draft stands for, and all that is to be said about it, faults first."""

    data: dict[str, Any]
    lacks: tuple[Lack, ...]

    @property
    def wrong(self) -> tuple[Lack, ...]:
        """What keeps the draft from being saved."""
        return tuple(lack for lack in self.lacks if lack.is_wrong)


def check_draft(draft: Draft, *, others: Sequence[Variant] = ()) -> Checked:
    """Everything about a draft, computed anew after every edit; `others` are the variants it lies beside."""
    data, unread = data_of(draft)
    tried = _tried(data)
    wrong = dict(_unread_lacks(draft, unread))
    for lack in (*_needed(draft), *_found(draft, tried)):
        wrong.setdefault(lack.spot, lack)
    spots = [*hints_of(draft), *_odd(draft, tried.variant, others)]
    hints = [Lack(spot, where_of(draft, spot), words, is_wrong=False) for spot, words in spots]
    return Checked(data, (*_in_order(wrong), *(hint for hint in hints if hint.spot not in wrong)))


class _Tried(NamedTuple):
    """What the rules say of the data, and the variant it makes: none while anything is wrong."""

    variant: Variant | None
    findings: tuple[Finding, ...]


def _tried(data: Mapping[str, Any]) -> _Tried:
    """A row still being typed hides nothing about the others."""
    trial = {**data, **{key: word for key, word in _STAND_IN.items() if not data.get(key)}}
    variant, findings = check_written(trial)
    if (mended := _mended(trial, findings)) is None:
        return _Tried(variant, tuple(findings))
    _, more = check_written(mended)
    return _Tried(None, (*findings, *more))


def _odd(draft: Draft, variant: Variant | None, others: Sequence[Variant]) -> Iterator[tuple[Spot, str]]:
    """What the tables say that makes no sense together, once there is nothing wrong with them."""
    if variant is not None:
        beside = [other for other in others if other.key != draft.body("key")]
        for doubt in (*doubts_of(variant), *library_doubts(variant, beside)):
            yield spot_of(draft, doubt.path), doubt.words


def lacks_beside(draft: Draft, variant: Variant, others: Iterable[Variant]) -> tuple[Lack, ...]:
    """What is only seen beside the others of a library: nothing tells them apart, one number orders both."""
    spots = ((spot_of(draft, doubt.path), doubt.words) for doubt in library_doubts(variant, others))
    return tuple(Lack(spot, where_of(draft, spot), words, is_wrong=False) for spot, words in spots)


def _in_order(wrong: Mapping[Spot, Lack]) -> list[Lack]:
    parts = list(Part)
    return sorted(wrong.values(), key=lambda lack: (parts.index(lack.spot.part), lack.spot.row))


def where_of(draft: Draft, spot: Spot) -> str:
    """The place in words: `Pin 4`, `Heron, Low`, or the table with the number of the row."""
    title = field_of(spot.part, spot.key).title
    if spot.part in FORMS:
        return title
    if spot.row >= len(draft.rows(spot.part)):
        return PART_TITLE[spot.part]
    name = "" if spot.part in _SENTENCES else draft.text(spot.part, spot.row, "name")
    one = PART_TITLE[spot.part].removesuffix("s")
    shown = f"{one} {name}" if name and spot.part is not Part.DEVICES else name
    if shown and spot.key == "name":
        return shown
    return f"{shown or f'{PART_TITLE[spot.part]} row {spot.row + 1}'}, {title}"


def _unread_lacks(draft: Draft, unread: list[Unreadable]) -> Iterator[tuple[Spot, Lack]]:
    for one in unread:
        yield one.spot, Lack(one.spot, where_of(draft, one.spot), one.words, is_wrong=True)


def _needed(draft: Draft) -> Iterator[Lack]:
    for key, words in _NEEDED.items():
        if not draft.body(key):
            spot = Spot(Part.BODY, 0, key)
            yield Lack(spot, where_of(draft, spot), words, is_wrong=True)


def _found(draft: Draft, tried: _Tried) -> Iterator[Lack]:
    """What the rules for writing a variant file say."""
    for finding in tried.findings:
        spot = spot_of(draft, finding.path)
        yield Lack(spot, where_of(draft, spot), _words(finding, spot), is_wrong=True)


def _mended(data: Mapping[str, Any], findings: Sequence[Finding]) -> dict[str, Any] | None:
    """The data with something plain for every device that cannot be built yet; its name stays."""
    rows = {path[1] for path, _ in findings if len(path) > 1 and path[0] == Part.DEVICES.value}
    if not rows:
        return None
    devices = [_plain(device, i) if i in rows else device for i, device in enumerate(data[Part.DEVICES.value])]
    return {**data, Part.DEVICES.value: devices}


def _plain(device: Mapping[str, Any], row: int) -> dict[str, Any]:
    kind = "solenoid" if device.get("kind") in (None, "solenoid") else "link"
    return {"name": device.get("name") or f"row {row + 1}", "kind": kind, "between": ["one end", "other end"]}


def _words(finding: Finding, spot: Spot) -> str:
    problem = finding.problem
    advice = f". {problem.what_to_do}" if problem.what_to_do else ""
    if "length >= 1" in problem.expected and spot.key in ("name", "from", "to"):
        return "a node is needed: a pin, case, or a joint inside" if spot.key != "name" else "a name is needed"
    choices = field_of(spot.part, spot.key).choices
    if problem.found == "nothing" and choices:
        return f"say which: {', '.join(shown for _, shown in choices)}"
    if problem.found == "nothing":
        return f"{problem.expected.replace('this key; it is needed', 'an entry is needed')}{advice}"
    return f"found {problem.found}, expected {problem.expected}{advice}"


def spot_of(draft: Draft, path: Path) -> Spot:
    """The cell a path of the file speaks of; its row's first cell where no column is meant."""
    head = path[0] if path else "key"
    part = next((part for part in Part if part.value == head), None)
    row = path[1] if len(path) > 1 else 0
    if part is Part.TAPS:
        row = row_at(draft, path[1:])
        return Spot(part, row, _key_at(draft, part, row, rest_of(path[1:])))
    if part is Part.FLUID:
        return Spot(part, 0, _key_at(draft, part, 0, path[1:]))
    if part is not None and part is not Part.GEARS and isinstance(row, int):
        return Spot(part, row, _key_at(draft, part, row, path[2:]))
    if head in ("apply_chart", "solenoid_chart", "gears"):
        return _gear_spot(draft, path)
    key = next((field.key for field in FIELDS[Part.BODY] if path[: len(field.path)] == field.path), None)
    return Spot(Part.BODY, 0, key or next((f.key for f in FIELDS[Part.BODY] if f.path[0] == head), "key"))


def _key_at(draft: Draft, part: Part, row: int, rest: Path) -> str:
    if part is Part.DEVICES and rest == ("between",):
        return "from" if not draft.text(part, row, "from") else "to"
    kind = kind_of(draft, part, row) if row < len(draft.rows(part)) else ""
    paths = {field.key: path_of(part, field, kind) for field in FIELDS[part]}
    exact = next((key for key, path in paths.items() if path is not None and path == rest[: len(path)]), None)
    return exact or next((key for key, path in paths.items() if path and rest[:1] == path[:1]), FIELDS[part][0].key)


def _gear_spot(draft: Draft, path: Path) -> Spot:
    key = {"apply_chart": "clutches", "solenoid_chart": "solenoids"}.get(str(path[0]), "name")
    gears = draft.texts(Part.GEARS, "name")
    step = path[1] if len(path) > 1 else 0
    row = step if isinstance(step, int) else (gears.index(step) if step in gears else 0)
    return Spot(Part.GEARS, row, key)
