"""The tables of the sheet Explanations and their live formulas.

`{name}` stands for the cell of that column in the same row, `{name+}` for the one below it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from openpyxl.utils import get_column_letter

from valvebench.model.format import OHM

LARGEST_ODDS: Final = 99
AGREES, DIFFERS = "agrees", "differs"
SEEN, NOT_SEEN = "seen", "no more than its doubt"
DECIDES: Final = "decides"
AS_READ, NOT_SO = "as read", "not as read"
ALIKE, NOT_ALIKE = "alike", "not alike"
_ZONE: Final = re.compile(r"\{(\w+)(\+?)\}")


class Table(NamedTuple):
    """One table: keys with their titles from the first column on, and formulas by key."""

    columns: tuple[tuple[str, str], ...]
    formulas: Mapping[str, str]

    def number(self, key: str) -> int:
        """Which column it is, from 1."""
        return [name for name, _ in self.columns].index(key) + 1

    def formula(self, key: str, row: int) -> str:
        """The formula of a column in one row."""
        return self.at(self.formulas[key], row)

    def at(self, formula: str, row: int) -> str:
        """A formula in one row."""

        def cell(found: re.Match[str]) -> str:
            return f"{get_column_letter(self.number(found[1]))}{row + len(found[2])}"

        return "=" + _ZONE.sub(cell, formula)


# What follows the last answer shown is all the rest.
LAST_ODDS: Final = f"IF(1-{{share}}>{{share}}/{LARGEST_ODDS},{{share}}/(1-{{share}}),{LARGEST_ODDS})"
ANSWERS: Final = Table(
    (
        ("what", "Explanation"),
        ("same", "These readings cannot tell it from"),
        ("chance", "Chance"),
        ("share", "Share"),
        ("size", f"Size, {OHM} (of a temperature K)"),
        ("U_size", "U of the size"),
        ("odds", f"Odds against the next, at most {LARGEST_ODDS} (live)"),
        ("p_odds", "Odds, as the program said"),
        ("agrees", "Agreement (live)"),
    ),
    MappingProxyType(
        {
            "odds": f"IF({{share+}}>{{share}}/{LARGEST_ODDS},{{share}}/{{share+}},{LARGEST_ODDS})",
            "agrees": f'IF(ABS({{odds}}-{{p_odds}})<=1E-9*(1+{{p_odds}}),"{AGREES}","{DIFFERS}")',
        }
    ),
)


def _distance(which: str) -> str:
    return (
        f"IF(AND(ISNUMBER({{{which}}}),ISNUMBER({{u}})),({{{which}}}-{{read}})/{{u}},"
        f'IF({{{which}}}={{read}},"{AS_READ}","{NOT_SO}"))'
    )


TOLD: Final = Table(
    (
        ("what", "Reading"),
        ("where", "Where and when"),
        ("decides", "Does it decide? (live)"),
        ("read", f"Read, after leads, {OHM}"),
        ("first", f"The first predicts, {OHM}"),
        ("second", f"The second predicts, {OHM}"),
        ("off_first", "First less read, over the doubt (live)"),
        ("off_second", "Second less read, over the doubt (live)"),
        ("apart", "First against second, over the doubt (live)"),
        ("u", f"Doubt of the reading, u, {OHM} (live)"),
        ("own", f"Counts and tips, u, {OHM}"),
        ("gain", "Gain, u, share of the value"),
        ("leads", f"Leads, u, {OHM}"),
        ("slope", f"Change per K, {OHM}"),
        ("u_celsius", "Temperature, u, K"),
    ),
    MappingProxyType(
        {
            # JCGM 100:2008, 5.1.2: all of one reading; what several share is in it as well.
            "u": "SQRT({own}^2+({gain}*{read})^2+{leads}^2+({slope}*{u_celsius})^2)",
            "off_first": _distance("first"),
            "off_second": _distance("second"),
            "apart": (
                "IF(AND(ISNUMBER({first}),ISNUMBER({second}),ISNUMBER({u})),ABS({first}-{second})/{u},"
                f'IF({{first}}={{second}},"{ALIKE}","{NOT_ALIKE}"))'
            ),
            # By itself: the two predictions lie further apart than the expanded doubt of the reading.
            "decides": f'IF(OR({{apart}}="{NOT_ALIKE}",AND(ISNUMBER({{apart}}),N({{apart}})>2)),"{DECIDES}","")',
        }
    ),
)
ACCESS: Final = Table(
    (
        ("what", "Both wires of the pair"),
        ("between", "What lies between"),
        ("answer", "Does it show? (live)"),
        ("difference", f"Difference, {OHM} (live)"),
        ("U", f"U (k = 2), {OHM} (live)"),
        ("outer", f"Farther out, {OHM}"),
        ("inner", f"Farther in, {OHM}"),
        ("moved", f"Farther in, at the other\u2019s temperature, {OHM} (live)"),
        ("outer_celsius", "Farther out, coil, \u00b0C"),
        ("inner_celsius", "Farther in, coil, \u00b0C"),
        ("k_celsius", "Conductor constant, \u00b0C"),
        ("outer_own", f"Counts and tips, farther out, u, {OHM}"),
        ("inner_own", f"Counts and tips, farther in, u, {OHM}"),
        ("gain", "Gain both share, u, share of the difference"),
        ("outer_gain", "Gain, farther out, u (empty: shared)"),
        ("inner_gain", "Gain, farther in, u (empty: shared)"),
        ("outer_leads", f"Leads, farther out, u, {OHM} (empty: shared)"),
        ("inner_leads", f"Leads, farther in, u, {OHM} (empty: shared)"),
        ("outer_u_celsius", "Temperature, farther out, u, K (empty: the same)"),
        ("inner_u_celsius", "Temperature, farther in, u, K (empty: the same)"),
        ("u", f"u, {OHM} (live)"),
        ("p_difference", f"Difference, as the program said, {OHM}"),
        ("p_u", f"u, as the program said, {OHM}"),
        ("agrees", "Agreement (live)"),
    ),
    MappingProxyType(
        {
            # IEC 60034-1, 8.6.2: the conductor law.
            "moved": (
                "IF(ISNUMBER({k_celsius}),{inner}*({k_celsius}+{outer_celsius})/({k_celsius}+{inner_celsius}),{inner})"
            ),
            "difference": "{outer}-{moved}",
            # JCGM 100:2008, 5.2: what both readings share cancels.
            "u": (
                "SQRT({outer_own}^2+{inner_own}^2+({gain}*{difference})^2+({outer_gain}*{outer})^2+"
                "({inner_gain}*{inner})^2+{outer_leads}^2+{inner_leads}^2+"
                "IF(ISNUMBER({k_celsius}),({inner}/({k_celsius}+{outer_celsius}))^2*"
                "({outer_u_celsius}^2+{inner_u_celsius}^2),0))"
            ),
            "U": "2*{u}",
            "answer": f'IF(ABS({{difference}})>{{U}},"{SEEN}","{NOT_SEEN}")',
            "agrees": (
                f"IF(AND(ABS({{difference}}-{{p_difference}})<=1E-9*{{outer}},ABS({{u}}-{{p_u}})<=1E-9*{{p_u}}),"
                f'"{AGREES}","{DIFFERS}")'
            ),
        }
    ),
)
_NO_FORMULA: Final[Mapping[str, str]] = MappingProxyType({})
NEXT: Final = Table(
    (("what", "What to do next"), ("time", "How long it takes"), ("bits", "Expected to tell, bits")), _NO_FORMULA
)
LEFT_OUT: Final = Table((("what", "Left out"), ("why", "Why")), _NO_FORMULA)
