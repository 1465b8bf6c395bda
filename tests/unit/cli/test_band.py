"""`valvebench band` on files; all values are made up here."""

from __future__ import annotations

import pytest

KEYS = ["n", "mean", "sd", "median", "mad", "k2", "low", "high", "outliers", "grubbs", "normality", "warnings"]
TEN = (5.14, 5.16, 5.17, 5.18, 5.19, 5.20, 5.21, 5.22, 5.24, 5.26)


@pytest.fixture
def write(tmp_path):
    def of(*cells, head="body,Heron ohm", before="B-1,"):
        path = tmp_path / "good.csv"
        path.write_text("\n".join([head, *(f"{before}{cell}" for cell in cells)]), "utf-8")
        return path

    return of


def test_keys_and_the_row_of_the_odd_one(run, write):
    answer = run("band", write(*TEN, 5.52), "--column", "heron  OHM", "--json")
    assert answer.code == 0, answer.err
    assert list(answer.data) == KEYS
    assert [one["row"] for one in answer.data["outliers"]] == [12]
    assert answer.data["outliers"][0].keys() == {"row", "value", "modified_z"}
    assert answer.data["grubbs"].keys() == {"g", "critical", "row"}
    assert answer.data["normality"].keys() == {"statistic", "p"}


def test_text_says_it_plainly(run, write):
    answer = run("band", write(*TEN), "--column", "Heron ohm", "--coverage", "0,9")
    assert answer.out.startswith("Heron ohm: at least 90 in 100 bodies like these lie from ")
    assert "with 95 % confidence" in answer.out
    assert "did well after fitting" in answer.out
    assert answer.code == 0


def test_a_comma_as_decimal_sign(run, write):
    path = write(*(str(x).replace(".", ",") for x in TEN), head="body;\u03a9", before="B;")
    assert run("band", path, "--column", "\u03a9", "--json").data["mean"] == pytest.approx(sum(TEN) / 10)


def test_no_band_is_not_decided(run, write):
    answer = run("band", write(5.2, 5.2, 5.2), "--column", "Heron ohm")
    assert answer.code == 3
    assert "no band can be told" in answer.out
    assert "All values are equal" in answer.out


@pytest.mark.parametrize(
    ("cells", "options", "says"),
    [
        pytest.param((5.1, "", 5.2), (), "line 3, column 2 (Heron ohm): found nothing", id="blank"),
        pytest.param((5.1, 5.2, "NaN"), (), "line 4, column 2 (Heron ohm): found 'NaN'", id="nan"),
        pytest.param((5.1, "OL"), (), "line 3, column 2 (Heron ohm): found 'OL'", id="open"),
        pytest.param((5.1, "1e40"), (), "at most 1e30", id="beyond sense"),
        pytest.param((), (), "found a header and nothing below it", id="no values"),
        pytest.param((5.1,), ("--column", "Knot"), "expected a column Knot", id="no such column"),
        pytest.param((5.1,), ("--coverage", "90"), "0.01 to 0.9999", id="percent"),
        pytest.param((5.1,), ("--confidence", "1"), "0.01 to 0.9999", id="certain"),
    ],
)
def test_one_message(run, write, cells, options, says):
    answer = run("band", write(*cells), "--column", "Heron ohm", *options, "--json")
    assert (answer.code, answer.out) == (2, "")
    assert says in answer.err


def test_the_column_has_to_be_named(run, write):
    answer = run("band", write(*TEN))
    assert answer.code == 2
    assert "--column" in answer.err


def test_a_heading_that_stands_twice(run, write):
    answer = run("band", write("5.1,5.2", head="body,ohm,Ohm"), "--column", "ohm")
    assert answer.code == 2
    assert "one of them" in answer.err
