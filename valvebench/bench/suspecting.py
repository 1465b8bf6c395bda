"""What to test first for the complaint of a session, from everything it holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from valvebench.bench.explaining import Explaining
from valvebench.diagnose.explained import Explained
from valvebench.diagnose.suspected import Suspected
from valvebench.diagnose.suspects import suspects
from valvebench.diagnose.suspects_found import Evidence
from valvebench.diagnose.suspects_told import Understood, understood
from valvebench.diagnose.suspects_weights import SuspectWeights
from valvebench.judge.row import Row
from valvebench.model.entry import FluidFound, Reading
from valvebench.model.session import Session
from valvebench.model.variant import Variant


class Suspicion(NamedTuple):
    """The complaint as understood, and the suspects; none where it names no shift of the variant."""

    understood: Understood
    suspected: Suspected | None


def evidence_of(session: Session, rows: Sequence[Row], explained: Explained | None = None) -> Evidence:
    """What was taken so far, as the suspects look at it."""
    fluid = tuple((item.n, item.body) for item in session.items if isinstance(item.body, FluidFound))
    return Evidence(tuple(rows), fluid, explained)


def suspicion_of(
    session: Session,
    variant: Variant,
    weights: SuspectWeights,
    *,
    rows: Sequence[Row],
    explained: Explained | None = None,
) -> Suspicion:
    """What to test first for the session's complaint as it stands now.

    Parameters
    ----------
    session : what counts
    variant : the session's own
    weights : read at the edge
    rows : judged rows of the session
    explained : what explains the readings, where it was worked out
    """
    job = session.job_now
    found = understood(job.shift, job.when, job.feel, variant)
    if found.told is None:
        return Suspicion(found, None)
    return Suspicion(found, suspects(variant, found.told, weights, evidence_of(session, rows, explained)))


class Suspecting:
    """Works out the suspects of one variant's sessions; explanations, which take longest, only when asked for."""

    def __init__(self, variant: Variant, *, weights: Callable[[], SuspectWeights], explaining: Explaining) -> None:
        self._variant, self._weights, self._explaining = variant, weights, explaining
        self._read: SuspectWeights | None = None

    def suspect(
        self,
        session: Session,
        rows: Sequence[Row],
        *,
        is_explaining: bool,
        is_wanted: Callable[[], bool],
    ) -> Suspicion | None:
        """The suspects; None where nobody wants them any more (raises BadInput, WorldFailed).

        Parameters
        ----------
        session, rows : what counts now, judged
        is_explaining : whether to wait for what explains the readings
        is_wanted : asked before each part of the work
        """
        if not is_wanted():
            return None
        weights = self._read = self._read or self._weights()
        explained = None
        if is_explaining and any(isinstance(item.body, Reading) for item in session.items):
            # asked as Findings asks, so that one answer serves both
            answer = self._explaining.explain(session, is_asking=not session.is_closed, is_wanted=is_wanted)
            if answer is None:
                return None
            explained = answer.explained
        return suspicion_of(session, self._variant, weights, rows=rows, explained=explained)
