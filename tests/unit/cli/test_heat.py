"""`valvebench heat` on files. Copper by IEC 60034-1, a lag of one minute; all logs are made up here."""

from __future__ import annotations

import json

import numpy as np
import pytest

from valvebench.physics.lag import lag_response

METER = ("--meter", "0.2%+1x0.001", "--celsius-accuracy", "0.5")
KEYS = {
    *("n", "kind", "slope_over_copper", "r20_ohm", "series_ohm", "grows_from_celsius", "excess_ohm_at_hottest"),
    *("lag_s", "residual_ohm", "separable", "events", "verdict", "reasons", "advice"),
}
HEADS = {1: "t_s,probe_celsius,ohm", 2: "t_s,probe_celsius,Heron_ohm,Gull_ohm"}


def readings(ohm=5.2, extra=0.0, *, seed=1, n=240):
    t_s = np.linspace(0.0, 3600.0, n)
    probe = np.interp(t_s, [0, 1800, 3600], [22.0, 110.0, 45.0])
    coil = lag_response(t_s, probe, tau_s=60.0)
    noise = np.random.default_rng(seed).normal(size=n) * 0.004
    return t_s, probe, ohm * (234.5 + coil) / 254.5 + extra + noise


@pytest.fixture
def log(tmp_path):
    """Write a log; one device, or several beside each other."""

    def write(*devices, head=None, opened=()):
        t_s, probe, _ = devices[0]
        columns = [[f"{value:.3f}" for value in of] for of in (t_s, probe, *(one[2] for one in devices))]
        for row in opened:
            columns[2][row] = "OL"
        path = tmp_path / "run.csv"
        rows = [",".join(row) for row in zip(*columns, strict=True)]
        path.write_text("\n".join([head or HEADS[len(devices)], *rows]), "utf-8")
        return path

    return write


def test_copper_without_limits_is_no_limit(run, log):
    answer = run("heat", log(readings()), *METER, "--json")
    assert answer.code == 0, answer.err
    assert set(answer.data) >= KEYS
    assert (answer.data["kind"], answer.data["verdict"], answer.data["n"]) == ("copper", "no_limit", 240)
    assert abs(answer.data["r20_ohm"]["value"] - 5.2) < 3 * answer.data["r20_ohm"]["u"]


@pytest.mark.parametrize(
    ("low", "high", "code", "verdict"), [(5, 6, 0, "pass"), (6, 7, 1, "fail"), (5.2, 6, 3, "cant_tell")]
)
def test_limits_decide(run, log, low, high, code, verdict):
    answer = run("heat", log(readings()), *METER, "--low", low, "--high", high, "--json")
    assert (answer.code, answer.data["verdict"]) == (code, verdict)


def test_a_series_part_fails_whatever_the_limits(run, log):
    answer = run("heat", log(readings(extra=0.5)), *METER, "--low", 1, "--high", 9, "--json")
    assert (answer.code, answer.data["kind"], answer.data["verdict"]) == (1, "fixed_series", "fail")
    assert abs(answer.data["series_ohm"]["value"] - 0.5) < 3 * answer.data["series_ohm"]["u"]


def test_an_opening_fails_and_is_told_with_its_place(run, log):
    path = log(readings(), opened=range(100, 104))
    answer = run("heat", path, *METER, "--json")
    assert (answer.code, answer.data["verdict"]) == (1, "fail")
    (event,) = answer.data["events"]
    assert (event["kind"], event["heating"], event["size_ohm"]) == ("open", True, None)
    assert "It opened 1506 s after the start" in run("heat", path, *METER).out  # 100 x 3600/239 s


def test_several_devices_are_judged_one_by_one_and_compared(run, log):
    answer = run("heat", log(readings(), readings(extra=0.5, seed=2)), *METER, "--json")
    assert answer.code == 1
    assert {name: one["verdict"] for name, one in answer.data["devices"].items()} == {
        "Heron": "no_limit",
        "Gull": "fail",
    }
    (pair,) = answer.data["matched"]
    assert (pair["a"], pair["b"], pair["constant"]) == ("Heron", "Gull", False)
    assert set(pair["ratio"]) == {"value", "u"}


def test_a_device_that_says_nothing_does_not_silence_the_others(run, log):
    answer = run("heat", log(readings(), readings(), opened=range(240)), *METER, "--json")
    assert answer.code == 3
    heron = answer.data["devices"]["Heron"]
    assert (heron["verdict"], heron["kind"]) == ("not_usable", None)
    assert "open in every sample" in heron["reasons"][0]
    assert answer.data["devices"]["Gull"]["kind"] == "copper"
    assert set(heron) >= KEYS


def test_limits_come_from_the_variant(run, log, tmp_path):
    variant = tmp_path / "tern.json"
    coil = {"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 4.9, "high_ohm": 5.5}
    pins = [{"name": "1"}, {"name": "2"}]
    variant.write_text(json.dumps({"format": 1, "key": "tern", "title": "Tern", "pins": pins, "devices": [coil]}))
    single = log(readings())
    answer = run("heat", single, *METER, "--variant", variant, "--device", "Heron", "--json")
    assert (answer.code, answer.data["low_ohm"]) == (0, 4.9)
    assert "--device" in run("heat", single, "--variant", variant).err
    two = run("heat", log(readings(), readings()), "--variant", variant)
    assert (two.code, two.out) == (2, "")
    assert "found 'Gull', expected a winding of the variant: Heron" in two.err


def test_rounds_need_no_times(run, tmp_path):
    celsius = np.array([22, 45, 70, 95, 110, 96, 71, 46, 23.0])
    ohm = 5.2 * (234.5 + celsius) / 254.5 + 0.6
    path = tmp_path / "rounds.csv"
    rows = [f"{c:.0f};{r:.2f}".replace(".", ",") for c, r in zip(celsius, ohm, strict=True)]
    path.write_text("\n".join(["probe_celsius;ohm", *rows]))
    assert "found no time column" in run("heat", path).err
    answer = run("heat", path, "--rounds", *METER, "--json")
    assert (answer.code, answer.data["kind"], answer.data["lag_s"]) == (1, "fixed_series", None)


def test_an_even_ramp_alone_caps_the_answer_at_cant_tell(run, log):
    t_s = np.linspace(0.0, 3600.0, 240)
    probe = 22.0 + t_s * 0.025
    ohm = (
        5.2 * (234.5 + lag_response(t_s, probe, tau_s=60.0)) / 254.5 + np.random.default_rng(1).normal(size=240) * 0.004
    )
    path = log((t_s, probe, ohm))
    told = run("heat", path, *METER, "--low", 5, "--high", 6, "--json")
    assert (told.code, told.data["verdict"], told.data["separable"]) == (3, "cant_tell", False)


@pytest.mark.parametrize(
    ("options", "part"),
    [
        (("--low", "6", "--high", "5"), "--low"),
        (("--variant", "x", "--low", "5"), "one or the other"),
        (("--device", "Heron"), "no --variant"),
        (("--k", "40"), "more than 50"),
        (("--celsius-accuracy", "0"), "more than 0"),
        (("--ref-celsius", "500"), "-50 to 180"),
        (("--meter", "good"), "--meter"),
        (("--rule", "maybe"), "--rule"),
    ],
)
def test_options_that_mean_nothing_are_refused(run, log, options, part):
    answer = run("heat", log(readings()), *options)
    assert (answer.code, answer.out) == (2, "")
    assert part in answer.err


@pytest.mark.parametrize("text", ["", "t_s,probe_celsius,ohm\n1,20,nan\n", "t_s,probe_celsius,ohm\n1,20,OL\n2,30,OL\n"])
def test_a_file_that_cannot_be_used_is_one_message(run, tmp_path, text):
    path = tmp_path / "run.csv"
    path.write_text(text)
    answer = run("heat", path, "--json")
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith(f"valvebench: {path}: ")


def test_a_missing_file_and_a_folder_are_told(run, tmp_path):
    for path in (tmp_path, tmp_path / "none.csv"):
        answer = run("heat", path)
        assert (answer.code, "cannot be read" in answer.err) == (2, True)


def ramp(tmp_path, *, is_soaked):
    """A run that only warms, from 22 to 110 degrees in half an hour; the coil lags a minute, or is 20 K off first.

    One rate all along: without knowing how it started, lag and series resistance look alike.
    """
    t_s = np.linspace(0.0, 1800.0, 181)
    probe = 22.0 + 88.0 * t_s / 1800.0
    coil = lag_response(t_s, probe, tau_s=60.0, start_celsius=22.0 if is_soaked else 42.0)
    ohm = 5.2 * (234.5 + coil) / 254.5
    path = tmp_path / "ramp.csv"
    lines = [f"{t:.0f},{p:.3f},{r:.4f}" for t, p, r in zip(t_s, probe, ohm, strict=True)]
    path.write_text("\n".join(["t_s,probe_celsius,ohm", *lines]), "utf-8")
    return path


def test_a_soaked_start_separates_what_a_ramp_leaves_open(run, tmp_path):
    path = ramp(tmp_path, is_soaked=True)
    bare = run("heat", path, *METER, "--json").data
    soaked = run("heat", path, *METER, "--soaked-start", "--json").data
    assert (bare["kind"], bare["separable"], bare["lag_s"]) == ("not_separable", False, None)
    assert (soaked["kind"], soaked["separable"]) == ("copper", True)
    assert abs(soaked["lag_s"]["value"] - 60.0) < 3 * soaked["lag_s"]["u"]
    assert soaked["at_20_ohm"]["u"] < bare["at_20_ohm"]["u"]


def test_with_another_path_beside_it_no_limit_of_the_variant_counts(run, log, tmp_path):
    """The strap carries current too: what the log shows is not the winding alone."""
    heron = {"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 6.0, "high_ohm": 7.0}
    strap = {"name": "Strap", "kind": "link", "between": ["1", "2"]}
    pins = [{"name": "1"}, {"name": "2"}]
    path = tmp_path / "variant.json"
    for devices, verdict in (([heron], "fail"), ([heron, strap], "no_limit")):
        data = {"format": 1, "key": "tern", "title": "Quillon Tern", "pins": pins, "devices": devices}
        path.write_text(json.dumps(data), "utf-8")
        answer = run("heat", log(readings()), *METER, "--variant", path, "--device", "Heron", "--json")
        assert answer.data["verdict"] == verdict
        assert any("Another path" in reason for reason in answer.data["reasons"]) is (verdict == "no_limit")


SETTLED = (21.0, 35.0, 50.0, 65.0, 80.0, 95.0, 110.0, 100.0, 85.0, 70.0, 55.0, 40.0)


@pytest.mark.parametrize("at", [0, 3, 6, 11])
@pytest.mark.parametrize("wild_ohm", [0.3, 52.4], ids=["a slip of the tip", "a slip of the point"])
def test_one_wild_typed_value_among_twelve_is_not_silently_a_fault(run, tmp_path, at, wild_ohm):
    """Copper of 5.2 ohm at settled temperatures, typed to 0.01 ohm, one of them 0.3 ohm or ten times too much.

    It may be left out, or named as what does not fit; the rest of the readings is copper.
    """
    ohm = [round(5.2 * (234.5 + t) / 254.5, 2) for t in SETTLED]
    ohm[at] = round(ohm[at] + 0.3, 2) if wild_ohm < 1 else ohm[at] * 10
    path = tmp_path / "rounds.csv"
    path.write_text("\n".join(["probe_celsius,ohm", *(f"{t},{r}" for t, r in zip(SETTLED, ohm, strict=True))]), "utf-8")
    answer = run("heat", path, "--rounds", "--meter", "0.5%+2x0.01", "--low", "4.9", "--high", "5.5", "--json")
    assert answer.data["verdict"] != "fail" or answer.data["left_out"] == 1 or answer.data["events"]
