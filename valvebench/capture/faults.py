"""All that is wrong with a file, gathered into one message that stays readable."""

from __future__ import annotations

from typing import Final, NoReturn

from valvebench.model.errors import BadInput, Problem

_MOST_SHOWN: Final = 20


class Faults:
    """Problems in the order they are met; many of them are counted, not all told."""

    def __init__(self, source: str) -> None:
        self.source = source
        self._shown: list[Problem] = []
        self._count = 0

    def add(self, where: str, found: str, expected: str, advice: str = "", *, line: int | None = None) -> None:
        """One more; the first twenty are told in full."""
        self._count += 1
        if len(self._shown) < _MOST_SHOWN:
            self._shown.append(Problem(where=where, found=found, expected=expected, what_to_do=advice, line=line))

    def stop(self, where: str, found: str, expected: str, advice: str = "", *, line: int | None = None) -> NoReturn:
        """One more, and nothing can be read beyond it (raises BadInput)."""
        raise self.stopped(where, found, expected, advice, line=line)

    def stopped(self, where: str, found: str, expected: str, advice: str = "", *, line: int | None = None) -> BadInput:
        """One more, as the error to raise."""
        self.add(where, found, expected, advice, line=line)
        return BadInput(self._told(), source=self.source)

    def raise_if_any(self) -> None:
        """Refuse the file where anything is wrong with it (raises BadInput)."""
        if self._shown:
            raise BadInput(self._told(), source=self.source)

    def _told(self) -> list[Problem]:
        self._shown.sort(key=lambda problem: problem.line or 0)
        more = self._count - len(self._shown)
        if not more:
            return self._shown
        rest = Problem(where="the rest of the file", found=f"{more} more of such faults", expected="none")
        return [*self._shown, rest]
