"""The columns of the Workings sheet and the live formulas that recompute a judgement.

`{name}` stands for the cell of that column in the same row.  TINV, NORMSDIST and BETADIST are
the names that both Excel and LibreOffice know without a prefix.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final, NamedTuple

from openpyxl.utils import get_column_letter

from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, Rule, Verdict


class Heading(NamedTuple):
    """A column: its key, title, width, and the group it stands in."""

    key: str
    title: str
    width: float
    group: str


_ROW: Final = "What"
_RAW: Final = "Raw inputs"
_STEPS: Final = "Corrected value (live)"
_DOUBT: Final = "Standard uncertainties at the reference, \u03a9 (live)"
_TOTAL: Final = "Combined and expanded (live)"
_RESULT: Final = "Result (live)"
_PROGRAM: Final = "As the program judged"

_OF_GROUP: Final = (
    (
        _ROW,
        (
            ("line", "Line", 6.0),
            ("what", "What", 16.0),
            ("entries", "Entries", 10.0),
            ("way", "Way of measuring", 22.0),
        ),
    ),
    (
        _RAW,
        (
            ("times", "Times read", 7.0),
            ("shown", "Meter showed (mean), \u03a9", 11.0),
            ("celsius", "Coil, \u00b0C", 9.0),
            ("percent", "Meter, % of reading", 8.0),
            ("counts", "Meter, counts", 8.0),
            ("step", "Meter, step \u03a9 or V", 8.0),
            ("lead", "Tips shorted, \u03a9", 8.0),
            ("allowance", "Lead allowance, \u03a9", 9.5),
            ("check", "Check resistor, \u03a9", 9.0),
            ("check_read", "Check read, \u03a9", 9.0),
            ("check_zero", "Tips with the check, \u03a9", 9.0),
            ("check_pct", "Check tolerance, %", 9.0),
            ("volts_x", "Device, V", 9.0),
            ("volts_check", "Check resistor, V", 9.0),
            ("range", "Open on range, \u03a9", 11.0),
            ("u_given", "u given, \u03a9", 8.0),
            ("half_width", "Coil half-width, K", 9.0),
            ("u_celsius", "u of coil given, K", 8.0),
            ("k_celsius", "Conductor constant, \u00b0C", 12.0),
            ("ref", "Reference, \u00b0C", 9.5),
            ("ref_half", "Reference half-width, K", 9.5),
            ("slope", "Sensor slope, 1/K", 10.0),
            ("low", "Lowest allowed, \u03a9", 11.0),
            ("high", "Highest allowed, \u03a9", 11.0),
            ("rule", "Rule", 16.0),
            ("set_up", "Set-up number", 8.0),
            ("pool_step", "Step of the set-up, \u03a9", 9.0),
        ),
    ),
    (
        _STEPS,
        (
            ("ratio", "Ratio to the check", 11.0),
            ("value", "Corrected, \u03a9", 12.0),
            ("factor", "Factor to reference", 11.0),
            ("at_ref", "At reference, \u03a9", 12.0),
        ),
    ),
    (
        _DOUBT,
        (
            ("r_meter", "Meter or gain", 11.0),
            ("r_counts", "Counts or display step", 11.0),
            ("r_leads", "Leads or tips", 11.0),
            ("r_check_read", "Check reading", 11.0),
            ("r_check", "Check resistor", 11.0),
            ("r_celsius", "Temperature", 11.0),
            ("r_ref", "Reference not stated", 11.0),
            ("n_given", "Given", 11.0),
            ("n_celsius", "Temperature given", 11.0),
            ("n_repeats", "Repeats", 11.0),
            ("squares", "Sum of squares of repeats", 11.0),
            ("freedom", "Degrees of freedom of repeats", 11.0),
            ("spread", "Spread of one reading, \u03a9", 11.0),
        ),
    ),
    (
        _TOTAL,
        (
            ("u", "u, \u03a9", 12.0),
            ("dominated", "One rectangle dominates (1 = yes)", 10.0),
            ("nu", "Effective degrees of freedom", 12.0),
            ("k", "k for 95.45 %", 11.0),
            ("k90", "k for 90 %", 11.0),
            ("U", "U (95.45 %), \u03a9", 12.0),
            ("guard", "Guard width, \u03a9", 12.0),
            ("slack", "Binary slack, \u03a9", 11.0),
        ),
    ),
    (
        _RESULT,
        (
            ("verdict", "Verdict", 13.0),
            ("lean", "Lean", 10.0),
            ("plain", "Plain comparison", 13.0),
            ("below_low", "Chance below lowest", 10.0),
            ("below_high", "Chance below highest", 10.0),
            ("chance", "Chance inside", 10.0),
        ),
    ),
    (
        _PROGRAM,
        (
            ("p_value", "Corrected, \u03a9", 12.0),
            ("p_at_ref", "At reference, \u03a9", 12.0),
            ("p_u", "u, \u03a9", 12.0),
            ("p_k", "k", 11.0),
            ("p_U", "U, \u03a9", 12.0),
            ("p_verdict", "Verdict", 13.0),
            ("p_lean", "Lean", 10.0),
            ("p_plain", "Plain comparison", 13.0),
            ("p_chance", "Chance inside", 10.0),
            ("agrees", "Agreement (live)", 12.0),
        ),
    ),
)

HEADINGS: Final = tuple(Heading(*column, group) for group, columns in _OF_GROUP for column in columns)
COLUMN: Final = MappingProxyType({heading.key: number for number, heading in enumerate(HEADINGS, start=1)})
_RECTANGLES: Final = "{r_meter}:{r_ref}"
_ALL_LINES: Final = "{r_meter}:{n_repeats}"
_ZONE: Final = re.compile(r"\{(\w+)\}")

_IS_INFINITE: Final = '{nu}="infinite"'
_WHOLE_NU: Final = "MAX(INT({nu}*(1+1E-9)),1)"
_ABOVE: Final = "{at_ref}>={low}+{guard}-{slack}"
_BELOW: Final = "{at_ref}<={high}-{guard}+{slack}"
_UNDER: Final = "AND(NOT(ISBLANK({low})),{at_ref}<{low}-{guard}-{slack})"
_OVER: Final = "AND(NOT(ISBLANK({high})),{at_ref}>{high}+{guard}+{slack})"
_NO_LIMITS: Final = "AND(ISBLANK({low}),ISBLANK({high}))"
_INSIDE_PLAINLY: Final = "AND(OR(ISBLANK({low}),{at_ref}>={low}-{slack}),OR(ISBLANK({high}),{at_ref}<={high}+{slack}))"
_STRADDLES: Final = "AND(NOT(ISBLANK({low})),NOT(ISBLANK({high})),{at_ref}-{guard}<{low},{at_ref}+{guard}>{high})"
_PASS, _FAIL, _CANT_TELL, _NO_LIMIT, _NOT_USABLE = (
    f'"{VERDICT_TEXT[verdict]}"'
    for verdict in (Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL, Verdict.NO_LIMIT, Verdict.NOT_USABLE)
)
_COUNTS: Final = "IF({counts}>0,{counts}*{step}/SQRT(3),{step}/SQRT(12))*{factor}"
_STEP: Final = "{step}/SQRT(12)*{factor}"
_METER: Final = "({percent}/100*ABS({shown})+{counts}*{step})/SQRT(3)*{factor}"
_BARE_STEP: Final = "IF({counts}>0,0,{step}/SQRT(12))*{factor}"
_PER_OHM: Final = "ABS({check}/({check_read}-{check_zero}))"

# What each way of measuring fills in: corrected value and its own lines (JCGM 100, 4.3 and 5.1).
WAYS: Final = MappingProxyType(
    {
        "neither": {
            "value": "{shown}-{allowance}/2",
            "r_meter": _METER,
            "r_counts": _BARE_STEP,
            "r_leads": "{allowance}/2/SQRT(3)*{factor}",
        },
        "nulled": {
            "value": "{shown}",
            "r_meter": _METER,
            "r_counts": _BARE_STEP,
            "r_leads": "{step}/SQRT(3)*{factor}",
        },
        "four_wire": {"value": "{shown}", "r_meter": _METER, "r_counts": _BARE_STEP},
        "subtract": {
            "value": "{shown}-{lead}",
            "r_meter": "{percent}/100*ABS({value})/SQRT(3)*{factor}",
            "r_counts": _COUNTS,
            "r_leads": _COUNTS,
        },
        "check": {
            "ratio": "({shown}-{check_zero})/({check_read}-{check_zero})",
            "value": "{check}*{ratio}",
            "r_counts": f"{_PER_OHM}*{_STEP}",
            "r_leads": f"{_PER_OHM}*ABS(1-{{ratio}})*{_STEP}",
            "r_check_read": f"{_PER_OHM}*ABS({{ratio}})*{_STEP}",
            "r_check": "{check_pct}/100*{check}*ABS({ratio})/SQRT(3)*{factor}",
        },
        "volts": {
            "ratio": "{volts_x}/{volts_check}",
            "value": "{check}*{ratio}",
            "r_counts": f"{{check}}/{{volts_check}}*{_COUNTS}",
            "r_check_read": f"{{value}}/{{volts_check}}*{_COUNTS}",
            "r_check": "{check_pct}/100*{value}/SQRT(3)*{factor}",
        },
    }
)

# With a stated standard uncertainty the lines of meter and leads give way to it.
GIVEN: Final = "{u_given}*{factor}"
FACTOR: Final = "({k_celsius}+{ref})/({k_celsius}+{celsius})"
PER_KELVIN_COPPER: Final = "ABS({at_ref})/({k_celsius}+{celsius})"
PER_KELVIN_SENSOR: Final = "ABS({slope}*{at_ref})"
REFERENCE: Final = "ABS({at_ref})/({k_celsius}+{ref})*{ref_half}/SQRT(3)"
OWN_SPREAD: Final = "SQRT({squares}/{freedom})"
POOLED_SPREAD: Final = (
    "IF(SUMIF({set_up:all},{set_up},{freedom:all})>=10,"
    "MAX(SQRT(SUMIF({set_up:all},{set_up},{squares:all})/SUMIF({set_up:all},{set_up},{freedom:all})),"
    "{pool_step}/SQRT(12)),{step})"
)
REPEATS: Final = "{spread}/SQRT({times})*{factor}"
REPEATS_CHECK: Final = f"{_PER_OHM}*{REPEATS}"

# Same for every way: JCGM 100, 5.1.2 and G.4.1; JCGM 106, 7 and 8; ILAC-G8:09/2019.
COMMON: Final = MappingProxyType(
    {
        "at_ref": "{value}*{factor}",
        "u": f"SQRT(SUMSQ({_ALL_LINES}))",
        "dominated": f"IF(MAX({_RECTANGLES})^2>3.33^2*(SUMSQ({_ALL_LINES})-MAX({_RECTANGLES})^2),1,0)",
        "nu": (
            "IF(AND({times}>=5,ISNUMBER({n_repeats})),"
            'IF({n_repeats}=0,IF({u}=0,0,1E+9),MIN(1E+9,({u}/{n_repeats})^4*({times}-1))),"infinite")'
        ),
        "k": f"IF({{dominated}}=1,0.9545*SQRT(3),IF({_IS_INFINITE},2,IF({{nu}}>1000,2,TINV(1-0.9545,{_WHOLE_NU}))))",
        "k90": (
            f"IF({{dominated}}=1,0.9*SQRT(3),IF({_IS_INFINITE},1.6448536269514722,"
            f"IF({{nu}}>1000,1.6448536269514722,TINV(0.1,{_WHOLE_NU}))))"
        ),
        "U": "{k}*{u}",
        "guard": (
            f'IF({{rule}}="{RULE_TEXT[Rule.PLAIN]}",0,IF({{rule}}="{RULE_TEXT[Rule.PROVED5]}",{{k90}},{{k}})*{{u}})'
        ),
        "slack": "1E-9*ABS({at_ref})",
        "verdict": (
            f"IF({_NO_LIMITS},{_NO_LIMIT},IF(AND(OR(ISBLANK({{low}}),{_ABOVE}),OR(ISBLANK({{high}}),{_BELOW})),{_PASS},"
            f"IF(OR({_UNDER},{_OVER}),{_FAIL},{_CANT_TELL})))"
        ),
        "lean": (
            f'IF({{verdict}}={_CANT_TELL},IF({_STRADDLES},"straddles",IF({_INSIDE_PLAINLY},"inside","outside")),"")'
        ),
        "plain": f"IF({_NO_LIMITS},{_NO_LIMIT},IF({_INSIDE_PLAINLY},{_PASS},{_FAIL}))",
        "agrees": (
            "IF(AND(ABS({at_ref}-{p_at_ref})<=1E-9*ABS({p_at_ref})+1E-15,ABS({value}-{p_value})<=1E-9*ABS({p_value})+1E-15,"
            "ABS({u}-{p_u})<=1E-9*{p_u}+1E-15,ABS({k}-{p_k})<=1E-9*{p_k},"
            '{verdict}={p_verdict},{lean}={p_lean},{plain}={p_plain}),"agrees","differs")'
        ),
    }
)


def _cumulative(limit: str, without: str) -> str:
    """Chance that the true value lies below a limit: rectangle, normal, or Student by the beta function."""
    z = f"(({{{limit}}}-{{at_ref}})/{{u}})"
    rectangle = f"MIN(1,MAX(0,({z}+SQRT(3))/2/SQRT(3)))"
    student = f"0.5+0.5*SIGN({z})*BETADIST({z}^2/({{nu}}+{z}^2),0.5,{{nu}}/2)"
    # Abramowitz and Stegun 26.7.8; there the beta function of an office program loses digits.
    many = f"NORMSDIST({z}*(1-0.25/{{nu}})/SQRT(1+{z}^2/2/{{nu}}))"
    bell = f"IF({_IS_INFINITE},NORMSDIST({z}),IF({{nu}}>100000,{many},{student}))"
    step = f"IF({{{limit}}}>={{at_ref}},1,0)"
    return f"IF(ISBLANK({{{limit}}}),{without},IF({{u}}=0,{step},IF({{dominated}}=1,{rectangle},{bell})))"


CHANCE: Final = MappingProxyType(
    {
        "below_low": _cumulative("low", "0"),
        "below_high": _cumulative("high", "1"),
        "chance": "{below_high}-{below_low}",
    }
)
# An open display proves "above the range", no more; the band moves to the coil temperature.
OPEN: Final = MappingProxyType(
    {
        "verdict": (
            f"IF({_NO_LIMITS},{_NO_LIMIT},IF(ISBLANK({{high}}),"
            f"IF({{range}}>{{low}}/{{factor}},{_PASS},{_CANT_TELL}),"
            f"IF({{range}}>{{high}}/{{factor}},{_FAIL},{_CANT_TELL})))"
        ),
        "plain": f'IF({{verdict}}={_CANT_TELL},"",{{verdict}})',
        "agrees": 'IF(AND({verdict}={p_verdict},{plain}={p_plain}),"agrees","differs")',
    }
)
NOT_USABLE: Final = MappingProxyType(
    {
        "verdict": f'IF(AND(ISBLANK({{half_width}}),ISBLANK({{u_celsius}})),{_NOT_USABLE},"")',
        "agrees": 'IF(AND({verdict}={p_verdict},ABS({value}-{p_value})<=1E-9*ABS({p_value})+1E-15),"agrees","differs")',
    }
)


class Template(NamedTuple):
    """A formula with its columns filled in; only the row is still open."""

    text: str

    def at(self, row: int) -> str:
        """The formula of one row."""
        return self.text.replace("#", str(row))


def template(formula: str, *, first_row: int, last_row: int) -> Template:
    """Put cell names in: `{key}` is a cell of the row, `{key:all}` the whole column of the table."""
    whole = re.sub(r"\{(\w+):all\}", lambda found: _whole(found[1], first_row, last_row), formula)
    return Template("=" + _ZONE.sub(lambda found: f"{letter(found[1])}#", whole))


def _whole(key: str, first_row: int, last_row: int) -> str:
    return f"${letter(key)}${first_row}:${letter(key)}${last_row}"


def letter(key: str) -> str:
    """Column letters of a heading."""
    return str(get_column_letter(COLUMN[key]))
