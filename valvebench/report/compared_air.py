"""Leaks and pressures on the sheet Compare: each difference again from its doubts, by formulas of its own rows."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from openpyxl.utils import get_column_letter

from valvebench.diagnose.compare import Detail
from valvebench.diagnose.compared import AirBudget, Compared, Shared
from valvebench.diagnose.comparison import ANSWER_TEXT
from valvebench.physics.uncertainty import INFINITE, Line
from valvebench.report.cells import Sheet
from valvebench.report.compared_formulas import trapezoid_formula
from valvebench.report.layout import embolden, paragraph, set_height
from valvebench.report.look import ANSWER, GENERAL, HEADER, LIVE, LIVE_ANSWER, QUIET, SECTION, TEXT, WHOLE, Look

AIR_TITLE: Final = "Leaks and pressures, computed again"
RESULT: Final = MappingProxyType(
    {
        "what": "What, unit",
        "difference": "Difference",
        "U": "U (95.45 %)",
        "answer": "Answer",
        "a": "This body",
        "b": "The other",
        "u": "u",
        "first": "Largest rectangle",
        "second": "Second rectangle",
        "shape": "Top over base of their trapezoid",
        "dominated": "Dominated by (rectangles)",
        "weight": "Sum of u\u2074 / degrees",
        "k": "k for 95.45 %",
        "two": "Two rectangles count as one shape",
        "p_difference": "Difference, as the program said",
        "p_u": "u, as the program said",
        "p_k": "k, as the program said",
        "p_answer": "Answer, as the program said",
        "agrees": "Agreement (live)",
    }
)
DOUBTS: Final = MappingProxyType(
    {
        "what": "What",
        "u_a": "u, this body",
        "u_b": "u, the other",
        "term": "Doubt",
        "common": "Same error in both",
        "flat_a": "Rectangle, this body",
        "flat_b": "Rectangle, the other",
        "dof_a": "Degrees of freedom, this body",
        "dof_b": "Degrees of freedom, the other",
        "stays_1": "Stays in the difference",
        "stays_2": "Stays beside it",
        "flat_1": "Rectangle",
        "flat_2": "Rectangle beside it",
        "weight": "u\u2074 / degrees",
    }
)
_WORDS: Final = (
    "What is the same error in both tests takes part in a difference by how much it differs, everything else in full "
    "(JCGM 100:2008, 5.2.2). The doubts of each line stand below; the result is computed from them."
)
_WIDE: Final = 9
_RATIO: Final = "3.33^2"
_MANY: Final = "{u}^4/{weight}"
_T: Final = f"IF({_MANY}>1000,2,TINV(1-0.9545,MAX(INT({_MANY}*(1+1E-9)),1)))"
_DIFFERENT, _ALIKE = (f'"{ANSWER_TEXT[answer]}"' for answer in (True, False))
_RESULT_FORMULAS: Final = MappingProxyType(
    {
        "difference": "{a}-{b}",
        "u": "SQRT(SUMSQ({stays}))",
        "first": "SUMPRODUCT(MAX({stays}*({flat}=1)))",
        "second": "SUMPRODUCT(LARGE({stays}*({flat}=1),2))",
        "shape": "IF({first}+{second}=0,0,({first}-{second})/({first}+{second}))",
        "dominated": (
            f"IF({{first}}^2>{_RATIO}*({{u}}^2-{{first}}^2),1,"
            f"IF(AND({{two}}=1,{{first}}^2+{{second}}^2>{_RATIO}*MAX(0,{{u}}^2-{{first}}^2-{{second}}^2)),2,0))"
        ),
        "weight": "SUM({weights})",
        "k": (
            f"IF({{dominated}}=1,0.9545*SQRT(3),IF({{dominated}}=2,{trapezoid_formula('{shape}')},"
            f"IF({{weight}}=0,2,{_T})))"
        ),
        "U": "{k}*{u}",
        "answer": f"IF(ABS({{difference}})>{{U}},{_DIFFERENT},{_ALIKE})",
        "agrees": (
            "IF(AND(ABS({difference}-{p_difference})<=1E-9*(ABS({a})+ABS({b}))+1E-15,"
            "ABS({u}-{p_u})<=1E-9*{p_u}+1E-15,ABS({k}-{p_k})<=1E-6*{p_k},{answer}={p_answer}),"
            '"agrees","differs")'
        ),
    }
)
_DOUBT_FORMULAS: Final = MappingProxyType(
    {
        "stays_1": "IF({common}=1,ABS({u_a}-{u_b}),{u_a}+0)",
        "stays_2": "IF({common}=1,0,{u_b}+0)",
        "flat_1": "IF({common}=1,MAX({flat_a},{flat_b}),{flat_a}+0)",
        "flat_2": "IF({common}=1,0,{flat_b}+0)",
        "weight": ("IF({common}=1,0,IF(ISNUMBER({dof_a}),{u_a}^4/{dof_a},0)+IF(ISNUMBER({dof_b}),{u_b}^4/{dof_b},0))"),
    }
)
_WHOLE: Final = frozenset({"dominated", "flat_1", "flat_2"})
_NAME: Final = re.compile(r"\{(\w+)\}")
_RESULT_COLUMN: Final = {key: number for number, key in enumerate(RESULT, start=1)}
_DOUBT_COLUMN: Final = {key: number for number, key in enumerate(DOUBTS, start=1)}


def write_compared_air(sheet: Sheet, details: Sequence[Detail], row: int) -> int:
    """The results, then their doubts, from a row on; the first row below them.  Nothing where there is none."""
    cases = [(detail.compared, detail.air) for detail in details if detail.air is not None]
    if not cases:
        return row
    paragraph(sheet, row, AIR_TITLE, SECTION, columns=_WIDE, characters=100)
    paragraph(sheet, row + 1, _WORDS, QUIET, columns=_WIDE, characters=105)
    _write_heads(sheet, row + 2, RESULT)
    first, doubts = row + 3, row + 3 + len(cases) + 2
    for place, (compared, budget) in enumerate(cases):
        last = doubts + len(budget.terms) - 1
        _write_result(sheet, first + place, compared, budget, (doubts, last))
        for number, term in enumerate(budget.terms, start=doubts):
            _write_doubt(sheet, number, compared.what, term)
        doubts = last + 1
    _write_heads(sheet, first + len(cases) + 1, DOUBTS)
    for key in ("answer", "p_answer"):
        letter = get_column_letter(_RESULT_COLUMN[key])
        embolden(sheet, f"{letter}{first}:{letter}{first + len(cases) - 1}", ANSWER_TEXT[True])
    return doubts


def _write_heads(sheet: Sheet, row: int, titles: Mapping[str, str]) -> None:
    for column, title in enumerate(titles.values(), start=1):
        sheet.text(row, column, title, HEADER)
    set_height(sheet, row, 5)


def _write_result(sheet: Sheet, row: int, compared: Compared, budget: AirBudget, lines: tuple[int, int]) -> None:
    column = _RESULT_COLUMN
    sheet.text(row, column["what"], f"{compared.what}, {compared.unit}")
    sheet.text(row, column["p_answer"], ANSWER_TEXT[compared.significant], ANSWER)
    numbers = {
        "a": compared.a,
        "b": compared.b,
        "p_difference": compared.difference,
        "p_u": compared.u_difference,
        "p_k": compared.k,
    }
    for key, number in numbers.items():
        if isinstance(number, float):
            sheet.number(row, column[key], number, GENERAL)
    sheet.number(row, column["two"], float(budget.has_trapezoid), WHOLE)
    ranges = {
        "stays": _range("stays_1", "stays_2", lines),
        "flat": _range("flat_1", "flat_2", lines),
        "weights": _range("weight", "weight", lines),
    }
    cells = {key: f"{get_column_letter(number)}{row}" for key, number in column.items()} | ranges
    for key, formula in _RESULT_FORMULAS.items():
        look: Look = LIVE_ANSWER if key in ("answer", "agrees") else WHOLE if key in _WHOLE else LIVE
        sheet.formula(row, column[key], _filled(formula, cells), look)


def _range(first: str, last: str, lines: tuple[int, int]) -> str:
    one, other = (get_column_letter(_DOUBT_COLUMN[key]) for key in (first, last))
    return f"${one}${lines[0]}:${other}${lines[1]}"


def _write_doubt(sheet: Sheet, row: int, what: str, term: Shared) -> None:
    column = _DOUBT_COLUMN
    sheet.text(row, column["what"], what, TEXT)
    sheet.text(row, column["term"], term.term, TEXT)
    sheet.number(row, column["common"], float(term.is_common), WHOLE)
    for side, line in (("a", term.a), ("b", term.b)):
        _write_side(sheet, row, side, line)
    cells = {key: f"{get_column_letter(number)}{row}" for key, number in column.items()}
    for key, formula in _DOUBT_FORMULAS.items():
        sheet.formula(row, column[key], _filled(formula, cells), WHOLE if key in _WHOLE else LIVE)


def _write_side(sheet: Sheet, row: int, side: str, line: Line | None) -> None:
    """Empty where a test has no such doubt: an empty cell counts as nought."""
    if line is None:
        return
    column = _DOUBT_COLUMN
    sheet.number(row, column[f"u_{side}"], float(line.u_ohm), GENERAL)
    sheet.number(row, column[f"flat_{side}"], float(line.is_rectangular), WHOLE)
    if line.dof != INFINITE:
        sheet.number(row, column[f"dof_{side}"], float(line.dof), GENERAL)


def _filled(formula: str, cells: Mapping[str, str]) -> str:
    return "=" + _NAME.sub(lambda found: cells[found[1]], formula)
