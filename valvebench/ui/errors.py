"""What went wrong beside the window: in words, or raised where it is a fault of ours.  No Qt."""

from __future__ import annotations

from valvebench.model.errors import BadInput


def error_words(error: Exception) -> str:
    """The first thing that is wrong, ending as a sentence."""
    words = error.problems[0].text() if isinstance(error, BadInput) else str(error)
    return words if words.endswith(".") else f"{words}."


def raised(error: Exception) -> None:
    """For work that touches nothing of the world: whatever fails is a fault of ours."""
    raise error
