"""The tokenizer: what is kept and what is typed become the same words.  Expected values by hand."""

from __future__ import annotations

import pytest

from valvebench.archive.store_words import code_of, match_text, plain_words, words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("QV-0418", ("qv", "0418", "qv0418"), id="a code also as one word"),
        pytest.param("Straße", ("strasse",), id="sharp s is two s"),
        pytest.param("STRASSE", ("strasse",), id="and so are two large ones"),
        pytest.param("Café Åland", ("cafe", "aland"), id="no accents"),
        pytest.param("ﬁlter \uff11\uff12", ("filter", "12"), id="ligature and full-width digits"),
        pytest.param("a_b.c/d", ("a", "b", "c", "d", "abcd"), id="every joint of a code"),
        pytest.param("one, two", ("one", "two"), id="a comma joins nothing"),
        pytest.param("Ждать", ("ждать",), id="small letters beyond Latin"),
        pytest.param("कम", ("कम",), id="letters without case"),
        pytest.param("\x00a\ud800b\ue000v3", ("a", "b", "v3"), id="what is no letter parts words, a filter's mark too"),
        pytest.param("\u202e5-6\u202c", ("5", "6", "56"), id="marks of direction are no letters"),
        pytest.param("!!! -- *", (), id="no word"),
    ],
)
def test_words(text, words):
    assert words_of([text]) == words


@pytest.mark.parametrize("text", ["QV-0418", "Straße 12", "Ünder über", "x" * 200, "é"])
def test_what_was_kept_is_found_by_the_same_text(text):
    assert set(plain_words(text)) <= set(words_of([text]))


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("qv-0418", '"qv" AND "0418"*'),
        ("fluid fl", '"fluid" AND "fl"*'),
        ("fluid ", '"fluid"'),  # a blank behind it: the word is finished
        ("q", '"q"'),  # one sign alone begins too much
        ('AND "OR" NOT', '"and" AND "or" AND "not"*'),
        ("a b ab ab", '"a" AND "b" AND "ab"*'),
        ("*", ""),
    ],
)
def test_the_question_for_the_full_text(typed, asked):
    assert match_text(typed) == asked


def test_a_code_is_what_is_left_without_signs():
    assert [code_of(text) for text in ("QV-0418/B", " qv 0418b ", "é-1")] == ["qv0418b", "qv0418b", "e1"]


def test_words_have_an_end():
    assert len(words_of(["w" * 1000])[0]) == 64
    assert len(words_of(f"word{n}" for n in range(10_000))) <= 4001
