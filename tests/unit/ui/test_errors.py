"""What is said when something was refused or failed; texts are invented."""

from __future__ import annotations

import pytest

from valvebench.model.errors import BadInput, BenchError, bad
from valvebench.ui.errors import error_words, raised


def test_only_the_first_of_many_things_wrong_is_told():
    first, second = (bad(where, "nothing", "a number").problems[0] for where in ("pressure", "tap"))
    words = error_words(BadInput([first, second]))
    assert words.startswith(first.text())
    assert second.text() not in words


@pytest.mark.parametrize("words", ["The disk is full", "The disk is full."])
def test_it_ends_as_a_sentence(words):
    assert error_words(BenchError(words)) == "The disk is full."


def test_a_fault_of_ours_goes_on():
    with pytest.raises(KeyError, match="ours"):
        raised(KeyError("ours"))
