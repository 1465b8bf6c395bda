"""The library and the differences of two variants on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.data.made_up import variant_data
from valvebench.__main__ import main

EXAMPLES = Path(__file__).parents[3] / "resources" / "variants"


def written(folder, key, **changes):
    path = folder / f"{key}.json"
    path.write_bytes(json.dumps(variant_data(key=key, title=f"Body {key}", **changes)).encode())
    return path


def ran(capsys, *words):
    code = main(["variants", *map(str, words)])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_a_folder_is_listed_with_what_is_missing_and_what_cannot_be_used(capsys, tmp_path):
    written(tmp_path, "auk", part_numbers=[{"number": "QT-2", "superseded_by": "QT-3"}])
    (tmp_path / "bad.json").write_text('{"format": 1, "key": "bad"}')
    code, out, _ = ran(capsys, "list", tmp_path)
    assert code == 0
    assert "auk: Body auk, 12 pins, QT-3" in out
    assert "limits: 1 from the manual, 1 measured, 1 from memory, 2 source not said" in out
    assert "missing: Gull, Source: nothing says where the limits come from" in out
    assert "bad.json: cannot be used" in out


def test_the_same_as_json(capsys, tmp_path):
    written(tmp_path, "auk")
    (tmp_path / "bad.json").write_text("{}")
    _, out, _ = ran(capsys, "list", tmp_path, "--json")
    auk, bad = json.loads(out)["variants"]
    assert (auk["key"], auk["title"], auk["pins"], auk["example"]) == ("auk", "Body auk", 12, False)
    assert auk["problems"] == []
    assert (bad["key"], bad["pins"], bad["limits"]) == (None, None, None)
    assert len(bad["problems"]) == 4


def test_two_variants_in_words_and_as_json(capsys, tmp_path):
    one, other = written(tmp_path, "auk"), written(tmp_path, "brant", gears=["1", "2", "3"], isolation=None)
    code, out, _ = ran(capsys, "differ", one, other)
    assert code == 0
    assert "Gears: only brant has 3." in out
    _, out, _ = ran(capsys, "differ", one, other, "--json")
    told = json.loads(out)
    assert (told["a"], told["b"]) == ("auk", "brant")
    assert {"table": "Gears", "what": "3", "a": None, "b": "there", "must_match": False} in told["rows"]


def test_the_examples_differ_in_points_that_must_match(capsys):
    _, out, _ = ran(capsys, "differ", EXAMPLES / "tern-body-1.json", EXAMPLES / "tern-body-2.json", "--json")
    hard = [row["what"] for row in json.loads(out)["rows"] if row["must_match"]]
    assert hard == ["connector pins", "plate mark", "pressure switches", "passage beside P4", "mounting ears"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        pytest.param(("differ",), "found nothing, expected two variant files", id="no-file"),
        pytest.param(("differ", EXAMPLES / "tern-body-1.json"), "found one file", id="one-file"),
        pytest.param(("list", "no such folder"), "expected a folder of variant files", id="no-folder"),
        pytest.param(("list", ".", "."), "expected one folder", id="two-folders"),
        pytest.param(("differ", __file__, __file__), "test_variants.py", id="no-variant"),
    ],
)
def test_bad_input_gets_one_message(capsys, words, message):
    code, out, err = ran(capsys, *words)
    assert (code, out) == (2, "")
    assert message in err
    assert "Traceback" not in err
