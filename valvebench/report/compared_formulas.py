"""The columns of the sheet Compare and the live formulas of a difference.

`{name}` stands for the cell of that column in the same row, as on the sheet Workings.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

from openpyxl.utils import get_column_letter

from valvebench.diagnose.comparison import ANSWER_TEXT
from valvebench.model.format import OHM
from valvebench.report.formulas import Heading

RECTANGLES: Final = 4
NORMALS: Final = 2
"""Lines one side can have: leads, counts and check resistor as rectangles; a stated doubt and repeats as bells."""
_SIDES: Final = (("a", "this body"), ("b", "the other"))

_RESULT: Final = "Result (live)"
_INPUTS: Final = "Raw inputs"
_OWN: Final = f"Own standard uncertainties, {OHM} at the coil temperature (inputs)"
_STEPS: Final = "Carried to one temperature (live)"
_DOUBT: Final = f"Standard uncertainties of the difference, {OHM} (live)"
_TOTAL: Final = "Combined (live)"
_PROGRAM: Final = "As the program said"


def trapezoid_formula(shape: str) -> str:
    """Coverage factor of a trapezoid, its top over its base in the cell `shape` (EA-4/02 S10).

    Where the interval ends on the flat top, the second form.
    """
    unit = f"SQRT((1+{shape}^2)/6)"
    return (
        f"IF((1-0.9545)*(1+{shape})<=1-{shape},(1-SQRT((1-0.9545)*(1-{shape}^2)))/{unit},0.5*0.9545*(1+{shape})/{unit})"
    )


def _own_columns(side: str, words: str) -> tuple[tuple[str, str, float], ...]:
    return (
        (f"{side}_terms", f"What they are, {words}", 22.0),
        *((f"{side}_r{n}", f"Rectangle {n}, {words}", 11.0) for n in range(1, RECTANGLES + 1)),
        *((f"{side}_n{n}", f"Bell {n}, {words}", 11.0) for n in range(1, NORMALS + 1)),
        (f"{side}_dof", f"Degrees of freedom of bell 2, {words}", 11.0),
        (f"{side}_wr", f"Temperature, K, rectangle, {words}", 11.0),
        (f"{side}_wn", f"Temperature, K, bell, {words}", 11.0),
    )


def _doubt_columns() -> tuple[tuple[str, str, float], ...]:
    """Rectangles first, then bells: each kind stands in one stretch."""
    rectangles = [
        (f"x_{side}{n}", f"Rectangle {n}, {words}") for side, words in _SIDES for n in range(1, RECTANGLES + 1)
    ]
    warm = [(f"x_{side}w", f"Temperature, {words}") for side, words in _SIDES]
    bells = [(f"y_{side}{n}", f"Bell {n}, {words}") for side, words in _SIDES for n in range(1, NORMALS + 1)]
    warm_bells = [(f"y_{side}w", f"Temperature, bell, {words}") for side, words in _SIDES]
    found = (("x_gain", "Shared gain"), *rectangles, *warm, *bells, *warm_bells)
    return tuple((key, title, 11.0) for key, title in found)


_OF_GROUP: Final = (
    ("What", (("what", "What", 26.0),)),
    (
        _RESULT,
        (
            ("difference", f"Difference, {OHM}", 12.0),
            ("U", f"U (95.45 %), {OHM}", 12.0),
            ("answer", "Answer", 20.0),
        ),
    ),
    (
        _INPUTS,
        (
            ("a_ohm", f"This body, after leads, {OHM}", 12.0),
            ("b_ohm", f"The other, after leads, {OHM}", 12.0),
            ("a_celsius", "This body, \u00b0C", 9.0),
            ("b_celsius", "The other, \u00b0C", 9.0),
            ("k_celsius", "Conductor constant, \u00b0C", 12.0),
            ("slope", "Slope where not copper, 1/K", 11.0),
            ("gain", "Gain both share, % (empty: none)", 11.0),
        ),
    ),
    (_OWN, (*_own_columns(*_SIDES[0]), *_own_columns(*_SIDES[1]))),
    (
        _STEPS,
        (
            ("a_factor", "Factor, this body", 11.0),
            ("b_factor", "Factor, the other", 11.0),
            ("a_ref", f"This body, {OHM}", 12.0),
            ("b_ref", f"The other, {OHM}", 12.0),
            ("a_slope", "Change per K, this body", 11.0),
            ("b_slope", "Change per K, the other", 11.0),
        ),
    ),
    (_DOUBT, _doubt_columns()),
    (
        _TOTAL,
        (
            ("u", f"u, {OHM}", 12.0),
            ("first", "Largest rectangle", 11.0),
            ("second", "Second rectangle", 11.0),
            ("dominated", "Dominated by (rectangles)", 11.0),
            ("shape", "Top over base of their trapezoid", 11.0),
            ("nu", "Effective degrees of freedom", 12.0),
            ("k", "k for 95.45 %", 11.0),
        ),
    ),
    (
        _PROGRAM,
        (
            ("p_difference", f"Difference, {OHM}", 12.0),
            ("p_u", f"u, {OHM}", 12.0),
            ("p_k", "k", 11.0),
            ("p_answer", "Answer", 20.0),
            ("agrees", "Agreement (live)", 12.0),
            ("why", "What cancels and what does not", 60.0),
        ),
    ),
)

HEADINGS: Final = tuple(Heading(*column, group) for group, columns in _OF_GROUP for column in columns)
COLUMN: Final = MappingProxyType({heading.key: number for number, heading in enumerate(HEADINGS, start=1)})
_ZONE: Final = re.compile(r"\{(\w+)\}")
_RECTANGLES: Final = "{x_gain}:{x_bw}"
_ALL: Final = "{x_gain}:{y_bw}"
_WEIGHT: Final = "(IF(ISNUMBER({a_dof}),{y_a2}^4/{a_dof},0)+IF(ISNUMBER({b_dof}),{y_b2}^4/{b_dof},0))"
_DIFFERENT, _ALIKE = (f'"{ANSWER_TEXT[answer]}"' for answer in (True, False))


def _of_side(side: str) -> dict[str, str]:
    rectangles = {f"x_{side}{n}": f"{{{side}_r{n}}}*{{{side}_factor}}" for n in range(1, RECTANGLES + 1)}
    bells = {f"y_{side}{n}": f"{{{side}_n{n}}}*{{{side}_factor}}" for n in range(1, NORMALS + 1)}
    per_kelvin = f"ABS({{{side}_ref}})*{{{side}_slope}}"
    return {
        f"{side}_ref": f"{{{side}_ohm}}*{{{side}_factor}}",
        f"{side}_slope": (
            f"IF(ISNUMBER({{k_celsius}}),1/({{k_celsius}}+{{{side}_celsius}}),IF(ISNUMBER({{slope}}),ABS({{slope}}),0))"
        ),
        **rectangles,
        **bells,
        f"x_{side}w": f"{per_kelvin}*{{{side}_wr}}",
        f"y_{side}w": f"{per_kelvin}*{{{side}_wn}}",
    }


# JCGM 100, 5.1.2, 5.2 and G.4.1; EA-4/02 S9 and S10.
FORMULAS: Final = MappingProxyType(
    {
        "a_factor": "IF(ISNUMBER({k_celsius}),({k_celsius}+20)/({k_celsius}+{a_celsius}),1)",
        "b_factor": (
            "IF(ISNUMBER({k_celsius}),({k_celsius}+20)/({k_celsius}+{b_celsius}),"
            "IF(ISNUMBER({slope}),EXP({slope}*({a_celsius}-{b_celsius})),1))"
        ),
        **_of_side("a"),
        **_of_side("b"),
        "difference": "{a_ref}-{b_ref}",
        "x_gain": "IF(ISNUMBER({gain}),{gain}/100*ABS({difference})/SQRT(3),0)",
        "u": f"SQRT(SUMSQ({_ALL}))",
        "first": f"MAX({_RECTANGLES})",
        "second": f"LARGE({_RECTANGLES},2)",
        "dominated": (
            "IF({first}^2>3.33^2*({u}^2-{first}^2),1,"
            "IF({first}^2+{second}^2>3.33^2*MAX(0,{u}^2-{first}^2-{second}^2),2,0))"
        ),
        "shape": "IF({first}+{second}=0,0,({first}-{second})/({first}+{second}))",
        "nu": f'IF(COUNT({{a_dof}},{{b_dof}})=0,"infinite",IF({_WEIGHT}=0,1E+9,MIN(1E+9,{{u}}^4/{_WEIGHT})))',
        "k": (
            f"IF({{dominated}}=1,0.9545*SQRT(3),IF({{dominated}}=2,{trapezoid_formula('{shape}')},"
            'IF({nu}="infinite",2,IF({nu}>1000,2,TINV(1-0.9545,MAX(INT({nu}*(1+1E-9)),1))))))'
        ),
        "U": "{k}*{u}",
        "answer": (f"IF(ABS({{difference}})>{{U}}+1E-12*MAX(ABS({{a_ref}}),ABS({{b_ref}})),{_DIFFERENT},{_ALIKE})"),
        "agrees": (
            "IF(AND(ABS({difference}-{p_difference})<=1E-9*MAX(ABS({a_ref}),ABS({b_ref}))+1E-15,"
            "ABS({u}-{p_u})<=1E-9*{p_u}+1E-12*ABS({a_ref}),ABS({k}-{p_k})<=1E-6*{p_k},"
            '{answer}={p_answer}),"agrees","differs")'
        ),
    }
)


def letter(key: str) -> str:
    """Column letters of a heading."""
    return str(get_column_letter(COLUMN[key]))


def formula_at(key: str, row: int) -> str:
    """The formula of a column in one row."""
    return "=" + _ZONE.sub(lambda found: f"{letter(found[1])}{row}", FORMULAS[key])
