"""Heat runs and matched sets as evidence: what was found of a device, and how likely each fault makes that.

A find stands for the warm readings it was made from: they are not weighed again.  What a matched
set shows at one temperature is in the readings already, through the spread a lot shares, and would
count twice; what its ratios do as the part warms is not, and enters where no run of its own tells.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_faults import Hypothesis, used_pins
from valvebench.diagnose.explain_priors import Fault, HeatPriors, HeatRow
from valvebench.diagnose.explained import HARNESS, HOT, SOMETIMES, HeatSaid, HeatWord, Value
from valvebench.diagnose.heat_odd import Parting, partings_of
from valvebench.diagnose.heat_rounds import Rounds, RoundsFound, rounds_found, rounds_in
from valvebench.judge.heat_rows import has_other_path
from valvebench.judge.rows import Taken, taken_readings
from valvebench.judge.targets import device_at
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, HeatTest, Sized
from valvebench.model.session import Session
from valvebench.model.variant import Solenoid, SpeedSensor, Variant
from valvebench.model.words import AccessPoint
from valvebench.physics.grid import Floats

STILL_COLD_KELVIN: Final = 10.0
"""Readings this near to the coldest of a run are those of the cold part: common practice, no source."""
_FEWEST: Final = 5
_FAR_KELVIN: Final = 20.0
_ONE_PLATEAU_KELVIN: Final = 1.0
_HALF: Final = 0.5
_COPPER, _FIXED, _GROWS, _OPENS = range(4)


class HeatEvidence(NamedTuple):
    """What was found of a device as it warmed.

    `row` is its word in the table of `priors.json`; `u_slope` the standard uncertainty of the slope over copper;
    `warmed` the coldest and the hottest [degC]; `from_celsius` where it begins; `is_typed` whether it was read with
    the leads of the readings; `at` where.
    """

    said: HeatSaid
    row: str
    u_slope: float
    warmed: tuple[float, float]
    from_celsius: float
    is_typed: bool
    at: AccessPoint = AccessPoint.CASE_CONNECTOR

    @property
    def is_fault(self) -> bool:
        """Whether it says that something happens as the part warms."""
        return self.said.found in (HeatWord.GROWS, HeatWord.STEP, HeatWord.OPEN, HeatWord.PARTS)


def heat_evidence(session: Session, variant: Variant, priors: HeatPriors) -> tuple[HeatEvidence, ...]:
    """Every heat result of a session that says something; runs that nothing can be told from are left out.

    Parameters
    ----------
    session, variant : what was found and read, and of what
    priors : from when on a result is clear, and how unsure a slope may be

    Returns
    -------
    tuple of HeatEvidence
        Logger files, typed rounds, plain readings at many temperatures, and matched sets of which one parts.

    Source
    ------
    `diagnose.heat_run.analyse` and `diagnose.heat_odd`; what counts is ours: common practice, no source.
    """
    logged = [
        _evidence(item.body.device, item.body.found, priors)
        for item in session.items
        if isinstance(item.body, HeatTest) and _has_winding(variant, item.body.device)
    ]
    typed = _typed(session, variant)
    told = [one for one in logged if one is not None]
    told += [one for found in typed.values() for each in found if (one := _of_rounds(each, priors)) is not None]
    named = {one.said.device for one in told}
    parted = (_parted(one, typed) for one in partings_of(typed, variant))
    return (*told, *(one for one in parted if one is not None and one.said.device not in named))


def _has_winding(variant: Variant, name: str) -> bool:
    return isinstance(variant.device_named(name), Solenoid | SpeedSensor) and not has_other_path(variant, name)


def _typed(session: Session, variant: Variant) -> dict[str, tuple[RoundsFound, ...]]:
    """Typed rounds; plain readings of a winding at many temperatures are rounds nobody numbered."""
    found = rounds_in(session, variant)
    plain: dict[str, list[Taken]] = {}
    for taken in taken_readings(session, variant):
        device = device_at(variant, taken.reading.from_node, taken.reading.to_node)
        if device is not None and device.name not in found and _has_winding(variant, device.name):
            plain.setdefault(device.name, []).append(taken)
    many = {name: taken for name, taken in plain.items() if _is_run([one.reading.celsius for one in taken])}
    plateau = _plateaus(one.reading.celsius for taken in many.values() for one in taken)
    for name, readings in many.items():
        each = rounds_found(variant, name, readings)
        found[name] = tuple(one._replace(rounds=_numbered(one.rounds, plateau)) for one in each)
    return found


def _is_run(celsius: Sequence[float]) -> bool:
    return len(celsius) >= _FEWEST and max(celsius) - min(celsius) >= _FAR_KELVIN


def _plateaus(celsius: Iterable[float]) -> dict[float, int]:
    """A number for each temperature; close ones share it."""
    met = sorted(set(celsius))
    numbers = {met[0]: 1} if met else {}
    for cold, warm in pairwise(met):
        numbers[warm] = numbers[cold] + (warm - cold > _ONE_PLATEAU_KELVIN)
    return numbers


def _numbered(rounds: Rounds, plateau: Mapping[float, int]) -> Rounds:
    return rounds._replace(rounds=tuple(plateau[celsius] for celsius in rounds.celsius))


def _of_rounds(one: RoundsFound, priors: HeatPriors) -> HeatEvidence | None:
    if one.find is None:
        return None
    told = _evidence(one.rounds.device, one.find.found, priors)
    if told is None:
        return None
    at = AccessPoint(one.find.at) if one.find.at else AccessPoint.CASE_CONNECTOR
    return told._replace(said=told.said._replace(entries=warm_entries(one.rounds)), is_typed=True, at=at)


def warm_entries(rounds: Rounds) -> tuple[int, ...]:
    """The readings that a find of these rounds stands for."""
    cold = min(rounds.celsius)
    both = zip(rounds.entries, rounds.celsius, strict=True)
    return tuple(entry for entry, celsius in both if celsius > cold + STILL_COLD_KELVIN)


def _evidence(device: str, found: HeatFound, priors: HeatPriors) -> HeatEvidence | None:
    """None where nothing can be told: no kind, or a slope too unsure to say anything."""
    word, size, begins = _word(found)
    if word is None or (word is HeatWord.COPPER and found.slope_over_copper.u > priors.widest_slope.value):
        return None
    row = word.value
    if word in (HeatWord.FIXED, HeatWord.GROWS, HeatWord.STEP):
        is_clear = size is not None and size.value > priors.clear.value * size.u
        row = f"{word.value}_{'clear' if is_clear else 'faint'}"
    value = Value(size.value, size.u) if size is not None else None
    said = HeatSaid(device, word, value, begins if word is HeatWord.OPEN else found.hottest_celsius, ())
    warmed = (found.coldest_celsius, found.hottest_celsius)
    return HeatEvidence(said, row, found.slope_over_copper.u, warmed, begins, is_typed=False)


def _word(found: HeatFound) -> tuple[HeatWord | None, Sized | None, float]:
    """What counts of a run, its size, and where it begins [degC]; an opening counts before all else."""
    opened = [event for event in found.events if event.kind == "open"]
    if opened:
        return HeatWord.OPEN, None, opened[0].coil_celsius
    if found.kind is HeatKind.NOT_SEPARABLE:
        return None, None, 0.0
    if found.kind is HeatKind.GROWS_WITH_HEAT:
        begins = found.grows_from_celsius.value if found.grows_from_celsius is not None else found.coldest_celsius
        return HeatWord.GROWS, found.excess_ohm_at_hottest, begins
    steps = [event for event in found.events if event.kind == "step"]
    if steps:
        return HeatWord.STEP, _largest(steps, found.residual_ohm), steps[0].coil_celsius
    if found.kind is HeatKind.FIXED_SERIES:
        return HeatWord.FIXED, found.series_ohm, found.coldest_celsius
    return HeatWord.COPPER, None, found.coldest_celsius


def _largest(steps: Sequence[HeatEvent], residual_ohm: float) -> Sized:
    return Sized(value=max(abs(event.size_ohm or 0.0) for event in steps), u=residual_ohm)


def _parted(parting: Parting, typed: Mapping[str, tuple[RoundsFound, ...]]) -> HeatEvidence | None:
    """The one of a set that grows beside all others; one that falls behind them is none that heat makes."""
    shift = parting.shift
    if parting.odd is None or shift is None or shift.value <= 0:
        return None
    rounds = max((one.rounds for one in typed[parting.odd]), key=lambda rounds: len(rounds.rounds))
    hot_ohm = rounds.ohm[rounds.celsius.index(min(rounds.celsius, key=lambda t: abs(t - shift.celsius)))]
    part = hot_ohm / (1.0 + shift.value)
    said = HeatSaid(
        parting.odd, HeatWord.PARTS, Value(part * shift.value, part * shift.u), shift.celsius, warm_entries(rounds)
    )
    warmed = (shift.coldest_celsius, shift.celsius)
    return HeatEvidence(said, HeatWord.PARTS.value, math.inf, warmed, shift.coldest_celsius, is_typed=True)


def hot_faults(circuit: Circuit, evidence: Sequence[HeatEvidence], priors: HeatPriors) -> tuple[Hypothesis, ...]:
    """Faults that show only as the part warms: at the pins and in the winding of each device where something does.

    Their weight is that of one place among all of their kind, times the share of a kind that shows only then.
    """
    places = {part.device.name: number for number, part in enumerate(circuit.parts)}
    found: dict[object, Hypothesis] = {}
    for one in evidence:
        number = places.get(one.said.device)
        if one.is_fault and number is not None:
            for h in _hot_faults(circuit, one, number, priors.hot_share.value):
                found.setdefault((h.fault, h.where), h)
    return tuple(found[key] for key in sorted(found, key=str))


def _hot_faults(circuit: Circuit, one: HeatEvidence, number: int, share: float) -> list[Hypothesis]:
    """In the winding, at each of its pins, and in the harness where it was read through that."""
    cold, opens = one.warmed[0], one.said.found is HeatWord.OPEN
    whole, ends = (Fault.DEVICE_OPEN, Fault.TERMINAL_OPEN) if opens else (Fault.VALUE_HIGH, Fault.TERMINAL_RESISTIVE)
    base = Hypothesis(
        whole,
        (one.said.device,),
        share / len(circuit.parts),
        number,
        when=SOMETIMES if opens and one.from_celsius <= cold + STILL_COLD_KELVIN else HOT,
        excess=one.said.size,
        warms=(max(cold, min(one.from_celsius, one.said.celsius - 1.0)), one.said.celsius),
    )
    made, pins = [base], used_pins(circuit.variant)
    for pin in sorted(set(circuit.parts[number].device.between) & set(pins)):
        there = base._replace(fault=ends, where=(pin,), weight=share / len(pins), number=circuit.terminal[pin])
        made.append(there)
        if one.at is AccessPoint.VEHICLE_PLUG and circuit.has_plug:
            made.append(there._replace(where=(pin, HARNESS), number=circuit.harness[pin]))
    return made


def heat_pairs(circuit: Circuit, evidence: Sequence[HeatEvidence]) -> Pairs:
    """The places that the devices were read at, cold."""
    names = [circuit.variant.device_named(one.said.device).between for one in evidence]  # type: ignore[union-attr]
    sites = [
        (circuit.place(a, one.at, b) or 0, circuit.place(b, one.at, a) or 0)
        for (a, b), one in zip(names, evidence, strict=True)
    ]
    count = len(names)
    none, little = np.full(count, -1, dtype=np.intp), np.full(count, 1e-3)
    return Pairs(
        sites=tuple(sites),
        names=tuple(names),
        celsius=np.zeros(count, dtype=np.intp),
        gain=none,
        leads=np.array([0 if one.is_typed else -1 for one in evidence], dtype=np.intp),
        gain_sd=little,
        lead_sd_ohm=little,
        own_sd_ohm=little,
        fixed_ohm=np.full(count, math.nan),
    )


def heat_shares(catalogue: Catalogue, evidence: Sequence[HeatEvidence], pairs: Pairs, predicted: Predicted) -> Floats:
    """How likely each component makes each find.

    Parameters
    ----------
    catalogue : hypotheses
    evidence, pairs : the finds, and the places they were read at
    predicted : of all components for those places

    Returns
    -------
    (components, finds) shares

    Source
    ------
    The table in `priors.json`.  Which row a fault stands in follows from the circuit: a part in
    series or beside the winding makes the slope smaller than copper's by more than the run's doubt, or it does not.
    """
    priors = catalogue.priors.heat
    slope = _slope_over_copper(catalogue, evidence, pairs, predicted)
    shares = np.ones(predicted.ohm.shape)
    for column, one in enumerate(evidence):
        state = np.full(len(slope), _COPPER)
        state[slope[:, column] < 1.0 - priors.shows.value * min(one.u_slope, 1.0)] = _FIXED
        state[np.isinf(predicted.ohm[:, column])] = _OPENS
        of_state = np.array([_share(priors, state, one) for state in range(4)])
        shares[:, column] = of_state[state]
        _with_high(catalogue, shares[:, column], of_state)
    _with_hot(catalogue, evidence, pairs, shares)
    return shares


def _slope_over_copper(
    catalogue: Catalogue, evidence: Sequence[HeatEvidence], pairs: Pairs, predicted: Predicted
) -> Floats:
    """(components, finds) how steeply each place would rise, against its winding alone."""
    set_up = catalogue.set_up
    values, _ = catalogue.circuit.at(set_up.celsius[0])
    names = [part.device.name for part in catalogue.circuit.parts]
    of_copper = values.per_kelvin[[names.index(one.said.device) for one in evidence]]
    finite = np.where(np.isfinite(predicted.ohm), predicted.ohm, 1.0)
    column = predicted.doubts[:, :, catalogue.part_columns[1]]
    per_kelvin = column / pairs.slope(finite) / set_up.u_celsius[0]
    return np.asarray(per_kelvin / (finite * of_copper))


def _share(priors: HeatPriors, state: int, one: HeatEvidence) -> float:
    if one.said.found is HeatWord.PARTS:
        return priors.parts_if_grows.value if state == _GROWS else priors.parts_by_chance.value
    row: HeatRow = (priors.copper, priors.fixed, priors.grows, priors.opens)[state]
    share: float = getattr(row, one.row)
    return share


def _with_high(catalogue: Catalogue, shares: Floats, of_state: Floats) -> None:
    """A winding above its band may be another winding, copper throughout, or hold a poor joint."""
    high = [i for i, h in enumerate(catalogue.hypotheses) if h.fault is Fault.VALUE_HIGH and h.when is None]
    rows = np.isin(catalogue.of, high)
    shares[rows] = _HALF * (of_state[_COPPER] + np.maximum(of_state[_FIXED], shares[rows]))


def _with_hot(catalogue: Catalogue, evidence: Sequence[HeatEvidence], pairs: Pairs, shares: Floats) -> None:
    """What shows only as the part warms, in every run that reaches it."""
    priors, circuit = catalogue.priors.heat, catalogue.circuit
    _, grid = circuit.at(catalogue.set_up.celsius[0])
    a, b = (np.array([site[side] for site in pairs.sites], dtype=np.intp) for side in (0, 1))
    for index, h in enumerate(catalogue.hypotheses):
        if h.when is None:
            continue
        resistor = circuit.parts[h.number].resistor if h.fault in _ON_PARTS else h.number
        more = math.inf if h.excess is None else h.excess.value
        hot = grid.changed(a, b, resistor=resistor, ohm=np.array([grid.ohm[resistor] + more])).ohm[0]
        cold: Floats = grid.seen(a, b).ohm[0]
        for column, one in enumerate(evidence):
            state = _hot_state(priors, one, h, float(cold[column]), float(hot[column]))
            shares[catalogue.first[index] : catalogue.first[index + 1], column] = _share(priors, state, one)


def _hot_state(priors: HeatPriors, one: HeatEvidence, h: Hypothesis, cold_ohm: float, hot_ohm: float) -> int:
    """Which row a run ought to be in if this fault is there: one that stayed colder cannot show it."""
    if h.warms[0] >= one.warmed[1]:
        return _COPPER
    if math.isinf(hot_ohm):
        return _OPENS
    if one.said.found is HeatWord.PARTS:
        return _GROWS if hot_ohm - cold_ohm > _HALF * _size(one) else _COPPER
    least = priors.shows.value * one.u_slope * cold_ohm * (one.warmed[1] - one.warmed[0]) / _ABOUT_K_CELSIUS
    return _GROWS if hot_ohm - cold_ohm > least else _COPPER


def _size(one: HeatEvidence) -> float:
    return one.said.size.value if one.said.size is not None else 0.0


_ABOUT_K_CELSIUS: Final = 254.5
"""Copper at 20 degrees Celsius grows by one part in this for a kelvin (IEC 60028)."""
_ON_PARTS: Final = frozenset({Fault.DEVICE_OPEN, Fault.VALUE_HIGH})


def called_false(shares: Floats, component: int, priors: HeatPriors) -> bool:
    """Whether a component takes a find for a false alarm that next to never happens."""
    return bool((shares[component] < priors.false_alarm.value).any())


def entries_of(evidence: Iterable[HeatEvidence]) -> frozenset[int]:
    """All readings that finds stand for."""
    return frozenset(entry for one in evidence for entry in one.said.entries)


def nothing_found(components: int) -> Floats:
    """Shares where there is no find."""
    return np.ones((components, 0))
