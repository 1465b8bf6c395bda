"""The words of a complaint -> the closed words that are weighed; what is not understood is said, never guessed."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final, NamedTuple, TypeVar

from valvebench.diagnose.suspected import Told
from valvebench.diagnose.suspects_shift import shift_or_none
from valvebench.model.variant import Variant
from valvebench.model.words import Feel, When

_Word = TypeVar("_Word", When, Feel)
# Words of the trade: common practice, no source.
_ALSO_WHEN: Final = MappingProxyType(
    {
        "hot, after a long drive": When.HOT,
        "warm": When.HOT,
        "first shift of the day": When.COLD,
        "at times": When.SOMETIMES,
    }
)
_ALSO_FEEL: Final = MappingProxyType(
    {
        "bind-up": Feel.BIND,
        "no shift": Feel.NONE,
        "stuck in one gear": Feel.STUCK,
        "hard": Feel.HARSH,
        "slips": Feel.SLIP,
    }
)


class Understood(NamedTuple):
    """A complaint as far as it is understood; without a shift `told` is None. `left` says what was not."""

    told: Told | None
    left: tuple[str, ...]


def understood(shift: str | None, when: str | None, feel: str | None, variant: Variant) -> Understood:
    """The complaint of a job, in free words."""
    left = []
    found_when, found_feel = _word(when, When, _ALSO_WHEN), _word(feel, Feel, _ALSO_FEEL)
    for name, text, found, words in (("when", when, found_when, When), ("feel", feel, found_feel, Feel)):
        if text and found is None:
            known = ", ".join(str(word.value) for word in words)
            left.append(f"{name}: {text!r} is none of {known}, so nothing is weighed by it.")
    if not shift:
        return Understood(None, ("Say which shift or event: 5-6, N-D, lock-up.", *left))
    read, why = shift_or_none(shift, variant)
    if read is None:
        return Understood(None, (why, *left))
    return Understood(Told(read, found_when, found_feel), tuple(left))


def _word(text: str | None, words: type[_Word], also: MappingProxyType[str, _Word]) -> _Word | None:
    plain = " ".join((text or "").lower().split())
    return next((word for word in words if word.value == plain), also.get(plain))
