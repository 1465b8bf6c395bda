"""Where a window is put at the start: where it stood, if that can still be seen and reached.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final, Literal, NamedTuple

import msgspec
from msgspec import Meta

USUAL_SIZE: Final = (1280, 800)
"""Wide and high, where nothing is known of the window."""
_TITLE_PX: Final = 40
"""Room left for the bar above a window of the usual size."""
_GRASP_PX: Final = 120
"""So much of the bar must be on a screen for a hand to move the window."""

Whole = Annotated[int, Meta(ge=-100_000, le=100_000)]
Length = Annotated[int, Meta(ge=1, le=100_000)]


class Rectangle(NamedTuple):
    """Left, top, width and height, without the frame; all in pixels as the screen counts them."""

    x: int
    y: int
    width: int
    height: int


class SavedWindow(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A window as it was left: its ordinary place, the height of the bar above it, and how it was shown."""

    x: Whole
    y: Whole
    width: Length
    height: Length
    above: Annotated[int, Meta(ge=0, le=1000)] = 0
    shown: Literal["ordinary", "maximised", "full_screen"] = "ordinary"


def read_saved(kept: Any) -> tuple[SavedWindow | None, str]:
    """What was kept of the window, and what was wrong with it; nothing is known where it is broken."""
    if kept is None:
        return None, ""
    try:
        return msgspec.convert(kept, SavedWindow), ""
    except msgspec.ValidationError as error:
        return None, f"window: {error}. The window stands at its usual place."


def placed(saved: SavedWindow | None, screens: Sequence[Rectangle]) -> Rectangle:
    """Where the window goes; the first screen is the main one, each without bars of the system."""
    if saved is not None and any(_fits(saved, screen) for screen in screens):
        return Rectangle(saved.x, saved.y, saved.width, saved.height)
    return _usual(screens[0]) if screens else Rectangle(0, 0, *USUAL_SIZE)


def _fits(saved: SavedWindow, screen: Rectangle) -> bool:
    in_sight = min(saved.x + saved.width, screen.x + screen.width) - max(saved.x, screen.x)
    highest, lowest = screen.y, screen.y + screen.height - _TITLE_PX
    return (
        saved.width <= screen.width
        and saved.height + saved.above <= screen.height
        and in_sight >= min(_GRASP_PX, saved.width)
        and highest <= saved.y - saved.above <= lowest
    )


def _usual(screen: Rectangle) -> Rectangle:
    """In the middle of a screen, and never larger than it."""
    width = min(USUAL_SIZE[0], screen.width)
    height = min(USUAL_SIZE[1], screen.height - _TITLE_PX)
    x = screen.x + (screen.width - width) // 2
    y = screen.y + _TITLE_PX + (screen.height - _TITLE_PX - height) // 2
    return Rectangle(x, y, width, height)
