"""The budget of every way to read a resistance against the `uncertainties` package, first order.

The formulas below are written from the standards and the bench, not taken from the program:
every quantity is a `ufloat` with its own standard uncertainty, and the package propagates.
"""

from __future__ import annotations

import math
import random

import pytest
from uncertainties import ufloat
from uncertainties.umath import exp, log

from valvebench.judge.device_limits import limits_of
from valvebench.judge.resistance import judge
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.variant import Beta, TemperatureSensor
from valvebench.model.words import LeadState, TemperatureSource

CASES = 30
COPPER = Limits(low_ohm=4.0, high_ohm=6.0)
ROOT3, ROOT12 = math.sqrt(3.0), math.sqrt(12.0)
# Half-widths of the pick-list: common practice, no source.
HALF_WIDTHS = {"taped": 2.0, "room_2h": 3.0, "room_short": 8.0, "ir_tape": 3.0, "ir_bare": 20.0, "unknown": 10.0}


def flat(half_width):
    """A quantity of nought, equally likely anywhere within +-half_width (GUM 4.3.7)."""
    return ufloat(0.0, half_width / ROOT3) if half_width else 0.0


class Draw:
    """One random bench: a meter, a coil, a temperature."""

    def __init__(self, number):
        rng = random.Random(number)
        self.rng = rng
        self.percent = rng.choice([0.0, 0.2, 0.5, 0.9, 1.2])
        self.counts = rng.choice([1, 2, 3, 5, 8])
        self.step = rng.choice([0.1, 0.01, 0.001])
        self.ohm = round(rng.uniform(0.5, 40.0), 3)
        self.celsius = round(rng.uniform(-30.0, 140.0), 1)
        self.temperature = rng.choice(list(HALF_WIDTHS))
        self.k = rng.choice([234.5, 235.0, 225.0])
        self.ref = rng.choice([20.0, 25.0, 0.0])

    @property
    def meter(self):
        return f"{self.percent}%+{self.counts}x{self.step}"

    def common(self, **more):
        return {
            "celsius": self.celsius,
            "meter": self.meter,
            "temperature": TemperatureSource(self.temperature),
            **more,
        }

    def limits(self, *, is_ref_stated=True):
        return Limits(low_ohm=4.0, high_ohm=6.0, ref_celsius=self.ref, k_celsius=self.k, is_ref_stated=is_ref_stated)

    def at_reference(self, ohm, *, ref_half_width=0.0):
        """Carry a resistance from the coil temperature to the reference, both with their doubt."""
        coil = self.celsius + flat(HALF_WIDTHS[self.temperature])
        ref = self.ref + flat(ref_half_width)
        return ohm * (self.k + ref) / (self.k + coil)

    def reading_doubt(self, ohm):
        """Percent of the displayed value and counts as one rectangle."""
        return flat(0.01 * self.percent * ohm + self.counts * self.step)


def four_wire(d):
    measured = Measured(ohm=d.ohm, leads=LeadState.FOUR_WIRE, **d.common())
    return measured, d.ohm + d.reading_doubt(d.ohm)


def nulled(d):
    """Nulling leaves one count of the display."""
    measured = Measured(ohm=d.ohm, leads=LeadState.NULLED, **d.common())
    return measured, d.ohm + d.reading_doubt(d.ohm) - flat(d.step)


def neither(d):
    """Leads of 0 to the allowance, all equally likely."""
    allowance = d.rng.choice([0.2, 0.5, 0.0])
    measured = Measured(ohm=d.ohm, lead_allowance_ohm=allowance, **d.common())
    return measured, d.ohm + d.reading_doubt(d.ohm) - (allowance / 2 + flat(allowance / 2))


def subtract(d):
    """One meter reads coil with leads, then leads alone: one gain for both, counts for each."""
    tips = round(d.rng.uniform(0.0, 0.4), 3)
    measured = Measured(ohm=d.ohm + tips, leads=LeadState.SUBTRACT, lead_ohm=tips, **d.common())
    gain = 1 + flat(0.01 * d.percent)
    counts = flat(d.counts * d.step), flat(d.counts * d.step)
    return measured, gain * ((d.ohm + tips) - tips) + counts[0] - counts[1]


def check_resistor(d):
    """Three readings with one display step each, and the resistor's own tolerance."""
    known = d.rng.choice([1.0, 5.0, 10.0])
    zero, read = 0.21, known * 1.004 + 0.21
    pct = d.rng.choice([0.0, 0.1, 1.0])
    given = {"check_ohm": known, "check_read_ohm": read, "zero_read_ohm": zero, "check_pct": pct}
    measured = Measured(ohm=d.ohm + zero, **given, **d.common())
    i, i_c, i_0 = (ufloat(shown, d.step / ROOT12) for shown in (d.ohm + zero, read, zero))
    return measured, known * (1 + flat(0.01 * pct)) * (i - i_0) / (i_c - i_0)


def check_resistor_subtract(d):
    """Without its own zero reading the tips' reading serves; `nulled` and four wires need none."""
    tips = 0.19
    given = {"check_ohm": 5.0, "check_read_ohm": 5.2, "check_pct": 0.1}
    measured = Measured(ohm=d.ohm + tips, leads=LeadState.SUBTRACT, lead_ohm=tips, **given, **d.common())
    i, i_c, i_0 = (ufloat(shown, d.step / ROOT12) for shown in (d.ohm + tips, 5.2, tips))
    return measured, 5.0 * (1 + flat(0.001)) * (i - i_0) / (i_c - i_0)


def check_resistor_nulled(d):
    given = {"check_ohm": 5.0, "check_read_ohm": 4.97, "check_pct": 0.1}
    measured = Measured(ohm=d.ohm, leads=LeadState.NULLED, **given, **d.common())
    i, i_c, i_0 = (ufloat(shown, d.step / ROOT12) for shown in (d.ohm, 4.97, 0.0))
    return measured, 5.0 * (1 + flat(0.001)) * (i - i_0) / (i_c - i_0)


def volts_ratio(d):
    """One current through both: the volt meter's gain cancels, its counts do not."""
    known, ampere = d.rng.choice([1.0, 5.0]), d.rng.uniform(0.1, 0.2)
    volts_x, volts_c = round(ampere * d.ohm, 3), round(ampere * known, 3)
    counts, step = d.rng.choice([1, 2, 5]), d.rng.choice([0.001, 0.0001])
    meter = f"{d.percent}%+{counts}x{step}"
    given = {"check_ohm": known, "check_pct": 0.5, "volts_x": volts_x, "volts_check": volts_c, "volts_meter": meter}
    gain = 1 + flat(0.01 * d.percent)
    v_x, v_c = (gain * (shown + flat(counts * step)) for shown in (volts_x, volts_c))
    return Measured(**given, **d.common()), known * (1 + flat(0.005)) * v_x / v_c


def two_repeats(d):
    """Two to four readings: the pooled spread, one display step where none is known, over root n."""
    count = d.rng.choice([2, 3, 4])
    shown = tuple(round(d.ohm + d.rng.uniform(-0.05, 0.05), 3) for _ in range(count))
    mean = math.fsum(shown) / count
    measured = Measured(repeats_ohm=shown, leads=LeadState.FOUR_WIRE, **d.common())
    return measured, mean + d.reading_doubt(mean) + ufloat(0.0, d.step / math.sqrt(count))


def seven_repeats(d):
    """Five readings and more: their own spread over root n."""
    shown = tuple(round(d.ohm + d.rng.uniform(-0.05, 0.05), 3) for _ in range(7))
    mean = math.fsum(shown) / 7
    spread = math.sqrt(math.fsum((x - mean) ** 2 for x in shown) / 6)
    measured = Measured(repeats_ohm=shown, leads=LeadState.FOUR_WIRE, **d.common())
    return measured, mean + d.reading_doubt(mean) + ufloat(0.0, spread / math.sqrt(7))


def repeats_through_a_check(d):
    """The spread of the display is stretched by the check resistor as the display is."""
    zero, shown = 0.2, (d.ohm + 0.2, d.ohm + 0.22, d.ohm + 0.21)
    mean = math.fsum(shown) / 3
    given = {"check_ohm": 5.0, "check_read_ohm": 5.3, "zero_read_ohm": zero, "check_pct": 0.1}
    measured = Measured(repeats_ohm=shown, **given, **d.common())
    i, i_c, i_0 = (ufloat(x, d.step / ROOT12) for x in (mean, 5.3, zero))
    i += ufloat(0.0, d.step / math.sqrt(3))
    return measured, 5.0 * (1 + flat(0.001)) * (i - i_0) / (i_c - i_0)


def no_counts(d):
    """A meter that states no counts: its display step has its own line, step over root twelve."""
    measured = Measured(ohm=d.ohm, leads=LeadState.FOUR_WIRE, **d.common(meter=f"{d.percent}%+0x{d.step}"))
    return measured, d.ohm + flat(0.01 * d.percent * d.ohm) + ufloat(0.0, d.step / ROOT12)


def given_directly(d):
    measured = Measured(ohm=d.ohm, leads=LeadState.FOUR_WIRE, u_ohm=0.031, **d.common())
    return measured, ufloat(d.ohm, 0.031)


MODES = (
    four_wire,
    nulled,
    neither,
    subtract,
    check_resistor,
    check_resistor_subtract,
    check_resistor_nulled,
    volts_ratio,
    two_repeats,
    seven_repeats,
    repeats_through_a_check,
    no_counts,
    given_directly,
)


def same(judgement, expected):
    assert judgement.ohm_at_ref == pytest.approx(expected.n, rel=1e-9)
    assert judgement.u_ohm_at_ref == pytest.approx(expected.s, rel=1e-9)
    assert math.fsum(line.u_ohm**2 for line in judgement.budget) == pytest.approx(expected.s**2, rel=1e-9)


@pytest.mark.parametrize("mode", MODES, ids=lambda mode: f"{mode.__name__} [uncertainties, first order]")
def test_budget_of_a_reading(mode):
    for number in range(CASES):
        draw = Draw(number)
        measured, ohm = mode(draw)
        judgement = judge(measured, draw.limits())
        assert judgement.ohm == pytest.approx(ohm.n, rel=1e-9)
        same(judgement, draw.at_reference(ohm))


@pytest.mark.parametrize("number", range(CASES))
def test_reference_not_stated_adds_five_kelvin(number):
    draw = Draw(number)
    measured, ohm = subtract(draw)
    same(judge(measured, draw.limits(is_ref_stated=False)), draw.at_reference(ohm, ref_half_width=5.0))


@pytest.mark.parametrize("number", range(CASES))
def test_standard_uncertainty_of_the_temperature_given(number):
    draw = Draw(number)
    u_celsius = draw.rng.uniform(0.0, 4.0)
    measured = Measured(ohm=draw.ohm, celsius=draw.celsius, u_celsius=u_celsius, u_ohm=0.02, leads=LeadState.FOUR_WIRE)
    coil = ufloat(draw.celsius, u_celsius)
    same(judge(measured, draw.limits()), ufloat(draw.ohm, 0.02) * (draw.k + draw.ref) / (draw.k + coil))


def between(row, other, celsius):
    """ln of the middle resistance, linear in 1/T between two table rows."""
    (t1, low1, high1), (t2, low2, high2) = row, other
    x, x1, x2 = (1 / (t + 273.15) for t in (celsius, t1, t2))
    y1, y2 = log((low1 + high1) / 2), log((low2 + high2) / 2)
    return exp(y1 + (y2 - y1) * (x - x1) / (x2 - x1))


def test_sensor_by_table_widens_with_the_temperature():
    rows = ((20.0, 2540.0, 2800.0), (80.0, 300.0, 350.0))
    sensor = TemperatureSensor(name="Fluid", between=("12", "6"), points=rows)
    for number in range(CASES):
        rng = random.Random(number)
        celsius, ohm = round(rng.uniform(15.0, 85.0), 1), round(rng.uniform(200.0, 3000.0))
        measured = Measured(ohm=ohm, celsius=celsius, celsius_accuracy=3.0, meter="1%+2x1", leads=LeadState.NULLED)
        middle = between(*rows, celsius + flat(3.0))
        shown = ohm + flat(0.01 * ohm + 2.0) - flat(1.0)
        same(judge(measured, limits_of(sensor, celsius)), shown * middle.n / middle)


def test_sensor_by_beta_widens_with_the_temperature():
    sensor = TemperatureSensor(name="Fluid", between=("12", "6"), beta=Beta(r_ohm=10000.0, b_kelvin=3380.0))
    for number in range(CASES):
        celsius = round(random.Random(number).uniform(0.0, 110.0), 1)
        measured = Measured(ohm=5000.0, celsius=celsius, celsius_accuracy=2.0, meter="1%+2x1", leads=LeadState.NULLED)
        kelvin = celsius + 273.15 + flat(2.0)
        middle = 10000.0 * exp(3380.0 * (1 / kelvin - 1 / 298.15))
        expected = (5000.0 + flat(52.0) - flat(1.0)) * middle.n / middle
        judgement = judge(measured, limits_of(sensor, celsius))
        # The program takes the slope from a difference over 0.1 K: third-order error about 1e-7 of it.
        assert judgement.u_ohm_at_ref == pytest.approx(expected.s, rel=2e-6)


@pytest.mark.parametrize(
    ("leads", "u_ohm"),
    [
        pytest.param(
            {"leads": LeadState.FOUR_WIRE}, 0.141, id="0.9 % + 2 x 0.1 on 5 ohm: (0.045 + 0.2)/root 3, by hand"
        ),
        pytest.param(
            {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2},
            0.1654,
            id="tips taken off: root((0.045/root 3)^2 + 2 (0.2/root 3)^2), by hand",
        ),
    ],
)
def test_worked_by_hand(leads, u_ohm):
    shown = 5.0 + leads.get("lead_ohm", 0.0)
    measured = Measured(ohm=shown, celsius=20.0, u_celsius=0.0, meter="0.9%+2x0.1", **leads)
    judgement = judge(measured, COPPER)
    assert judgement.u_ohm_at_ref == pytest.approx(u_ohm, abs=5e-4 if u_ohm < 0.15 else 5e-5)
