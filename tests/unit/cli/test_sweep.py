"""`valvebench sweep` on files; all readings are made up here."""

from __future__ import annotations

import numpy as np
import pytest

from tests.data.sweep_truth import DEAD, swept, true_loop
from valvebench.diagnose.sweep import find_sweep

KEYS = {"hysteresis_pct_span", "hysteresis_pct_current", "linearity_pct", "dead_band_ampere", "span_kpa"}


@pytest.fixture
def write(tmp_path):
    def of(ampere, kpa, is_up, head="ampere,kpa_gauge,branch"):
        path = tmp_path / "sweep.csv"
        rows = [f"{a!r},{p!r},{'up' if up else 'down'}" for a, p, up in zip(ampere, kpa, is_up, strict=True)]
        path.write_text("\n".join([head, *rows]).replace("np.float64(", "").replace(")", ""), "utf-8")
        return path

    return of


def lines(up_shift, down_shift):
    ampere = np.linspace(0.1, 1.0, 19)
    kpa = np.concatenate([10 * (ampere - up_shift), 10 * (ampere[::-1] - down_shift)])
    return np.concatenate([ampere, ampere[::-1]]), kpa, np.repeat([1, 0], 19)


def test_exact_lines_return_the_definition(run, write):
    """0.04 A of 1 A rated at equal pressure: 4 %; 0.4 of a span of 9 at equal current [valve-hysteresis-current]."""
    answer = run("sweep", write(*lines(0.06, 0.02)), "--rated-ampere", 1, "--json")
    assert answer.code == 0, answer.err
    assert set(answer.data) >= KEYS
    current, span = answer.data["hysteresis_pct_current"], answer.data["hysteresis_pct_span"]
    assert current["max"]["value"] == pytest.approx(4.0, abs=1e-9)
    assert current["mean_10_90"]["value"] == pytest.approx(4.0, abs=1e-9)
    assert span["max"]["value"] == pytest.approx(100 * 0.4 / 9, abs=1e-7)
    assert answer.data["span_kpa"] == pytest.approx(9.0, abs=1e-9)
    assert answer.data["linearity_pct"]["minimax"]["value"] == pytest.approx(0.0, abs=1e-6)
    assert answer.data["dead_band_ampere"] is None
    assert current["resolved"] is True


def test_percent_of_current_and_of_span_are_two_numbers(run, write):
    rng = np.random.default_rng(3)
    answer = run("sweep", write(*swept(60, loop_ampere=0.03, noise_pct=0.1, is_uneven=False, rng=rng)), "--json")
    of_span, of_current = true_loop(0.03)
    span, current = (answer.data[f"hysteresis_pct_{name}"]["mean_10_90"] for name in ("span", "current"))
    assert abs(span["value"] - of_span) < 3 * span["u"]
    assert abs(current["value"] - of_current) < 3 * current["u"]
    assert of_span - of_current > 3 * span["u"]


def test_the_span_is_that_of_the_currents_that_were_swept(run, write):
    """A sweep that ends at 0.8 A has four fifths of the pressure, and its loop is told in percent of that."""
    ampere, kpa, is_up = swept(60, loop_ampere=0.06, noise_pct=0.0, is_uneven=False, rng=np.random.default_rng(7))
    short = ampere <= 0.8
    answer = run("sweep", write(ampere[short], kpa[short], is_up[short]), "--json")
    own, _ = true_loop(0.06, (0.0, ampere[short].max()))
    whole, _ = true_loop(0.06)
    told = answer.data["hysteresis_pct_span"]["mean_10_90"]["value"]
    assert told == pytest.approx(own, abs=0.05)
    assert own > whole + 1.0


def test_the_span_starts_at_rest_and_not_below_it():
    """A smooth curve dips below rest at the knee, by 7 kPa here; the readings at rest do not.

    60 even points with a noise of 1 % know the span of 900 kPa to about 6 kPa, 30 such sweeps to 1 kPa.
    """
    noisy = {"loop_ampere": 0.06, "noise_pct": 1.0, "is_uneven": False}
    sweeps = [swept(60, **noisy, rng=np.random.default_rng(seed)) for seed in range(30)]
    spans = [find_sweep(*data, rated_ampere=1.0).span_kpa for data in sweeps]
    assert np.mean(spans) == pytest.approx(900.0, abs=3.3)


def test_dead_band_by_a_line_back_to_rest(run, write):
    rng = np.random.default_rng(5)
    data = swept(60, loop_ampere=0.0, noise_pct=0.1, is_uneven=False, rng=rng)
    dead = run("sweep", write(*data), "--json").data["dead_band_ampere"]
    assert dead["value"] == pytest.approx(DEAD, abs=0.006)


def test_linearity_leaves_the_knee_out(run, write):
    """The bend of the truth is 0.08 x (1 - x) of its range: at most 2 % from its chord, half of that from the best."""
    rng = np.random.default_rng(6)
    data = run("sweep", write(*swept(200, loop_ampere=0.0, noise_pct=0.1, is_uneven=False, rng=rng)), "--json").data
    straight = data["linearity_pct"]
    assert 0.5 < straight["minimax"]["value"] < 1.0
    assert 1.0 < straight["terminal"]["value"] < 2.0
    assert data["linearity_from_ampere"] > DEAD
    assert data["linearity_to_ampere"] == 1.0


def test_nothing_there_is_not_resolved(run, write):
    rng = np.random.default_rng(8)
    answer = run("sweep", write(*swept(40, loop_ampere=0.0, noise_pct=0.5, is_uneven=False, rng=rng)))
    assert "not resolved" in answer.out
    assert "eye protection" in answer.out


def test_a_pressure_that_falls_with_the_current(run, write):
    ampere, kpa, is_up = lines(0.06, 0.02)
    answer = run("sweep", write(ampere, 20 - kpa, is_up), "--rated-ampere", 1, "--json")
    assert answer.data["hysteresis_pct_current"]["max"]["value"] == pytest.approx(4.0, abs=1e-9)


def test_branches_exchanged_are_noticed(run, write):
    ampere, kpa, is_up = lines(0.06, 0.02)
    answer = run("sweep", write(ampere, kpa, 1 - is_up), "--json")
    assert any("exchanged" in reason for reason in answer.data["reasons"])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        pytest.param(lambda a, p, u: (a, p, np.ones_like(u)), "on the branch down", id="one branch"),
        pytest.param(lambda a, p, u: (a[:4], p[:4], u[:4]), "at least 5", id="too few"),
        pytest.param(lambda a, p, u: (a, 0 * p + 300, u), "follows the current", id="no pressure moves"),
        pytest.param(lambda a, p, u: (a + 3 * (1 - u), p, u), "over the same currents", id="branches apart"),
    ],
)
def test_one_message(run, write, change, says):
    answer = run("sweep", write(*change(*lines(0.06, 0.02))), "--json")
    assert (answer.code, answer.out) == (2, "")
    assert says in answer.err


def test_scatter_without_a_curve_is_refused(run, write):
    ampere, _, is_up = lines(0.06, 0.02)
    noise = np.random.default_rng(2).normal(size=ampere.size)
    answer = run("sweep", write(ampere, noise, is_up))
    assert answer.code == 2
