"""Text as paper can hold it."""

from __future__ import annotations

import re
from typing import Final

_NO_LETTER: Final = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")
_TURNS_WRITING: Final = re.compile("[\u202a-\u202e\u2066-\u2069]")
_SUSPECT: Final = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff\u202a-\u202e\u2066-\u2069]")
_CONTROL_PICTURES: Final = 0x2400
_FIRST_PRINTABLE: Final = 0x20


def printable(text: str) -> str:
    """What cannot be written, or would turn the writing round, is shown as a mark."""
    if _SUSPECT.search(text):
        text = _NO_LETTER.sub(_picture, text.replace("\r\n", "\n"))
        text = _TURNS_WRITING.sub(lambda found: f"[U+{ord(found[0]):04X}]", text)
    return text


def _picture(found: re.Match[str]) -> str:
    code = ord(found[0])
    return chr(_CONTROL_PICTURES + code) if code < _FIRST_PRINTABLE else "\ufffd"
