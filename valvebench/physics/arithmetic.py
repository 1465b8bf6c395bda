"""The few functions in which one number and an array differ.

Formulas are written once against this small set; `SCALAR` needs nothing but `math`
(so the window and a command start without numpy), `arrays()` brings numpy and `scipy.special`.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, Final, NamedTuple

from valvebench.physics.student import t_cdf, t_quantile

Number = Any
"""A float, or an array of them: every formula here takes both."""

_SQRT_HALF: Final = math.sqrt(0.5)


class Arithmetic(NamedTuple):
    """`where`, `maximum`, `clip01`, `floor`, normal and Student distribution."""

    where: Any
    maximum: Any
    clip01: Any
    floor: Any
    normal_cdf: Any
    t_cdf: Any
    t_quantile: Any


SCALAR: Final = Arithmetic(
    where=lambda condition, yes, no: yes if condition else no,
    maximum=max,
    clip01=lambda x: min(max(x, 0.0), 1.0),
    floor=math.floor,
    normal_cdf=lambda z: 0.5 * math.erfc(-z * _SQRT_HALF),
    t_cdf=t_cdf,
    t_quantile=t_quantile,
)


@cache
def arrays() -> Arithmetic:
    """The same for float64 arrays."""
    import numpy as np
    from scipy.special import ndtr, stdtr, stdtrit

    return Arithmetic(
        where=np.where,
        maximum=np.maximum,
        clip01=lambda x: np.clip(x, 0.0, 1.0),
        floor=np.floor,
        normal_cdf=ndtr,
        t_cdf=lambda t, dof: stdtr(dof, t),
        t_quantile=lambda probability, dof: stdtrit(dof, probability),
    )
