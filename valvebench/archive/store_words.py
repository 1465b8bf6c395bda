"""The one tokenizer of the archive: what is typed and what is kept become the same words.

A database's own tokenizer reads `QV-0418` as two words, a sign or a column name; ours is used for every database, so
that the same text finds the same sessions.  A change here needs a new `TOKENIZER` and a rebuild.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from itertools import groupby
from typing import Final

TOKENIZER: Final = 1
_FILTER: Final = "\ue000"
"""Begins a word that no one can type: it is neither letter nor digit, so that a typed one is dropped."""
_LONGEST_WORD: Final = 64
_MOST_WORDS: Final = 4000
_JOINTS: Final = frozenset("-_./:+#\\&")
"""Signs that hold a code together, such as a hyphen or a stroke."""
_ASCII_PIECES: Final = re.compile(rf"[0-9a-z{re.escape(''.join(sorted(_JOINTS)))}]+")
_ASCII_WORDS: Final = re.compile("[0-9a-z]+")


def folded(text: str) -> str:
    """Small letters without accents; a sharp s is two s."""
    flat = unicodedata.normalize("NFKD", text).casefold()
    return "".join(sign for sign in unicodedata.normalize("NFKD", flat) if not unicodedata.combining(sign))


def _is_word(sign: str) -> bool:
    return sign.isalnum() or unicodedata.category(sign)[0] == "M"


def plain_words(text: str) -> list[str]:
    """Runs of letters and digits, in the order of the text."""
    if text.isascii():
        return [word[:_LONGEST_WORD] for word in _ASCII_WORDS.findall(text.lower())]
    signs = (sign if _is_word(sign) else " " for sign in folded(text))
    return [word[:_LONGEST_WORD] for word in "".join(signs).split()]


def code_of(text: str) -> str:
    """A job number, serial or part number without its signs: what is looked up as a whole."""
    return "".join(plain_words(text))[:_LONGEST_WORD]


def words_of(texts: Iterable[str]) -> tuple[str, ...]:
    """Every word once; a code with signs also as one word."""
    found: dict[str, None] = {}
    for text in texts:
        for word in plain_words(text):
            found[word] = None
        for joined in _joined(text):
            found[joined] = None
        if len(found) > _MOST_WORDS:
            break
    return tuple(found)


def _joined(text: str) -> Iterable[str]:
    """Codes with signs between their parts, as one word each."""
    for piece in _pieces(text):
        if not piece.isalnum():
            word = "".join(plain_words(piece))
            if 0 < len(word) <= _LONGEST_WORD:
                yield word


def _pieces(text: str) -> list[str]:
    """Runs of words and the signs that hold a code together."""
    if text.isascii():
        return _ASCII_PIECES.findall(text.lower())
    runs = groupby(folded(text), key=lambda sign: _is_word(sign) or sign in _JOINTS)
    return ["".join(run) for is_code, run in runs if is_code]


def verdict_word(code: int) -> str:
    """The word that every session of a verdict has."""
    return f"{_FILTER}v{code}"


def variant_word(number: int) -> str:
    """The word that every session of a variant has."""
    return f"{_FILTER}r{number}"


def match_text(typed: str, filters: Iterable[str] = ()) -> str:
    """The full-text question for what was typed: all words, the last one as a beginning; empty where there is none.

    Each word is quoted and has neither sign nor quote in it: nothing typed is ever read as the language of the query.
    """
    words = plain_words(typed)
    quoted = [f'"{word}"' for word in dict.fromkeys(words)]
    if words and len(words[-1]) > 1 and _ends_in_word(typed):
        whole = f'"{words[-1]}"'
        quoted = [word for word in quoted if word != whole] + [f"{whole}*"]
    return " AND ".join([*(f'"{word}"' for word in filters), *quoted])


def _ends_in_word(typed: str) -> bool:
    """Whether the last word may still go on; one that is followed by a blank is finished."""
    return not typed[-1:].isspace()
