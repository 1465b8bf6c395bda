"""Rounds at settled temperatures: a dozen readings by hand, one of which may be wild.

With so few readings one alone can make a fault.  It is left out and said where others at its
temperature, or on both sides of it, contradict it.  At the hottest or the coldest, with no other near,
nothing contradicts it and nothing confirms it: then the run does not tell.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_fit import (
    LAG,
    START,
    Found,
    Problem,
    Shape,
    fit_series,
    free_places,
    jacobian,
)
from valvebench.diagnose.heat_part import Alone, Doubts, Hidden, Part
from valvebench.diagnose.heat_tell import tell
from valvebench.model.heat import HeatKind
from valvebench.physics.student import t_quantile

Array = NDArray[np.float64]

_MOST: Final = 60
"""Readings up to which one alone can make a fault."""
_ONE_IN: Final = 6
"""Of so many readings one may be wild: common practice, no source."""
_BY_CHANCE: Final = 0.005
_LEAST_FREE: Final = 1e-3
_NEAR: Final = 0.08
"""Part of the span within which two readings are at one temperature."""
_SUSPECTS: Final = 3
_FAULTS: Final = (HeatKind.FIXED_SERIES, HeatKind.GROWS_WITH_HEAT)


class _Away(NamedTuple):
    """How far each reading lies from a fit to all others: distance and its standard deviation [ohm], (n,)."""

    ohm: Array
    u: Array
    dof: float

    def is_far(self, at: int, among: int) -> bool:
        """Whether one is further away than the furthest of so many would be by chance."""
        limit = t_quantile(1.0 - 0.5 * _BY_CHANCE / among, max(1.0, self.dof - 1.0))
        return bool(abs(self.ohm[at]) > limit * self.u[at])


def tell_settled(free: Problem, doubts: Doubts, step_ohm: float) -> tuple[Array, Part]:
    """The kind of a run of settled readings, and which of them count.

    Parameters
    ----------
    free : what is fitted, with an offset that nothing holds
    doubts : what all readings share
    step_ohm : display step [ohm]

    Returns
    -------
    weight (n,), 0 for what was left out, and the kind.

    Source
    ------
    Externally studentised residuals against Student's t shared among all (Bonferroni): from memory.
    """
    part = _told(free, doubts)
    count = int(np.count_nonzero(free.blocks.weight))
    if count > _MOST:
        return free.blocks.weight, part
    for _ in range(count // _ONE_IN):
        wild = _wild(free, part, step_ohm)
        if wild is None:
            break
        free = _without(free, wild)
        part = _told(free, doubts)
    return _unless_alone(free, part, doubts, step_ohm)


def _told(free: Problem, doubts: Doubts) -> Part:
    return tell(free, fit_series(free), doubts)


def _without(problem: Problem, at: int) -> Problem:
    weight = problem.blocks.weight.copy()
    weight[at] = 0.0
    return problem._replace(blocks=problem.blocks._replace(weight=weight))


def _away(problem: Problem, found: Found, grows: Shape | None, step_ohm: float) -> _Away:
    """From the leverage of each reading; one that a fit follows whatever it says has no distance."""
    used = problem.blocks.weight > 0
    free = free_places(problem, grows, (START, LAG))
    columns = jacobian(problem, found.value, found.coil_celsius, grows)[:, free]
    base, _ = np.linalg.qr(columns[used] / (np.linalg.norm(columns[used], axis=0) + 1e-12))
    open_part = np.zeros(used.size)
    open_part[used] = 1.0 - np.sum(base * base, axis=1)
    residual = np.where(used & (open_part > _LEAST_FREE), found.residual, 0.0)
    open_part = np.maximum(open_part, _LEAST_FREE)
    dof = float(used.sum() - free.size)
    others = np.maximum(residual @ residual - residual**2 / open_part, 0.0) / max(1.0, dof - 1.0)
    spread = np.maximum(others, step_ohm**2 / 12.0)
    return _Away(residual / open_part, np.sqrt(spread / open_part), dof)


def _wild(problem: Problem, part: Part, step_ohm: float) -> int | None:
    """The reading furthest from the curve of its own kind, if it is too far."""
    away = _away(problem, _best(part), _shape(part), step_ohm)
    at = int(np.argmax(np.abs(away.ohm) / away.u))
    return at if away.is_far(at, int(np.count_nonzero(problem.blocks.weight))) else None


def _unless_alone(free: Problem, part: Part, doubts: Doubts, step_ohm: float) -> tuple[Array, Part]:
    """The same, unless one reading alone makes it a fault, or alone hides one."""
    for at in _suspects(free, part, step_ohm):
        fewer = _without(free, at)
        other = _told(fewer, doubts)
        if (other.kind in _FAULTS) == (part.kind in _FAULTS) or not _is_off(fewer, other, at, step_ohm):
            continue
        if _is_contradicted(free, at):
            return fewer.blocks.weight, other
        if part.kind in _FAULTS:
            hidden = Hidden(other.found, part.found)
            alone = Alone(float(free.blocks.celsius[at]), float(free.blocks.ohm[at]))
            return free.blocks.weight, Part(HeatKind.NOT_SEPARABLE, part.found, None, hidden, alone)
    return free.blocks.weight, part


def _suspects(problem: Problem, part: Part, step_ohm: float) -> list[int]:
    """Those furthest from the others, then the hottest and the coldest."""
    away = _away(problem, part.found, None, step_ohm)
    used = np.flatnonzero(problem.blocks.weight > 0)
    furthest = used[np.argsort(-np.abs(away.ohm[used]) / away.u[used])][:_SUSPECTS]
    by_heat = used[np.argsort(problem.blocks.celsius[used])]
    return list(dict.fromkeys(int(at) for at in (*furthest, by_heat[-1], by_heat[0])))


def _is_off(fewer: Problem, other: Part, at: int, step_ohm: float) -> bool:
    """Whether a reading lies far from what the others say without it."""
    found, grows = _best(other), _shape(other)
    free = free_places(fewer, grows, (START, LAG))
    column = jacobian(fewer, found.value, found.coil_celsius, grows)[at, free]
    spread = max(found.variance, step_ohm**2 / 12.0) + column @ found.covariance[np.ix_(free, free)] @ column
    count = float(np.count_nonzero(fewer.blocks.weight))
    limit = t_quantile(1.0 - 0.5 * _BY_CHANCE, max(1.0, count - free.size))
    return bool(abs(found.residual[at]) > limit * spread**0.5)


def _best(part: Part) -> Found:
    return part.growth.found if part.growth is not None else part.found


def _shape(part: Part) -> Shape | None:
    return part.growth.shape if part.growth is not None else None


def _is_contradicted(problem: Problem, at: int) -> bool:
    """Whether others were read at its temperature, or both colder and hotter."""
    used = problem.blocks.weight > 0
    others = problem.blocks.celsius[used & (np.arange(used.size) != at)]
    here, span = problem.blocks.celsius[at], float(np.ptp(problem.blocks.celsius[used]))
    is_near = bool(np.min(np.abs(others - here)) <= _NEAR * span)
    return is_near or bool(others.min() < here < others.max())
