"""Judge anew what was judged before: another rule or another band over many sessions in one call."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

from valvebench.judge import decide
from valvebench.judge.session import PLATEAU_ORDER
from valvebench.model.words import Rule, Verdict
from valvebench.physics.arithmetic import arrays
from valvebench.physics.uncertainty import RECTANGLE_SHAPE, Doubt, factors_of

Array = Any
CODES: Final = (*decide.VERDICTS, Verdict.NOT_TAKEN, Verdict.NOT_FINISHED)
"""Every verdict, of a reading or of a session, as a small number; the first ones are those of `decide`."""
CODE_OF: Final = {verdict: code for code, verdict in enumerate(CODES)}
RULES: Final = tuple(Rule)
_FIRST_OF_SESSION: Final = (Verdict.CANT_TELL, Verdict.PASS, Verdict.NO_LIMIT)


class Judged(NamedTuple):
    """What was found of n readings before: value [ohm] and u [ohm] where the limits hold, both (n,).

    `shape` is that of `uncertainty.shape_of`; for an open display the value is the range, and `is_open` says so.
    `low`, `high` are infinite where there is no limit [ohm]; `rule` counts in `RULES`.
    """

    value: Array
    u: Array
    shape: Array
    low: Array
    high: Array
    rule: Array
    is_open: Array


def judge_again(found: Judged) -> Array:
    """The verdict of each reading, as its number in `CODES`.

    Returns
    -------
    (n,) int8
        NaN in the value, u or a limit is not usable.

    Source
    ------
    As `judge.resistance.judge`: `decide.decide` with the guard width of the rule; an open display by
    `decide.open_verdict`.
    """
    import numpy as np

    value, low, high = found.value, found.low, found.high
    decision = decide.decide(value, guard=_guard(found), low=low, high=high, ops=arrays())
    has_low, has_high = low > -np.inf, high < np.inf
    verdict = np.where(
        (decision.verdict != decide.NOT_USABLE) & ~(has_low | has_high), decide.NO_LIMIT, decision.verdict
    )
    if found.is_open.any():
        above = np.where(has_high, np.where(value > high, decide.FAIL, decide.CANT_TELL), decide.NO_LIMIT)
        below = np.where(value > low, decide.PASS, decide.CANT_TELL)
        verdict = np.where(found.is_open, np.where(has_low & ~has_high, below, above), verdict)
    return verdict.astype(np.int8)


def _guard(found: Judged) -> Array:
    """How far from a limit each value must stay, by its own rule."""
    import numpy as np

    # the factors of a shape are worked out once: there are few among many readings
    tables = np.full((2, RECTANGLE_SHAPE + 1), np.nan)
    for shape in np.flatnonzero(np.bincount(found.shape, minlength=1)):
        tables[:, shape] = factors_of(int(shape))
    doubt = Doubt(u=found.u, k95=tables[0][found.shape], k90=tables[1][found.shape], nu_eff=None, is_dominated=None)
    codes = np.flatnonzero(np.bincount(found.rule, minlength=1))
    widths = {int(code): decide.guard_width(doubt, RULES[int(code)]) for code in codes}
    if len(widths) == 1:
        return next(iter(widths.values()))
    return np.select([found.rule == code for code in widths], list(widths.values()), np.nan)


def sessions_again(verdict: Array, *, question: Array, session: Array, is_missing: Array, others: Array) -> Array:
    """The verdict of each session from those of its readings.

    Parameters
    ----------
    verdict : (n,) numbers in `CODES`
    question : (n,) number of the question a reading answers, in its session; like ones stand together
    session : (n,) number of its session, 0 to m - 1, rising
    is_missing : (m,) whether something a session needs is lacking
    others : (m,) one bit for each verdict in `CODES` that something other than a reading got

    Returns
    -------
    (m,) int8, numbers in `CODES`

    Source
    ------
    As `judge.session`: common practice, no source.
    """
    import numpy as np

    seen = others.astype(np.int64)
    if len(verdict):
        order = np.array([PLATEAU_ORDER.index(one) for one in CODES[: len(PLATEAU_ORDER)]])
        back = np.array([CODE_OF[one] for one in PLATEAU_ORDER])
        new = np.flatnonzero(np.r_[True, (question[1:] != question[:-1]) | (session[1:] != session[:-1])])
        bits = 1 << back[np.minimum.reduceat(order[verdict], new)]
        owner = session[new]
        first = np.flatnonzero(np.r_[True, owner[1:] != owner[:-1]])
        seen[owner[first]] |= np.bitwise_or.reduceat(bits, first)
    found = np.full(len(others), CODE_OF[Verdict.NOT_FINISHED], np.int8)
    for one in reversed(_FIRST_OF_SESSION):
        found[(seen >> CODE_OF[one] & 1) == 1] = CODE_OF[one]
    found[is_missing] = CODE_OF[Verdict.NOT_FINISHED]
    found[(seen & 1 << CODE_OF[Verdict.FAIL]) != 0] = CODE_OF[Verdict.FAIL]
    return found
