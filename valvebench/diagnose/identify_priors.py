"""What is taken as given when a part is told by features and readings: data, read at the edge and handed in."""

from __future__ import annotations

import json
from typing import Literal

from valvebench.diagnose.explain_priors import Assumed, Number
from valvebench.model.errors import BadInput, Problem
from valvebench.model.strict_json import loads
from valvebench.model.validate import build
from valvebench.model.words import Seen

_MOST_MISREAD = 0.5


class Misread(Assumed, kw_only=True):
    """How often a look gives a wrong answer, for each way of seeing."""

    us: Number
    photo: Number
    phone: Number

    def of(self, seen: Seen) -> float:
        """Share of wrong answers."""
        return {Seen.US: self.us, Seen.PHOTO: self.photo, Seen.PHONE: self.phone}[seen].value


class ElectricalPriors(Assumed, kw_only=True):
    """What readings are like, of sound devices, of faulty ones, of a body that is none of these."""

    faulty: Number
    faulty_near: Number
    faulty_near_ln: Number
    lowest_ohm: Number
    highest_ohm: Number
    open_above_ohm: Number
    contact_ohm: Number
    contact_ln: Number
    none_alike: Number


class IdentifyPriors(Assumed, kw_only=True):
    """The whole file `resources/identify.json`."""

    format: Literal[1]
    note: str
    none_of_these: Number
    misread: Misread
    second_look: Number
    electrical: ElectricalPriors


def read_identify_priors(raw: bytes, *, source: str) -> IdentifyPriors:
    """The file's contents; all its problems at once (raises BadInput)."""
    found, findings = build(loads(raw, source=source), IdentifyPriors)
    problems = [finding.problem for finding in findings]
    if isinstance(found, IdentifyPriors) and not problems:
        problems = _wrong_shares(found)
    if problems or not isinstance(found, IdentifyPriors):
        raise BadInput(problems, source=source)
    return found


def schema_text() -> str:
    """The JSON Schema of the file, for `resources/schema`."""
    from valvebench.model.schema import file_schema

    return json.dumps(file_schema("valvebench identify file", IdentifyPriors), indent=1, ensure_ascii=False) + "\n"


def _wrong_shares(priors: IdentifyPriors) -> list[Problem]:
    """Shares that are none: of all bodies and faults below one, of looks at most a half."""
    below_one = {
        "none_of_these": priors.none_of_these,
        "second_look": priors.second_look,
        "electrical.faulty": priors.electrical.faulty,
        "electrical.faulty_near": priors.electrical.faulty_near,
        "electrical.none_alike": priors.electrical.none_alike,
    }
    problems = [
        Problem(where=where, found=f"{one.value:g}", expected="a share below 1")
        for where, one in below_one.items()
        if not one.value < 1
    ]
    rates = {f"misread.{seen.value}": priors.misread.of(seen) for seen in Seen}
    problems += [
        Problem(where=where, found=f"{rate:g}", expected="less than one look in two wrong")
        for where, rate in rates.items()
        if not rate < _MOST_MISREAD
    ]
    if not priors.electrical.lowest_ohm.value < priors.electrical.highest_ohm.value:
        found = f"{priors.electrical.lowest_ohm.value:g}"
        problems.append(Problem(where="electrical.lowest_ohm", found=found, expected="less than highest_ohm"))
    return problems
