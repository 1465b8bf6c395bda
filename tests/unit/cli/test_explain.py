"""`valvebench explain`: what it answers, in words and in JSON, and with which exit code."""

from __future__ import annotations

import json

import pytest

from tests.unit.diagnose.test_explain import DATA, SOUND

KEYS = {"fault", "where", "when", "p", "odds", "same_as", "value", "predicts"}


@pytest.fixture
def job(run, tmp_path):
    """A session of the explained body; `record` takes readings as (from, to, ohm)."""
    file = tmp_path / "variant.json"
    file.write_text(json.dumps(DATA), "utf-8")
    folder = tmp_path / "job"
    assert run("open-job", folder, "--variant", file, "--job", "1").code == 0

    def record(a, b, ohm, *more):
        shown = ("--ohm", ohm) if ohm is not None else ("--open", "--range-ohm", "4e7")
        common = ("--celsius", 20, "--temperature", "taped", "--meter", "0.8%+2x0.01", "--leads", "nulled")
        assert run("record", folder, "reading", "--from", a, "--to", b, *shown, *common, *more).code == 0

    return folder, record


@pytest.fixture
def usual(job):
    """All usual readings, some of them changed."""
    folder, record = job

    def take(changes=()):
        for (a, b), ohm in {**SOUND, **dict(changes)}.items():
            record(a, b, None if ohm == float("inf") else ohm)
        return folder

    return take


def test_the_json_answer(run, usual):
    answer = run("explain", usual({("2", "4"): 3.1}), "--json")
    first = answer.data["explanations"][0]
    assert set(first) == KEYS
    assert (first["fault"], first["where"], first["same_as"]) == ("value_low", ["Heron"], [])
    assert first["value"]["value"] == pytest.approx(3.06, abs=0.15)
    assert first["value"]["u"] > 0
    assert first["predicts"][0] | {"ohm": 0} == {
        "from": "2",
        "to": "4",
        "at": "case_connector",
        "ohm": 0,
        "read_ohm": 3.1,
    }
    shares = [one["p"] for one in answer.data["explanations"]]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) <= 1.0 + 1e-9
    assert all(set(ask) == {"from", "to", "at", "what", "bits", "seconds"} for ask in answer.data["next"])


def test_the_text_names_class_value_and_next_step(run, usual):
    answer = run("explain", usual({("2", "4"): 7.5}))
    assert "Heron" in answer.out
    assert "pin 2 (Heron) has a poor contact" in answer.out
    assert "\nNext: " in answer.out
    assert "Taken as given: coils at 20 \u00b0C" in answer.out


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        pytest.param({("2", "4"): 3.1}, 0, id="one answer holds"),
        pytest.param({("1", "4"): 5.43, ("2", "4"): 5.45, ("3", "4"): 13.25}, 3, id="leads in doubt"),
    ],
)
def test_exit_codes(run, usual, changes, code):
    answer = run("explain", usual(changes), "--json")
    assert answer.code == code
    assert answer.data["settled"] is (code == 0)


FLEXED = "A flex test found a contact that comes and goes, whatever stands above: "


def test_a_flex_test_stands_beside_what_explains_the_readings(run, usual):
    """A reading at rest says nothing of a contact that moved: sound readings settle nothing then."""
    folder = usual()
    series = ("--ohms", "5.2 5.2 OL 5.2 5.2 5.2 5.2 OL 5.2 5.2", "--celsius", 20, "--flexed", "the harness at the plug")
    assert run("explain", folder, "--json").data["flexed"] == []
    assert run("record", folder, "flex", "--from", "1", "--to", "4", *series).code == 0
    answer = run("explain", folder, "--json")
    (flexed,) = answer.data["flexed"]
    assert flexed | {"what": ""} == {"what": "", "from": "1", "to": "4", "flexed": "the harness at the plug"}
    assert (answer.code, answer.data["settled"]) == (3, False)
    said = f"{FLEXED}{flexed['what']} (1\u20134) while the harness at the plug was flexed."
    assert said in run("explain", folder).out


def test_a_steady_flex_test_says_nothing_here(run, usual):
    folder = usual()
    series = ("--ohms", " ".join(["5.2"] * 40), "--celsius", 20, "--flexed", "the harness at the plug")
    assert run("record", folder, "flex", "--from", "1", "--to", "4", *series).code == 0
    assert run("explain", folder, "--json").data["flexed"] == []


def test_few_readings_name_no_winner(run, job):
    folder, record = job
    record("1", "4", 5.22)
    answer = run("explain", folder)
    assert answer.code == 3
    assert answer.out.startswith("Still possible: ")


def test_nothing_read_yet_asks_for_something(run, job):
    answer = run("explain", job[0], "--json")
    assert answer.code == 3
    assert answer.data["next"]
    assert run("explain", job[0]).out.startswith("Nothing was read yet")


def test_no_chance_has_more_than_two_digits(run, usual):
    folder = usual({("7", "case"): 0.3})
    assert "odds better than 99 in 100" in run("explain", folder).out


def test_the_difference_of_access_points(run, usual, job):
    folder = usual()
    job[1]("1", "4", 5.62, "--at", "vehicle_plug")
    answer = run("explain", folder, "--json")
    (between,) = answer.data["access"]
    assert (between["what"], between["outer"], between["inner"]) == ("harness", "vehicle_plug", "case_connector")
    assert between["ohm"] == pytest.approx(0.4)
    assert "Harness of 1\u20134, both wires: 0.40" in run("explain", folder).out


def test_another_variant_is_asked_only_where_a_folder_is_named(run, usual, tmp_path):
    data = json.loads(json.dumps(DATA))
    data["key"] = "tern-other"
    for device in data["devices"][:2]:
        device["low_ohm"], device["high_ohm"] = 8.0, 9.0
    (tmp_path / "others").mkdir()
    (tmp_path / "others" / "other.json").write_text(json.dumps(data), "utf-8")
    folder = usual({("1", "4"): 8.5, ("2", "4"): 8.52})
    assert run("explain", folder, "--json").data["explanations"][0]["fault"] != "other_variant"
    answer = run("explain", folder, "--variants", tmp_path / "others", "--json")
    assert answer.data["explanations"][0]["where"] == ["tern-other"]


def test_refusals(run, tmp_path, job):
    assert run("open-job", tmp_path / "bare", "--job", "2").code == 0
    bare = run("explain", tmp_path / "bare")
    assert bare.code == 2
    assert "no variant" in bare.err
    gone = run("explain", job[0], "--variants", tmp_path / "nowhere")
    assert gone.code == 2
    assert "--variants" in gone.err
