"""Logs of warmed parts, made from the conductor law and an exact lag; every number is invented."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

K = 234.5
R20_OHM = 5.2
TAU_S = 90.0
OPEN = "OL"

Part = Callable[[np.ndarray], np.ndarray]


def grows(coil: np.ndarray) -> np.ndarray:
    """A contact that grows with heat from 75 degrees Celsius on."""
    return 0.012 * np.maximum(coil - 75.0, 0.0)


def stays(coil: np.ndarray) -> np.ndarray:
    """A contact that stays put."""
    return np.full(coil.size, 0.4)


def copper(coil: np.ndarray) -> np.ndarray:
    """Nothing but copper."""
    return np.zeros(coil.size)


def log_of(
    parts: Mapping[str, Part],
    *,
    count: int = 400,
    opens: str = "",
    separator: str = ",",
    decimal: str = ".",
    seed: int = 1,
) -> bytes:
    """A log of devices that warm, hold and cool in an hour and a half; one of them may open near the hottest."""
    t_s = np.linspace(0.0, 5400.0, count)
    probe = np.interp(t_s, [0, 2400, 3000, 5400], [22.0, 110.0, 110.0, 45.0])
    coil = np.empty(count)
    coil[0], left = probe[0], np.exp(-(t_s[1] - t_s[0]) / TAU_S)
    for at in range(1, count):
        coil[at] = left * coil[at - 1] + (1 - left) * 0.5 * (probe[at - 1] + probe[at])
    random = np.random.default_rng(seed)
    columns = [[f"{value:.3f}" for value in t_s], [f"{value:.2f}" for value in probe]]
    for place, (name, part) in enumerate(parts.items()):
        ohm = R20_OHM * (1 + 0.004 * place) * (K + coil) / (K + 20) + part(coil) + random.normal(0, 0.006, count)
        cells = [f"{value:.3f}" for value in ohm]
        if name == opens:
            at = int(0.42 * count)
            cells[at : at + 3] = [OPEN] * 3
        columns.append(cells)
    head = separator.join(["t_s", "probe_celsius", *(f"{name}_ohm" if name else "ohm" for name in parts)])
    lines = [separator.join(cells).replace(".", decimal) for cells in zip(*columns, strict=True)]
    return "\n".join([head, *lines, ""]).encode()
