"""Leaks and pressures of two sessions: what is wrong with both in the same way does not part them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import msgspec

from valvebench.diagnose.compared import AirBudget, Compared, Shared, Side
from valvebench.diagnose.leak_difference import leak_budget, leak_difference
from valvebench.judge.session import SAME_PLATEAU_CELSIUS
from valvebench.judge.tap import counts_kpa, gain_kpa, gauge_of, same_state
from valvebench.model.air_tests import LeakTest, PressureTaken
from valvebench.model.errors import BadInput
from valvebench.model.leak import LeakFound, LeakLine, LeakMethod
from valvebench.model.meter import parse_meter
from valvebench.physics.two_rectangles import combine_difference
from valvebench.physics.uncertainty import rectangle

ML_MIN: Final = "ml/min"
KPA: Final = "kPa"
_TOLD_AS: Final = {
    "gauge": ("gain",),
    "volume": ("hose", "volume"),
    "restriction": ("restriction",),
    "air": ("temperature",),
}
"""What is common, as the answer names it."""
_GAUGE_TERMS: Final = frozenset({"supply gauge", "port gauge"})
_RESTRICTION: Final = ("restriction_mm", "restriction_c", "restriction_b", "restriction_pct", "cd")
_HOLE: Final = ("known_hole_mm", "known_pct", "cd")
_VESSEL: Final = ("volume_ml", "volume_pct", "hose_id")
_APART: Final = "More than two hours apart: nothing cancels."
_NOT_TOLD: Final = "A leak is compared with one at the same pressure and reference: "


class AirCompared(NamedTuple):
    """One line, and what its difference rests on where there is one."""

    compared: Compared
    budget: AirBudget | None = None


def compare_air(a: Side, b: Side, *, is_common: bool) -> Iterator[AirCompared]:
    """Leaks port by port, then pressures tap by tap; of several the newest counts.

    Parameters
    ----------
    is_common : whether both sessions began within two hours

    Source
    ------
    JCGM 100:2008, 5.2.2; `diagnose.leak_difference`.
    """
    of_a, of_b = _leaks(a), _leaks(b)
    for key, test in of_a.items():
        if key in of_b:
            yield _compare_leak(test, of_b[key], is_common=is_common)
    taken_b = _pressures(b)
    for one in _newest(_pressures(a)):
        if alike := [other for other in taken_b if _is_same_tap(one, other)]:
            nearest = min(reversed(alike), key=lambda other: abs(other.fluid_celsius - one.fluid_celsius))
            yield _compare_pressure(one, nearest, is_common=is_common)


def only_in(side: Side, other: Side) -> list[str]:
    """Leaks and pressures that were taken on one body only."""
    theirs, taken = _leaks(other), _pressures(other)
    names = [_leak_name(test) for key, test in _leaks(side).items() if key not in theirs]
    names += [_tap_name(one) for one in _pressures(side) if not any(_is_same_tap(one, two) for two in taken)]
    return names


def _leaks(side: Side) -> dict[tuple[str | None, str | None, LeakMethod], LeakTest]:
    bodies = [item.body for item in side.session.items]
    return {(body.port, body.device, body.method): body for body in bodies if isinstance(body, LeakTest)}


def _pressures(side: Side) -> list[PressureTaken]:
    bodies = [item.body for item in side.session.items]
    return [body for body in bodies if isinstance(body, PressureTaken)]


def _newest(taken: list[PressureTaken]) -> list[PressureTaken]:
    """The last of each tap and state among those about as warm."""
    found: list[PressureTaken] = []
    for one in taken:
        found = [two for two in found if not (_is_same_tap(one, two) and _is_as_warm(one, two))]
        found.append(one)
    return found


def _is_same_tap(a: PressureTaken, b: PressureTaken) -> bool:
    return a.tap == b.tap and same_state(a.state, b.state)


def _is_as_warm(a: PressureTaken, b: PressureTaken) -> bool:
    return abs(a.fluid_celsius - b.fluid_celsius) <= SAME_PLATEAU_CELSIUS


def _leak_name(test: LeakTest) -> str:
    seat = ", seat" if test.is_seat else ""
    return f"leak {test.of}{seat} ({test.method.value})"


def _tap_name(taken: PressureTaken) -> str:
    return f"tap {taken.tap} ({taken.state.strip()})"


def _compare_leak(a: LeakTest, b: LeakTest, *, is_common: bool) -> AirCompared:
    values = [test.found.leak_ml_min.value if test.found.leak_ml_min is not None else None for test in (a, b)]
    same = shared_by(a, b) if is_common else ()
    split = "gauge" in same
    parted = _parted(a.found, split), _parted(b.found, split)
    try:
        found = leak_difference(*parted, same=same)
    except BadInput as error:
        why = f"{_NOT_TOLD}{error.problems[0].text()}"
        return AirCompared(Compared(_leak_name(a), values[0], values[1], ML_MIN, None, None, None, None, (), why))
    common = tuple(word for name in found.common for word in _TOLD_AS[name])
    told = Compared(
        what=_leak_name(a),
        a=values[0],
        b=values[1],
        unit=ML_MIN,
        difference=found.difference.value,
        u_difference=found.difference.u,
        k=found.k_coverage,
        significant=found.is_significant,
        common=common,
        why=_why(a, b, common, is_common=is_common),
    )
    return AirCompared(told, leak_budget(*parted, same=same))


def shared_by(a: LeakTest, b: LeakTest) -> tuple[str, ...]:
    """What two tests within two hours had in common, as `leak_difference` names it."""
    found = ["gauge"] if a.gauge_key == b.gauge_key and _is_equal(a, b, ("zero_kpa",)) else []
    if a.method is b.method is LeakMethod.DECAY and _is_equal(a, b, _VESSEL):
        found.append("volume")
    if a.method is b.method and _is_equal(a, b, _RESTRICTION if a.method is LeakMethod.STEADY else _HOLE):
        found += ["restriction"] if a.method is not LeakMethod.DECAY else []
    known = [(test.celsius is None, test.ambient_kpa_abs is None) for test in (a, b)]
    return (*found, "air") if known[0] == known[1] else tuple(found)


def _is_equal(a: LeakTest, b: LeakTest, names: tuple[str, ...]) -> bool:
    return all(getattr(a, name) == getattr(b, name) for name in names)


def _parted(found: LeakFound, is_parted: bool) -> LeakFound:  # noqa: FBT001  one question, asked of both
    """The counts of a gauge as a line of their own: they are each reading's, only its percent is common."""
    if not is_parted or found.method is not LeakMethod.STEADY:
        return found  # the other ways count percent and counts apart already
    gauge = parse_meter(found.gauge.removesuffix(" (kPa)"))
    counts = max(gauge.counts, 0.5) * gauge.step
    # the lowest pressure that stood there: the counts are no smaller a part of any other
    gain = 0.01 * gauge.percent * min(abs(found.from_kpa_gauge), abs(found.to_kpa_gauge))
    own = counts / (counts + gain)
    lines: list[LeakLine] = []
    for line in found.lines:
        if line.term not in _GAUGE_TERMS:
            lines.append(line)
            continue
        lines.append(msgspec.structs.replace(line, u_ml_min=(1.0 - own) * line.u_ml_min))
        lines.append(msgspec.structs.replace(line, term=f"counts, {line.term}", u_ml_min=own * line.u_ml_min))
    return msgspec.structs.replace(found, lines=tuple(lines))


def _why(a: LeakTest, b: LeakTest, common: tuple[str, ...], *, is_common: bool) -> str:
    if not is_common:
        return _APART
    if a.gauge_key != b.gauge_key:
        return f"Not the same gauge ({a.gauge_key} and {b.gauge_key}); the same in both: {_listed(common)}."
    return f"The same in both: {_listed(common)}."


def _listed(common: tuple[str, ...]) -> str:
    return ", ".join(common) or "nothing"


def _compare_pressure(a: PressureTaken, b: PressureTaken, *, is_common: bool) -> AirCompared:
    what, difference = _tap_name(a), a.kpa_gauge - b.kpa_gauge
    if not _is_as_warm(a, b):
        why = f"Fluid at {a.fluid_celsius:g} and {b.fluid_celsius:g} degrees Celsius: read both equally warm."
        return AirCompared(Compared(what, a.kpa_gauge, b.kpa_gauge, KPA, difference, None, None, None, (), why))
    is_same = is_common and _gauge_key(a) == _gauge_key(b)
    parts = (("counts", counts_kpa, False), ("gain", gain_kpa, is_same))
    terms = tuple(Shared(name, rectangle(name, of(a)), rectangle(name, of(b)), same) for name, of, same in parts)
    budget = AirBudget(terms, has_trapezoid=True)
    doubt = combine_difference(budget.lines())
    u, k = float(doubt.u), float(doubt.k95)
    why = "Same gauge, same two hours." if is_same else (_APART if not is_common else "Not the same gauge.")
    common = ("gain",) if is_same else ()
    is_different = abs(difference) > k * u
    told = Compared(what, a.kpa_gauge, b.kpa_gauge, KPA, difference, u, k, is_different, common, why)
    return AirCompared(told, budget)


def _gauge_key(taken: PressureTaken) -> str:
    return taken.gauge_id or gauge_of(taken).text()
