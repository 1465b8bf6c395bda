"""Messages: where, found, expected, what to do next."""

from __future__ import annotations

import pytest

from valvebench.model.errors import BadInput, BadReading, BenchError, Problem, WorldFailed, bad, nearest


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (Problem(where="ohm", found="x", expected="a number"), "ohm: found x, expected a number."),
        (
            Problem(where="ohm", found="x", expected="a number", what_to_do="Type it again.", line=3),
            "line 3, ohm: found x, expected a number. Type it again.",
        ),
    ],
)
def test_a_problem_as_a_sentence(problem, text):
    assert problem.text() == text
    assert str(BadInput([problem], source="a.json")) == f"a.json: {text}"
    assert str(BadInput([problem])) == text


def test_a_long_find_is_cut():
    assert "..." in str(bad("ohm", "9" * 200, "a number"))
    assert str(bad("ohm", 5, "a word", source="x")) == "x: ohm: found 5, expected a word."


@pytest.mark.parametrize(("word", "advice"), [("Hern", "Did you mean Heron?"), ("xyz", ""), ("", "")])
def test_nearest(word, advice):
    assert nearest(word, ["Heron", "Gull"]) == advice


@pytest.mark.parametrize(
    ("kind", "builtin"),
    [(BadInput, ValueError), (BadReading, ValueError), (WorldFailed, OSError)],
    ids=lambda k: k.__name__,
)
def test_an_error_is_also_the_builtin_it_resembles(kind, builtin):
    assert issubclass(kind, builtin)
    assert issubclass(kind, BenchError)
