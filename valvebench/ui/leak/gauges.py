"""Which gauge goes with which way of testing: a logger's is not that of the two gauges.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from valvebench.model.air_tests import LeakTest
from valvebench.model.leak import LeakMethod

_OF_A_GAUGE: Final = ("gauge", "gauge_id", "zero_kpa")


class Gauges:
    """The gauge of the newest test of each method."""

    def __init__(self) -> None:
        self._of: dict[LeakMethod, dict[str, str]] = {}

    def remember(self, method: LeakMethod, texts: Mapping[str, str]) -> None:
        """It was used for a test that is kept."""
        self._of[method] = _gauge_in(texts)

    def given_to(self, method: LeakMethod, texts: Mapping[str, str]) -> dict[str, str]:
        """The fields with the gauge of this method, where one is known and nobody typed another since."""
        if method not in self._of or _gauge_in(texts) not in self._of.values():
            return dict(texts)
        return {**{name: text for name, text in texts.items() if name not in _OF_A_GAUGE}, **self._of[method]}


def gauge_texts(test: LeakTest) -> dict[str, str]:
    """The gauge of a kept test, as its fields show it."""
    zero = {} if test.zero_kpa is None else {"zero_kpa": f"{test.zero_kpa:.6g}"}
    return {name: text for name, text in (("gauge", test.gauge), ("gauge_id", test.gauge_id)) if text} | zero


def _gauge_in(texts: Mapping[str, str]) -> dict[str, str]:
    return {name: texts[name] for name in _OF_A_GAUGE if texts.get(name)}
