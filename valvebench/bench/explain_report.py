"""An explanation with everything that stands behind it, for whoever prints it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.explained import Explained
from valvebench.model.session import Session
from valvebench.model.variant import Variant

if TYPE_CHECKING:
    from valvebench.diagnose.access import Neighbours
    from valvebench.diagnose.explain_readings import Said


class ExplainedJob(NamedTuple):
    """The answers; each reading in numbers; what the differences of access points were made from, in their order."""

    explained: Explained
    said: tuple[Said, ...]
    neighbours: tuple[Neighbours, ...]
    warm_celsius: float


def explain_job(session: Session, variant: Variant | None, priors: Priors) -> ExplainedJob | None:
    """What explains a session's readings; None without a variant, whose circuit tells faults, or without a reading."""
    if variant is None:
        return None
    from valvebench.diagnose.access import neighbours
    from valvebench.diagnose.explain import Explainer
    from valvebench.diagnose.explain_readings import said_of

    said, left_out = said_of(session, priors)
    if not said and not left_out:
        return None
    explained = Explainer(variant, priors).explain(session)
    return ExplainedJob(explained, tuple(said), neighbours(variant, said), priors.next.warm_celsius.value)
