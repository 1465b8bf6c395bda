"""A resistance typed into a small field of a form -> ohm.  No Qt."""

from __future__ import annotations

from valvebench.model.errors import bad
from valvebench.model.numbers import typed_ohm


def typed_number(text: str) -> float:
    """A resistance [ohm]; what could mean two things or none is refused (raises BadInput)."""
    found = typed_ohm(text)
    if found.ohm is not None:
        return found.ohm
    if found.choices:
        meant = " or ".join(f"{ohm:g}" for ohm in found.choices)
        raise bad("resistance", repr(text), meant, "Type it without a sign between the thousands.")
    raise bad("resistance", repr(text), "a number such as 5.2, 12k or 1.2 M")
