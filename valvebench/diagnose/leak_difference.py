"""Two leaks compared: what is wrong with both in the same way does not part them."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.compared import AirBudget, Shared
from valvebench.judge.leak import lines_of
from valvebench.model.errors import bad
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound
from valvebench.physics.uncertainty import combine

_COMMON_OF: Final = MappingProxyType(
    {
        "gauge": ("gauge", "supply gauge", "port gauge", "ambient and zero"),
        "volume": ("volume",),
        "restriction": ("restriction", "known hole", "critical ratio", "bend of the pump's curve"),
        "air": ("ambient", "gas temperature", "temperature"),
    }
)
"""Terms that have the same error in both tests, by what was the same."""


class LeakDifference(NamedTuple):
    """a less b [ml/min] with its standard uncertainty and factor, whether it is proved, and what was common."""

    difference: Sized
    k_coverage: float
    is_significant: bool
    common: tuple[str, ...]


def leak_difference(a: LeakFound, b: LeakFound, *, same: tuple[str, ...]) -> LeakDifference:
    """Compare two leaks told at one pressure and one reference.

    Parameters
    ----------
    a, b : what two tests found
    same : what was the same in both: `gauge`, `volume` (hose and vessel), `restriction` (or the pump's known
        hole), `air` (within two hours in one room)

    Raises
    ------
    BadInput : where a leak is not told, or at another pressure or reference

    Source
    ------
    JCGM 100:2008, 5.2.2: terms that are fully correlated enter by the difference of their parts.
    """
    if a.leak_ml_min is None or b.leak_ml_min is None:
        raise bad("leak", "one that is not told", "two numbers", "Repeat the test that gave none.")
    _refuse_unlike(a, b)
    budget = leak_budget(a, b, same=same)
    doubt = combine(budget.lines())
    of_a, of_b = ({one.term for one in found.lines} for found in (a, b))
    difference = a.leak_ml_min.value - b.leak_ml_min.value
    u, k = float(doubt.u), float(doubt.k95)
    told = tuple(name for name in same if any(term in of_a and term in of_b for term in _COMMON_OF[name]))
    return LeakDifference(Sized(value=difference, u=u), k, abs(difference) > k * u, told)


def leak_budget(a: LeakFound, b: LeakFound, *, same: tuple[str, ...]) -> AirBudget:
    """Every doubt of two leaks, and which of them is the same error in both."""
    common = {term for name in same for term in _COMMON_OF[name]}
    of_a, of_b = ({line.term: line for line in lines_of(found.lines)} for found in (a, b))
    terms = dict.fromkeys((*of_a, *of_b))
    return AirBudget(tuple(Shared(term, of_a.get(term), of_b.get(term), term in common) for term in terms))


def _refuse_unlike(a: LeakFound, b: LeakFound) -> None:
    """A leak grows with its pressure, and a volume with its reference."""
    if (a.ref_celsius, a.ref_kpa_abs) != (b.ref_celsius, b.ref_kpa_abs):
        raise bad("reference", f"{a.ref_celsius:g} and {b.ref_celsius:g} degrees Celsius", "one reference for both")
    if abs(a.at_kpa_gauge - b.at_kpa_gauge) > 0.01 * max(abs(a.at_kpa_gauge), abs(b.at_kpa_gauge)):
        found = f"{a.at_kpa_gauge:.4g} and {b.at_kpa_gauge:.4g} kPa"
        raise bad("pressure", found, "one pressure within 1 %", "Tell both at the same pressure.")
