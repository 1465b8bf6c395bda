"""What is said of one reading, with everything it rests on."""

from __future__ import annotations

import msgspec

from valvebench.model.limits import Limits
from valvebench.model.words import ItemState, Lean, Rule, Verdict


class BudgetLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the uncertainty budget at the reference temperature [ohm], and its share of the variance."""

    term: str
    u_ohm: float
    share: float


class Judgement(msgspec.Struct, frozen=True, kw_only=True):
    """A verdict with rule, limits, value, doubt and reasons.  `None` is "there is none", never zero.

    `ohm` is after leads and check resistor at the coil temperature; `*_at_ref` are at
    `ref_celsius` where the limits hold there, else at the coil temperature.
    """

    verdict: Verdict
    state: ItemState
    rule: Rule
    limits: Limits
    celsius: float
    lean: Lean | None = None
    plain_verdict: Verdict | None = None
    can_decide: bool | None = None
    ohm: float | None = None
    ohm_at_ref: float | None = None
    u_ohm_at_ref: float | None = None
    nu_eff: float | None = None
    k_coverage: float | None = None
    guard_ohm: float | None = None
    low_ohm_at_celsius: float | None = None
    high_ohm_at_celsius: float | None = None
    p_inside: float | None = None
    range_ohm: float | None = None
    is_dominated: bool = False
    budget: tuple[BudgetLine, ...] = ()
    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()

    @property
    def U_ohm_at_ref(self) -> float | None:  # noqa: N802  the standard's symbol for expanded uncertainty
        """Expanded uncertainty, 95.45 % [ohm]."""
        if self.k_coverage is None or self.u_ohm_at_ref is None:
            return None
        return self.k_coverage * self.u_ohm_at_ref

    @property
    def ref_celsius(self) -> float | None:
        """Where `*_at_ref` hold, for limits that move with copper [degC]."""
        return self.limits.ref_celsius if self.limits.k_celsius is not None else None
