"""Which verdict a pin shows: the worst of its devices; a common shows faults of its own only.  No Qt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

from valvebench.judge.heat_rows import heat_key
from valvebench.judge.nets import net_of
from valvebench.judge.targets import device_at, isolation_key
from valvebench.model.variant import AnyDevice, Diode, Variant
from valvebench.model.words import CASE, VERDICT_TEXT, Verdict

_MARKED = frozenset({Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE, Verdict.PASS, Verdict.NO_LIMIT})

_UNSETTLED = (Verdict.FAIL, Verdict.CANT_TELL)


def pin_marks(variant: Variant, verdict_of: Callable[[str], Verdict]) -> dict[str, tuple[Verdict | None, str]]:
    """Verdict and words for every pin and the case; None where there is nothing to show."""
    by_node: dict[str, list[AnyDevice]] = defaultdict(list)
    for device in variant.devices:
        if isinstance(device, Diode) and device_at(variant, *device.between) is not device:
            continue  # it lies across another device and has no reading of its own
        for node in device.between:
            by_node[node].append(device)
    nodes = [pin.name for pin in variant.pins] + [CASE]
    return {node: _mark(variant, node, by_node[node], verdict_of) for node in nodes}


def _mark(
    variant: Variant, node: str, devices: list[AnyDevice], verdict_of: Callable[[str], Verdict]
) -> tuple[Verdict | None, str]:
    if len(devices) == 1 and node != CASE:
        return _of_device(devices[0].name, verdict_of)
    if node == CASE or not devices:
        return None, ""
    own = verdict_of(isolation_key(variant, net_of(variant, node)))
    names = ", ".join(device.name for device in devices)
    return (own if own is Verdict.FAIL else None), f"common of {names}"


def _of_device(name: str, verdict_of: Callable[[str], Verdict]) -> tuple[Verdict | None, str]:
    """A cold pass never hides what shows in the heat."""
    cold, warm = verdict_of(f"device {name}"), verdict_of(heat_key(name))
    worst = next((verdict for verdict in _UNSETTLED if verdict in (cold, warm)), cold)
    words = VERDICT_TEXT[worst].lower()
    return _shown(worst), f"{name}, {words}{' in the heat run' if worst is warm and worst is not cold else ''}"


def _shown(verdict: Verdict) -> Verdict | None:
    return verdict if verdict in _MARKED else None
