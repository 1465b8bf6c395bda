"""Pressures at taps -> judged rows: each window is an item, held at its state and fluid temperature."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from valvebench.judge.row import Row
from valvebench.judge.tap import judge_pressure, warmth_words
from valvebench.judge.targets import Wanted
from valvebench.model.air_tests import PressureTaken
from valvebench.model.errors import nearest
from valvebench.model.session import Item
from valvebench.model.variant import Tap, TapWindow, Variant
from valvebench.model.words import Rule, Verdict

TAP_KEY: Final = "tap "
"""Begins the key of every pressure at a tap."""
TAP_KIND: Final = "pressure"
_GAUGE_ADVICE: Final = "Read it with a better gauge, and name its accuracy."


def tap_item(tap: str, state: str, window: TapWindow | None) -> str:
    """The key of what is asked at a tap: each window by itself, else its state."""
    warmth = warmth_words(window) if window is not None else ""
    named = window.state if window is not None else state
    return f"{TAP_KEY}{tap} ({', '.join(part for part in (named.strip(), warmth) if part)})"


def tap_row(variant: Variant | None, item: Item, rule: Rule | None) -> Row | None:
    """The row of a pressure at a tap; None for every other entry."""
    body = item.body
    if not isinstance(body, PressureTaken):
        return None
    tap = variant.tap_named(body.tap) if variant is not None else None
    judgement = judge_pressure(tap, body, rule=rule or Rule.PROVED)
    key = tap_item(body.tap, body.state, judgement.window)
    source = judgement.window.source if judgement.window is not None else None
    return Row(
        entries=(item.n,),
        key=key,
        what=key,
        kind=TAP_KIND,
        verdict=judgement.verdict,
        celsius=body.fluid_celsius,
        pressure=judgement,
        limit_source=source.text if source is not None else None,
        reasons=(*judgement.reasons, *_more_words(variant, tap, body)),
        next_steps=(_GAUGE_ADVICE,) if judgement.verdict is Verdict.CANT_TELL else (),
        is_corrected=item.is_corrected,
    )


def _more_words(variant: Variant | None, tap: Tap | None, body: PressureTaken) -> list[str]:
    if variant is None:
        return []
    if tap is None:
        hint = nearest(body.tap, [one.name for one in variant.taps])
        return [hint] if hint else []
    return [f"It shows {tap.shows}."] if tap.shows else []


def wanted_taps(variant: Variant | None, keys: Iterable[str]) -> tuple[Wanted, ...]:
    """Every window once a pressure was read; none before, as a gauge is not always at hand."""
    if variant is None or not any(key.startswith(TAP_KEY) for key in keys):
        return ()
    items = (tap_item(tap.name, window.state, window) for tap in variant.taps for window in tap.windows)
    return tuple(Wanted(key, key, TAP_KIND) for key in items)
