"""The closed words as keys of tables that are asked millions of times."""

from __future__ import annotations

import copy
import pickle
from enum import Enum

import pytest

from valvebench.model import words

KINDS = [kind for kind in vars(words).values() if isinstance(kind, type) and issubclass(kind, Enum) and len(kind)]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_word_is_found_again_wherever_it_came_from(kind):
    table = {word: word.value for word in kind}
    for word in kind:
        for other in (kind(word.value), copy.deepcopy(word), pickle.loads(pickle.dumps(word))):
            assert table[other] == word.value


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_word_is_hashed_without_a_call_of_python(kind):
    assert kind.__hash__ is object.__hash__
