"""`valvebench identify`: what it answers, in words and in JSON, and with which exit code."""

from __future__ import annotations

import json

import pytest

KEYS = {"posterior", "verdict", "contradictions", "next", "not_checked"}
MARKS = ["none", "dot", "bar"]


def file_of(key, answer, mark, ohm, **more):
    features = [{"name": name, "values": ["no", "yes"], "this": answer, "ask": f"See {name}."} for name in "abcdefgh"]
    features += [{"name": "plate mark", "values": MARKS, "this": mark, "must_match": True, "ask": "Look at the plate."}]
    coil = {"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 0.95 * ohm, "high_ohm": 1.05 * ohm}
    pins = [{"name": name} for name in ("1", "2", "3")]
    found = {"format": 1, "key": key, "title": f"Quillon Tern, {key}", "pins": pins, "note": "invented"}
    return {**found, "features": features, "devices": [coil], **more}


@pytest.fixture
def folder(tmp_path):
    library = tmp_path / "variants"
    library.mkdir()
    for data in (file_of("knot", "no", "dot", 5.0), file_of("rail", "yes", "bar", 15.0)):
        (library / f"{data['key']}.json").write_text(json.dumps(data), "utf-8")
    return library


@pytest.fixture
def identify(run, folder):
    return lambda *words: run("identify", "--variants", folder, *words)


ALL = [f"{name}=no" for name in "abcdefgh"]


def test_the_json_answer(identify):
    answer = identify("--saw", "plate mark=dot", "a=yes@phone", "--json")
    assert set(answer.data) >= KEYS
    assert list(answer.data["posterior"]) == ["knot", "rail", "none_of_these"]
    assert sum(answer.data["posterior"].values()) == pytest.approx(1.0, abs=1e-12)
    assert answer.data["contradictions"] == [
        {"variant": "knot", "feature": "a", "saw": "yes", "needs": "no", "looks": 1},
        {"variant": "rail", "feature": "plate mark", "saw": "dot", "needs": "bar", "looks": 1},
    ]
    assert all(set(one) == {"feature", "bits"} for one in answer.data["next"])
    bits = [one["bits"] for one in answer.data["next"]]
    assert bits == sorted(bits, reverse=True)
    assert answer.data["not_checked"] == list("bcdefgh")


@pytest.mark.parametrize(
    ("saw", "verdict", "code"),
    [
        pytest.param([*ALL, "plate mark=dot"], "confirmed", 0, id="everything fits"),
        pytest.param([*ALL, "plate mark=dot@photo"], "confirmed", 0, id="a photo of a must-match point"),
        pytest.param([*ALL, "plate mark=dot@phone"], "narrowed", 3, id="a must-match point told by phone"),
        pytest.param(ALL, "narrowed", 3, id="a must-match point not seen"),
        pytest.param([*ALL, "plate mark=bar"], "narrowed", 3, id="a first contradiction"),
        pytest.param([*ALL, "plate mark=bar", "plate mark=bar"], "contradicted", 1, id="seen twice"),
        pytest.param(["a=no", "b=yes"], "open", 3, id="one against one"),
        pytest.param([], "open", 3, id="nothing"),
    ],
)
def test_verdict_and_exit_code(identify, saw, verdict, code):
    answer = identify(*(["--saw", *saw] if saw else []), "--json")
    assert (answer.data["verdict"], answer.code) == (verdict, code)


def test_none_of_these(run, tmp_path, folder):
    (folder / "rail.json").unlink()
    saw = [f"{name}=yes" for name in "abcdefgh"]
    answer = run("identify", "--variants", folder, "--saw", *saw, *saw, "--json")
    assert (answer.data["verdict"], answer.code) == ("none_of_these", 1)


def test_the_text_says_what_is_lacking_and_what_is_next(identify):
    answer = identify("--saw", "plate mark=dot@phone", "a=no")
    assert answer.out.startswith("Not confirmed: most likely Quillon Tern, knot (knot)")
    assert "  Not seen by us or in a photo: plate mark.\n" in answer.out
    assert (
        "Quillon Tern, rail (rail) (less than 1 in 100): a: saw no, needs yes; plate mark: saw dot, needs bar."
        in answer.out
    )
    assert "First: Look at plate mark: it must match. Look at the plate.\n" in answer.out
    assert "Told by phone only: plate mark." in answer.out
    assert "Not checked: b, c, d, e, f, g, h." in answer.out


def test_a_confirmed_part_asks_for_nothing(identify):
    answer = identify("--saw", *ALL, "plate mark=dot")
    assert answer.out.startswith("Confirmed: it is Quillon Tern, knot (knot) (better than 99 in 100).")
    assert "Next" not in answer.out


def test_readings_tell_and_open_says_nothing(identify):
    before = identify("--json").data["posterior"]
    read = ("--meter", "0.5%+2x0.01", "--leads", "nulled", "--temperature", "taped")
    after = identify("--reading", "1 2 5,05 23", *read, "--json").data["posterior"]
    assert after["knot"] > 0.9 > before["knot"]
    opened = identify("--reading", "1 2 OL 23", "--json").data
    assert opened["posterior"] == before
    assert "open says nothing" in opened["left_out"][0]["why"]


def test_a_reading_that_does_not_fit_is_told(identify):
    out = identify("--reading", "1 2 15.1 23").out
    assert "Quillon Tern, knot (knot) (less than 1 in 100): 1\u20132: read 15.0 \u03a9, needs about 5.05 \u03a9." in out


def test_a_session_counts_too(run, identify, tmp_path, folder):
    job = tmp_path / "job"
    assert run("open-job", job, "--job", "T-1").code == 0
    for text in ("Dot", "dot"):
        assert run("record", job, "feature", "--name", "Plate Mark", "--value", text).code == 0
    assert run("record", job, "feature", "--name", "smell", "--value", "sweet").code == 0
    alone = identify("--saw", "plate mark=dot", "plate mark=dot", "--json").data
    answer = identify("--session", job, "--json").data
    assert answer["posterior"] == alone["posterior"]
    assert answer["left_out"] == [{"entry": 4, "what": "smell", "why": "no variant here has this feature"}]
    assert run("record", job, "withdraw", "--entry", "3", "--why", "slip").code == 0
    assert identify("--session", job, "--json").data["posterior"] != alone["posterior"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(("--saw", "plate mark=dott"), "one of none, dot, bar, or cannot see", id="no answer of it"),
        pytest.param(("--saw", "plate mark=dott"), "Did you mean dot?", id="nearest answer"),
        pytest.param(("--saw", "plate mrk=dot"), "Did you mean plate mark?", id="no feature of it"),
        pytest.param(("--saw", "plate mark"), "name=value", id="no value"),
        pytest.param(("--saw", "plate mark=dot@telex"), "found 'dot@telex'", id="no way of seeing"),
        pytest.param(("--reading", "1 2 5.2"), "from, to, ohm and degrees Celsius", id="no temperature"),
        pytest.param(("--reading", "1 9 5.2 23"), "9 in '1 9 5.2 23'", id="no such pin"),
        pytest.param(("--reading", "1 2 five 23"), "'1 2 five 23'", id="no number"),
        pytest.param(("--reading", "1 2 5.2 23", "--temperature", "not_soaked"), "not_soaked", id="not soaked"),
    ],
)
def test_bad_input(identify, words, said):
    answer = identify(*words, "--json")
    assert answer.code == 2
    assert said in answer.err
    assert answer.out == ""


def test_all_that_is_wrong_is_told_at_once(identify):
    answer = identify("--saw", "plate mark=dott", "q=1")
    assert len(answer.err.splitlines()) == 2


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        pytest.param(lambda folder: [file.unlink() for file in folder.iterdir()], "at least one variant", id="empty"),
        pytest.param(lambda folder: (folder / "rail.json").write_text("{}"), "rail.json", id="a broken file"),
        pytest.param(
            lambda folder: (folder / "copy.json").write_bytes((folder / "rail.json").read_bytes()),
            "key 'rail' 2 times",
            id="one key twice",
        ),
    ],
)
def test_a_folder_that_cannot_serve(identify, folder, spoil, said):
    spoil(folder)
    answer = identify()
    assert answer.code == 2
    assert said in answer.err


def test_no_folder(run, tmp_path):
    assert "folder with variant files" in run("identify").err
    assert "folder with variant files" in run("identify", "--variants", tmp_path / "nowhere").err
