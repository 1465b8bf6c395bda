"""What explains the readings of an open session; heavy, so ask beside the window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.explained import Explained
from valvebench.model.session import Session
from valvebench.model.variant import Variant

if TYPE_CHECKING:
    from valvebench.diagnose.explain import Explainer


class Answer(NamedTuple):
    """What explains the readings, and how warm [degC] a part is made where a warm reading is asked for."""

    explained: Explained
    warm_celsius: float


class _Known(NamedTuple):
    explainer: Explainer
    priors: Priors


class Explaining:
    """Explains one variant's sessions, one at a time; what does not hang on the readings is made once and kept.

    The last answer is kept too: two pages ask the same of one session.

    Parameters
    ----------
    variant : what is wired to what
    priors : reads how likely each fault is
    others : reads the variants the part could be instead
    """

    def __init__(
        self, variant: Variant, *, priors: Callable[[], Priors], others: Callable[[], Sequence[Variant]]
    ) -> None:
        self._variant, self._priors, self._others = variant, priors, others
        self._known: _Known | None = None
        self._last: tuple[Session, bool, Answer] | None = None

    def explain(self, session: Session, *, is_asking: bool, is_wanted: Callable[[], bool]) -> Answer | None:
        """The answer; None where nobody wants it any more by the time its turn comes.

        Parameters
        ----------
        session : what counts now
        is_asking : whether the next reading is wanted
        is_wanted : asked before each part of the work

        Raises
        ------
        BadInput, WorldFailed : where the priors cannot be read.
        """
        if not is_wanted():
            return None
        last = self._last
        if last is not None and last[0] is session and last[1] == is_asking:
            return last[2]
        known = self._known
        if known is None:
            known = self._known = self._made()
        if not is_wanted():
            return None
        answer = Answer(known.explainer.explain(session, is_asking=is_asking), known.priors.next.warm_celsius.value)
        self._last = (session, is_asking, answer)
        return answer

    def _made(self) -> _Known:
        from valvebench.diagnose.explain import Explainer

        priors = self._priors()
        return _Known(Explainer(self._variant, priors, self._others()), priors)
