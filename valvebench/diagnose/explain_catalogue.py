"""What every hypothesis predicts for any pairs: values, and how each doubt shared by readings moves them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from valvebench.diagnose.explain_circuit import AtCelsius, Circuit
from valvebench.diagnose.explain_faults import SHORT_OHM, Grown, Hypothesis, grown, hypotheses
from valvebench.diagnose.explain_priors import Fault, Priors
from valvebench.physics.grid import Floats, Seen, Whole

_LEAST_SHARE = 0.003
_LEAST_OHM = 1e-3
_HOT_WIDTH = 0.5


class Pairs(NamedTuple):
    """Readings, or what could be read, each (n,): tips as names, access points as places are in `sites`.

    `celsius`, `gain`, `leads` number the temperature, meter and lead set-up they share (-1: none);
    `gain_sd` is relative, `lead_sd_ohm` and `own_sd_ohm` in ohm; `fixed_ohm` is what
    is read where it is not the circuit (NaN: the circuit).
    """

    sites: tuple[tuple[int, int], ...]
    names: tuple[tuple[str, str], ...]
    celsius: Whole
    gain: Whole
    leads: Whole
    gain_sd: Floats
    lead_sd_ohm: Floats
    own_sd_ohm: Floats
    fixed_ohm: Floats

    def scale(self) -> tuple[Floats, Floats]:
        """Relative and absolute noise (n,) that bend the scale z = asinh(s R / c) / s."""
        return np.maximum(self.gain_sd, _LEAST_SHARE), np.maximum(self.own_sd_ohm, _LEAST_OHM)

    def z(self, ohm: Floats) -> Floats:
        """(..., n) on the scale where one unit is about one standard deviation."""
        share, floor = self.scale()
        found: Floats = np.arcsinh(share * ohm / floor) / share
        return found

    def slope(self, ohm: Floats) -> Floats:
        """dz/dR [1/ohm] (..., n)."""
        share, floor = self.scale()
        found: Floats = 1.0 / np.sqrt(floor**2 + (share * ohm) ** 2)
        return found

    def taken(self, chosen: Whole) -> Pairs:
        """Some of them."""
        kept = chosen.tolist()
        return Pairs(
            sites=tuple(self.sites[i] for i in kept),
            names=tuple(self.names[i] for i in kept),
            celsius=self.celsius[chosen],
            gain=self.gain[chosen],
            leads=self.leads[chosen],
            gain_sd=self.gain_sd[chosen],
            lead_sd_ohm=self.lead_sd_ohm[chosen],
            own_sd_ohm=self.own_sd_ohm[chosen],
            fixed_ohm=self.fixed_ohm[chosen],
        )

    def joined(self, other: Pairs) -> Pairs:
        """These, then the others."""
        return Pairs(
            sites=(*self.sites, *other.sites),
            names=(*self.names, *other.names),
            celsius=np.concatenate([self.celsius, other.celsius]),
            gain=np.concatenate([self.gain, other.gain]),
            leads=np.concatenate([self.leads, other.leads]),
            gain_sd=np.concatenate([self.gain_sd, other.gain_sd]),
            lead_sd_ohm=np.concatenate([self.lead_sd_ohm, other.lead_sd_ohm]),
            own_sd_ohm=np.concatenate([self.own_sd_ohm, other.own_sd_ohm]),
            fixed_ohm=np.concatenate([self.fixed_ohm, other.fixed_ohm]),
        )

    def keys(self) -> list[tuple[object, ...]]:
        """One for each, equal for equal pairs under equal conditions."""
        numbers = (self.celsius, self.gain, self.leads, self.gain_sd, self.lead_sd_ohm, self.own_sd_ohm)
        fixed = [None if math.isnan(ohm) else ohm for ohm in self.fixed_ohm.tolist()]
        return list(zip(self.sites, self.names, *(values.tolist() for values in numbers), fixed, strict=True))


class SetUp(NamedTuple):
    """What readings share: coil temperatures with their standard uncertainty, numbers of meters and leads."""

    celsius: tuple[float, ...]
    u_celsius: tuple[float, ...]
    gains: int
    leads: int


class Predicted(NamedTuple):
    """Of some components for n pairs.

    (components, n) ohm, infinite where open; (components, n, doubts) change in z for one standard deviation of each
    doubt; (components, n) variance of a reading alone in z.
    """

    ohm: Floats
    doubts: Floats
    variance: Floats

    def whole_variance(self, factor: Floats | None = None) -> Floats:
        """(components, n) variance in z with every doubt, each standard deviation times its factor."""
        scaled = self.doubts if factor is None else self.doubts * factor
        shared: Floats = np.einsum("cnd,cnd->cn", scaled, scaled)
        return self.variance + shared


class Catalogue:
    """All hypotheses of a body and their sizes, each a component of the mixture."""

    def __init__(
        self,
        circuit: Circuit,
        priors: Priors,
        set_up: SetUp,
        others: Sequence[Circuit] = (),
        hot: Sequence[Hypothesis] = (),
    ) -> None:
        self.circuit, self.priors, self.set_up = circuit, priors, set_up
        self.hypotheses = hypotheses(circuit, priors, others, hot)
        self._grown = [grown(h, circuit, priors) for h in self.hypotheses]
        counts = [len(g.size) for g in self._grown]
        self.first = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
        self.of = np.repeat(np.arange(len(counts)), counts)
        weights = [h.weight * g.share for h, g in zip(self.hypotheses, self._grown, strict=True)]
        self.log_prior = np.log(np.concatenate(weights))
        self.size, self.sd = (np.concatenate([getattr(g, name) for g in self._grown]) for name in ("size", "sd"))
        circuits = (circuit, *others)
        self._parts = max(len(one.parts) for one in circuits)
        self._lots = max(len(_lots(one)) for one in circuits)
        self.doubts = self._parts + self._lots + len(set_up.celsius) + set_up.gains + set_up.leads + 1
        self.is_shared = np.arange(self.doubts) >= self._parts
        self.scaled = np.zeros(self.doubts, dtype=bool)
        self.scaled[: self._parts + self._lots + len(set_up.celsius)] = True

    def predict(self, pairs: Pairs, chosen: Whole | None = None) -> Predicted:
        """What these components (default all) make of these pairs."""
        kept = np.arange(len(self.of)) if chosen is None else chosen
        ohm = np.empty((len(kept), len(pairs.sites)))
        doubts = np.zeros((len(kept), len(pairs.sites), self.doubts))
        for cluster in np.unique(pairs.celsius).tolist():
            at = np.flatnonzero(pairs.celsius == cluster)
            some = pairs.taken(at)
            for rows, index, sizes in self._runs(kept):
                ohm[rows[:, None], at], doubts[rows[:, None], at] = _Columns(self, some, cluster).of(index, sizes)
        slope = np.where(np.isfinite(ohm), pairs.slope(np.where(np.isfinite(ohm), ohm, 0.0)), 0.0)
        doubts *= slope[:, :, None]
        finite = np.where(np.isfinite(ohm), ohm, 0.0)
        # Above some resistance each range has an error of its own: what was common is the reading's alone there.
        alone = finite >= self.priors.reading.gain_common_below_ohm.value
        share = np.where(alone, pairs.gain_sd, self.priors.reading.range_share.value)
        variance = (pairs.own_sd_ohm**2 + (share * finite) ** 2) * slope**2
        return Predicted(ohm, doubts, np.where(np.isfinite(ohm), variance, 1.0))

    def _runs(self, kept: Whole) -> Iterable[tuple[Whole, int, Grown]]:
        """Rows that belong to one hypothesis, with their sizes."""
        order = self.of[kept]
        cuts = np.flatnonzero(np.diff(order)) + 1
        for rows in np.split(np.arange(len(kept)), cuts):
            if len(rows):
                which = kept[rows]
                yield rows, int(order[rows[0]]), Grown(self.size[which], self.sd[which], np.empty(0))

    @property
    def part_columns(self) -> tuple[int, int]:
        """Where the columns of lots and of temperatures begin."""
        return self._parts, self._parts + self._lots


def _lots(circuit: Circuit) -> tuple[str, ...]:
    names = dict.fromkeys(getattr(part.device, "matched_set", None) for part in circuit.parts)
    return tuple(name for name in names if name is not None)


class _Columns:
    """One hypothesis at a time, for pairs that share a temperature."""

    def __init__(self, catalogue: Catalogue, pairs: Pairs, cluster: int) -> None:
        self._catalogue, self._pairs, self._cluster = catalogue, pairs, cluster

    def of(self, index: int, sizes: Grown) -> tuple[Floats, Floats]:
        """Ohm (g, n) and change in ohm for one standard deviation of each doubt (g, n, doubts)."""
        h = self._catalogue.hypotheses[index]
        circuit = h.circuit or self._catalogue.circuit
        celsius = self._catalogue.set_up.celsius[self._cluster]
        if h.fault is Fault.TEMPERATURE:
            return self._at_other_temperatures(circuit, celsius, sizes)
        values, _ = circuit.at(celsius)
        if h.when is not None:
            h, sizes = _as_of(h, celsius, values)
        a, b = self._sites(h, circuit)
        seen, part_ohm, is_own = self._seen(h, circuit, celsius, (a, b), sizes)
        per_ln = seen.volts**2 / part_ohm[:, None, :]
        columns = self._parts_columns(circuit, values, per_ln, is_own)
        columns[:, :, -1] = self._free(h, circuit, seen, sizes)
        extra = sizes.size[:, None] if h.fault is Fault.LEADS else 0.0
        return self._with_meter(seen.ohm + np.where(self._pairs.leads[None] >= 0, extra, 0.0), columns)

    def _sites(self, h: Hypothesis, circuit: Circuit) -> tuple[Whole, Whole]:
        """The nodes under the tips; changed pins and another variant have their own."""
        if h.circuit is not None:
            found = [tuple(circuit.nodes.get(name, 0) for name in names) for names in self._pairs.names]
            sites = np.array(found, dtype=np.intp)
        else:
            sites = np.array(self._pairs.sites, dtype=np.intp)
        if h.pins:
            moved = np.arange(len(circuit.nodes))
            for suffix in ("", " at the plug"):
                for old, new in h.pins:
                    if old + suffix in circuit.nodes:
                        moved[circuit.nodes[old + suffix]] = circuit.nodes[new + suffix]
            sites = moved[sites]
        return sites[:, 0], sites[:, 1]

    def _seen(
        self, h: Hypothesis, circuit: Circuit, celsius: float, pairs: tuple[Whole, Whole], sizes: Grown
    ) -> tuple[Seen, Floats, Floats]:
        """What the pairs see, the parts' ohm (g, parts), and which parts keep their own spread."""
        values, grid = circuit.at(celsius)
        g = len(sizes.size)
        part_ohm = np.repeat(values.ohm[None], g, axis=0)
        is_own = np.ones(len(values.ohm))
        new = self._new_ohm(h, values, grid.ohm, sizes)
        if h.is_added:
            return grid.added(*pairs, ends=h.ends, ohm=new), part_ohm, is_own
        if h.number < 0:
            seen = grid.seen(*pairs)
            return Seen(*(np.repeat(values, g, axis=0) for values in seen)), part_ohm, is_own
        is_part = h.fault in _ON_PARTS
        resistor = circuit.parts[h.number].resistor if is_part else h.number
        seen = grid.changed(*pairs, resistor=resistor, ohm=new)
        if is_part:
            seen.volts[:, :, h.number] = seen.own
            part_ohm[:, h.number] = np.where(np.isfinite(new), new, 1.0)
            is_own[h.number] = 0.0
        return seen, part_ohm, is_own

    @staticmethod
    def _new_ohm(h: Hypothesis, values: AtCelsius, ohm: Floats, sizes: Grown) -> Floats:
        """What the changed or added resistor has (g,) [ohm]."""
        if h.fault in (Fault.DEVICE_OPEN, Fault.TERMINAL_OPEN):
            return np.full(len(sizes.size), math.inf)
        if h.fault is Fault.DEVICE_SHORT and not h.is_added:
            return np.full(len(sizes.size), SHORT_OHM)
        if h.fault in (Fault.VALUE_LOW, Fault.VALUE_HIGH):
            return np.asarray(values.ohm[h.number] * np.exp(sizes.size))
        if h.fault is Fault.TERMINAL_RESISTIVE:
            return np.asarray(ohm[h.number] + np.exp(sizes.size))
        return np.asarray(np.exp(sizes.size))

    def _free(self, h: Hypothesis, circuit: Circuit, seen: Seen, sizes: Grown) -> Floats:
        """Change in ohm (g, n) for one standard deviation of the fault's own size."""
        if h.fault is Fault.LEADS:
            return np.where(self._pairs.leads[None] >= 0, sizes.sd[:, None], 0.0)
        if h.fault in (Fault.VALUE_LOW, Fault.VALUE_HIGH):
            values, _ = circuit.at(self._catalogue.set_up.celsius[self._cluster])
            return np.asarray(seen.own**2 / (values.ohm[h.number] * np.exp(sizes.size))[:, None] * sizes.sd[:, None])
        if h.fault is Fault.TERMINAL_RESISTIVE:
            _, grid = circuit.at(self._catalogue.set_up.celsius[self._cluster])
            extra = np.exp(sizes.size)
            return np.asarray(seen.own**2 * (extra / (grid.ohm[h.number] + extra) ** 2 * sizes.sd)[:, None])
        if h.is_added:
            return np.asarray(seen.own**2 / np.exp(sizes.size)[:, None] * sizes.sd[:, None])
        return np.zeros(seen.ohm.shape)

    def _parts_columns(self, circuit: Circuit, values: AtCelsius, per_ln: Floats, is_own: Floats) -> Floats:
        """Own spreads, lots and the temperature: ohm for one standard deviation each (g, n, doubts)."""
        columns = np.zeros((*per_ln.shape[:2], self._catalogue.doubts))
        lots_at, celsius_at = self._catalogue.part_columns
        columns[:, :, : len(values.ohm)] = per_ln * (values.own * is_own)
        for number, lot in enumerate(_lots(circuit)):
            mine = [getattr(part.device, "matched_set", None) == lot for part in circuit.parts]
            columns[:, :, lots_at + number] = per_ln @ (values.lot * is_own * np.array(mine))
        u_celsius = self._catalogue.set_up.u_celsius[self._cluster]
        columns[:, :, celsius_at + self._cluster] = per_ln @ (values.per_kelvin * u_celsius)
        return columns

    def _with_meter(self, ohm: Floats, columns: Floats) -> tuple[Floats, Floats]:
        """The meter's gain and what the leads kept, common to the readings that share them."""
        pairs, set_up = self._pairs, self._catalogue.set_up
        fixed = np.isfinite(pairs.fixed_ohm)
        ohm = np.where(fixed[None], pairs.fixed_ohm[None] + (ohm if bool(fixed.any()) else 0.0), ohm)
        finite = np.where(np.isfinite(ohm), ohm, 0.0)
        gains_at = self._catalogue.doubts - 1 - set_up.leads - set_up.gains
        below = finite < self._catalogue.priors.reading.gain_common_below_ohm.value
        for number in range(set_up.gains):
            is_mine = (pairs.gain == number)[None] & below
            columns[:, :, gains_at + number] = np.where(is_mine, finite * pairs.gain_sd[None], 0.0)
        for number in range(set_up.leads):
            is_mine = pairs.leads == number
            columns[:, :, gains_at + set_up.gains + number] = np.where(is_mine[None], pairs.lead_sd_ohm[None], 0.0)
        return ohm, columns

    def _at_other_temperatures(self, circuit: Circuit, celsius: float, sizes: Grown) -> tuple[Floats, Floats]:
        """The coils are warmer or colder than was said by `size` kelvin."""
        found = []
        a, b = self._sites(Hypothesis(Fault.TEMPERATURE), circuit)
        for size, sd in zip(sizes.size.tolist(), sizes.sd.tolist(), strict=True):
            values, grid = circuit.at(max(celsius + size, -60.0))
            seen = grid.seen(a, b)
            per_ln = seen.volts**2 / values.ohm[None, None]
            columns = self._parts_columns(circuit, values, per_ln, np.ones(len(values.ohm)))
            columns[:, :, -1] = per_ln @ (values.per_kelvin * sd)
            found.append(self._with_meter(seen.ohm, columns))
        return np.concatenate([one[0] for one in found]), np.concatenate([one[1] for one in found])


def _as_of(h: Hypothesis, celsius: float, values: AtCelsius) -> tuple[Hypothesis, Grown]:
    """A fault that shows only when hot, as it is at a temperature; its size there is known to within a half."""
    begins, full = h.warms
    share = (celsius - begins) / (full - begins)
    nothing = Grown(np.zeros(1), np.zeros(1), np.ones(1))
    if h.excess is None:
        return (h if celsius >= full else Hypothesis(Fault.HEALTHY)), nothing
    more = h.excess.value * share
    if more < _LEAST_OHM:
        return Hypothesis(Fault.HEALTHY), nothing
    if h.fault is Fault.VALUE_HIGH:
        part = more / float(values.ohm[h.number])
        return h, Grown(np.array([math.log1p(part)]), np.array([_HOT_WIDTH * part / (1.0 + part)]), np.ones(1))
    return h, Grown(np.array([math.log(more)]), np.array([_HOT_WIDTH]), np.ones(1))


_ON_PARTS = frozenset({Fault.DEVICE_OPEN, Fault.DEVICE_SHORT, Fault.VALUE_LOW, Fault.VALUE_HIGH})
