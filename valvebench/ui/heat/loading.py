"""What is drawn of a kept run, worked out beside the window.  No Qt; arrays come in when a run is asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from valvebench.bench.heat_find import settled, taken_with
from valvebench.bench.heat_log import HeatFiles, HeatLog, Step
from valvebench.bench.heat_take import ratios_of
from valvebench.model.errors import Problem, bad
from valvebench.model.heat import HeatTest
from valvebench.model.limits import Limits
from valvebench.model.meter import parse_meter
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict
from valvebench.ui.heat.shown import MOST_EVENTS, KeptRun

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    from valvebench.diagnose.heat_data import HeatRun
    from valvebench.diagnose.heat_matched import Ratio
    from valvebench.diagnose.heat_trace import HeatTrace
    from valvebench.ui.heat.pyramid import Cloud, Pyramid

    Array = NDArray[float64]

_LINE_POINTS: Final = 200
_FEW: Final = 60
_OF_RECTANGLE: Final = 0.9545
"""Part of the bounds of a rectangle that holds 95.45 % (JCGM 100:2008, 4.3.7 and 6.2)."""
_TIME_UNITS: Final = ((3 * 3600.0, 3600.0, "h"), (600.0, 60.0, "min"), (0.0, 1.0, "s"))


class BandEnd(NamedTuple):
    """Limits at one temperature of the coil [degC, ohm], with the guard beside them; None where there is none."""

    celsius: float
    low: float | None
    high: float | None
    guard: float


class EventMark(NamedTuple):
    """One event: its number in the list, its time in the unit of the drawing, coil [degC] and resistance [ohm]."""

    number: int
    time: float | None
    celsius: float
    ohm: float
    is_open: bool


class Reference(NamedTuple):
    """The judged value where the limits hold [degC, ohm], with its expanded uncertainty."""

    celsius: float
    ohm: float
    expanded: float
    verdict: Verdict


class Plots(NamedTuple):
    """Everything that is drawn of one run; times in `time_unit`, empty for rounds, which are numbered.

    The lines belong to the coil: where it was is not known, they are empty.  `reach` (k, 3) holds
    temperature [degC], resistance and expanded uncertainty of the meter [ohm] of each reading, where they are few.
    """

    number: int
    time_unit: str
    probe: Pyramid
    coil: Pyramid | None
    ohm: Pyramid
    warming: Cloud
    cooling: Cloud
    celsius: Array
    fitted: Array
    copper: Array
    band: tuple[BandEnd, BandEnd] | None
    reference: Reference
    events: tuple[EventMark, ...]
    is_coil_known: bool
    span_ohm: tuple[float, float]
    reach: Array | None = None


class Loader:
    """Reads the logs of kept runs; the one read last is kept at hand, since its other devices come next."""

    def __init__(
        self,
        files: HeatFiles,
        blob: Callable[[str], bytes | None],
        variant: Variant | None,
        prepare: Callable[[], object] | None = None,
    ) -> None:
        """`prepare` brings in what draws, so that the window need not wait for it."""
        self._files, self._blob, self._variant, self._prepare = files, blob, variant, prepare
        self._at_hand: tuple[tuple[str, bool], HeatLog] | None = None

    def remember(self, test: HeatTest, log: HeatLog) -> None:
        """Have a log at hand that was just read."""
        self._at_hand = ((test.sha256, test.is_settled), log)

    def plots(self, run: KeptRun, session: Session) -> Callable[[Step], Plots]:
        """What there is to do for the drawings of a run; it raises BadInput where the log is gone, and Stopped."""
        return lambda step: self._plots(run, session, step)

    def _plots(self, run: KeptRun, session: Session, step: Step) -> Plots:
        if self._prepare is not None:
            self._prepare()
        samples = self._typed(run, session)[1] if run.test is None else self.run_of(run.test, step)
        return plots_of(samples, run)

    def ratios(
        self, run: KeptRun, session: Session, same_log: Sequence[HeatTest]
    ) -> Callable[[Step], tuple[Ratio, ...]]:
        """What there is to do to compare like devices that were read with it; raises as `plots` does."""
        return lambda step: self._ratios(run, session, same_log, step)

    def _ratios(self, run: KeptRun, session: Session, same_log: Sequence[HeatTest], step: Step) -> tuple[Ratio, ...]:
        if run.test is None:
            return ratios_of(self._typed(run, session)[0])
        runs = {test.device: self.run_of(test, step) for test in same_log}
        return ratios_of(runs, run.test.meter, step)

    def _typed(self, run: KeptRun, session: Session) -> tuple[Mapping[str, HeatRun], HeatRun]:
        """The rounds of every device that were typed with the same meter and leads, and those of this run."""
        import numpy as np

        from valvebench.diagnose.heat_data import HeatRun
        from valvebench.diagnose.heat_rounds import rounds_in

        every = [one.rounds for found in rounds_in(session, self._variant).values() for one in found]
        mine = next((one for one in every if tuple(sorted(one.entries)) == run.entries), None)
        if mine is None:
            raise bad("rounds", "other readings than before", "the rounds as they were judged", "Choose the run again.")
        alike = [one for one in every if one.meter == mine.meter]
        runs = {one.device: HeatRun(np.array(one.celsius, float), np.array(one.ohm, float)) for one in alike}
        return runs, HeatRun(np.array(mine.celsius, float), np.array(mine.ohm, float))

    def pending(self, session: Session) -> Callable[[], tuple[str, ...]]:
        """What there is to do to say which typed rounds make no run yet, and why."""
        return lambda: _pending(session, self._variant)

    def run_of(self, test: HeatTest, step: Step | None = None) -> HeatRun:
        """The samples of one kept run."""
        log = self._log(test, step)
        column = test.column or ""
        if column not in log.runs:
            raise bad(test.file_name, f"no column {column!r}", "the log as it was taken in")
        return settled(log.runs[column], taken_with(test))

    def _log(self, test: HeatTest, step: Step | None) -> HeatLog:
        key = (test.sha256, test.is_settled)
        if self._at_hand is not None and self._at_hand[0] == key:
            return self._at_hand[1]
        raw = self._blob(test.sha256)
        if raw is None:
            raise bad(test.file_name, "missing or changed", "the log kept with this session", "Verify the session.")
        log = self._files.log_of(raw, source=test.file_name, is_rounds=test.is_settled, step=step)
        self._at_hand = (key, log)
        return log


def _pending(session: Session, variant: Variant | None) -> tuple[str, ...]:
    from valvebench.diagnose.heat_rounds import rounds_in

    found = ((device, one) for device, each in rounds_in(session, variant).items() for one in each)
    return tuple(_why_not(device, one.problems[0]) for device, one in found if one.find is None and one.problems)


def _why_not(device: str, problem: Problem) -> str:
    """Typed readings have no file and no column to name: the device says where."""
    return f"{device}: {problem.found}; needed: {problem.expected}. {problem.what_to_do}".strip()


def plots_of(run: HeatRun, kept: KeptRun) -> Plots:
    """The drawings of samples with what was found in them."""
    import numpy as np

    from valvebench.diagnose.heat_trace import trace_of
    from valvebench.ui.heat.pyramid import Cloud, Pyramid

    trace = trace_of(run, kept.found, is_soaked=kept.test is not None and kept.test.is_soaked)
    time, unit, divisor = _times(trace)
    is_known = trace.coil_celsius is not None
    coil, ohm, warm = trace.celsius, trace.ohm, trace.is_heating
    judged = kept.judged
    reference = Reference(judged.limits.ref_celsius, judged.ohm_at_ref, judged.U_ohm_at_ref, judged.verdict)
    left = min(float(coil.min()), reference.celsius)
    celsius = np.linspace(left, float(coil.max()), _LINE_POINTS)
    return Plots(
        number=kept.number,
        time_unit=unit,
        probe=Pyramid(time, trace.probe_celsius),
        coil=Pyramid(time, trace.coil_celsius) if trace.coil_celsius is not None and unit else None,
        ohm=Pyramid(time, ohm),
        warming=Cloud(coil[warm], ohm[warm]),
        cooling=Cloud(coil[~warm], ohm[~warm]),
        celsius=celsius,
        fitted=trace.fitted(celsius) if is_known else celsius[:0],
        copper=trace.copper(celsius) if is_known else celsius[:0],
        band=_band(kept, left, float(coil.max())),
        reference=reference,
        events=_events(kept, trace, divisor),
        is_coil_known=is_known,
        span_ohm=(float(np.nanmin(ohm)), float(np.nanmax(ohm))),
        reach=_reach(kept, coil, ohm),
    )


def _reach(kept: KeptRun, celsius: Array, ohm: Array) -> Array | None:
    """How far the meter may be off in each reading; for many the drawing would be nothing else."""
    import numpy as np

    there = np.isfinite(ohm)
    if there.sum() > _FEW:
        return None
    meter = parse_meter(kept.found.meter)
    bound = meter.percent / 100.0 * np.abs(ohm[there]) + meter.counts * meter.step
    return np.column_stack([celsius[there], ohm[there], _OF_RECTANGLE * bound])


def _times(trace: HeatTrace) -> tuple[Array, str, float]:
    """Times since the start in a unit that reads well; rounds are counted from 1."""
    import numpy as np

    if trace.t_s is None:
        return np.arange(1.0, trace.ohm.size + 1.0), "", 1.0
    since = trace.t_s - trace.t_s[0]
    divisor, unit = next((by, word) for least, by, word in _TIME_UNITS if since[-1] >= least)
    return since / divisor, unit, divisor


def _band(kept: KeptRun, left: float, right: float) -> tuple[BandEnd, BandEnd] | None:
    """The limits as they move with the coil: straight lines, so two ends say all."""
    limits = kept.judged.limits
    if not limits.is_stated:
        return None
    return _end(kept, limits, left), _end(kept, limits, right)


def _end(kept: KeptRun, limits: Limits, celsius: float) -> BandEnd:
    k = kept.found.k_celsius
    factor = (k + celsius) / (k + limits.ref_celsius)
    low, high = (None if limit is None else limit * factor for limit in (limits.low_ohm, limits.high_ohm))
    return BandEnd(celsius, low, high, kept.judged.U_ohm_at_ref * factor)


def _events(kept: KeptRun, trace: HeatTrace, divisor: float) -> tuple[EventMark, ...]:
    import numpy as np

    marks = []
    for number, event in enumerate(kept.found.events[:MOST_EVENTS], 1):
        ohm = float(trace.fitted(np.array([event.coil_celsius]))[0])
        begun = 0.0 if trace.t_s is None else float(trace.t_s[0])
        time = None if event.t_s is None else (event.t_s - begun) / divisor
        marks.append(EventMark(number, time, event.coil_celsius, ohm, event.kind == "open"))
    return tuple(marks)
