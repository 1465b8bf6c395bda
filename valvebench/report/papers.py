"""The bytes of a paper by its kind and ending; the caller saves them, nothing here touches the disk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from valvebench.bench.claiming import claim_facts
from valvebench.bench.handing import tag_facts
from valvebench.bench.ordering import Which, order_sheet
from valvebench.bench.papers import WITH_QT, Paper, Step, check_target
from valvebench.bench.view import SessionView
from valvebench.model.errors import WorldFailed
from valvebench.model.session import Session
from valvebench.model.words import Rule
from valvebench.report.claim import claim_pdf, claim_xlsx
from valvebench.report.form import Printing
from valvebench.report.identity import report_id
from valvebench.report.order_sheet import order_pdf, order_xlsx
from valvebench.report.session_pdf import session_pdf
from valvebench.report.summary import Front
from valvebench.report.tag import tag_pdf, tag_png


def paper_bytes(
    paper: Paper,
    ending: str,
    view: SessionView,
    printing: Printing,
    *,
    rule: Rule | None = None,
    which: Which | None = None,
    new: Session | None = None,
) -> bytes:
    """The same bytes for the same arguments (raises BadInput where the session does not allow this paper).

    Parameters
    ----------
    paper, ending : what is printed and as what, one of `ENDINGS`
    view : the session with its variant, from a folder or from the archive
    printing : photos, time and program
    rule : overrules the rule of the readings, for report and claim
    which, new : what an identification said, and the session of the new part, for an order sheet
    """
    if paper is Paper.TAG:
        tag = tag_facts(view.session, view.variant)
        return tag_png(tag) if ending == ".png" else tag_pdf(tag, printed_at=printing.printed_at)
    if paper is Paper.ORDER:
        order = order_sheet(view.session, view.variant, which, new=new)
        return order_xlsx(order, printing) if ending == ".xlsx" else order_pdf(order, printing)
    if paper is Paper.CLAIM:
        claim = claim_facts(view.session, view.variant, view.judged(rule))
        return claim_xlsx(claim, printing) if ending == ".xlsx" else claim_pdf(claim, printing)
    return session_pdf(_front(view, rule, printing))


def printed(
    paper: Paper,
    target: Path,
    view: SessionView,
    *printing: Any,
    step: Step,
    no_qt: Callable[[], str | None],
    **more: Any,
) -> bytes | None:
    """The bytes for a file, None where `step` said not to go on (raises BadInput, WorldFailed).

    `printing` is photos, time and program as in `Printing`; `no_qt` says why nothing can be drawn here, None where it
    can; `more` goes to `paper_bytes`.
    """
    ending = check_target(paper, target)
    if ending in WITH_QT and (problem := no_qt()) is not None:
        raise WorldFailed(problem)
    if not step("filling the page"):
        return None
    raw = paper_bytes(paper, ending, view, Printing(*printing), **more)
    return raw if step("putting it on disk") else None


def _front(view: SessionView, rule: Rule | None, printing: Printing) -> Front:
    return Front(
        session=view.session,
        variant=view.variant,
        judged=view.judged(rule),
        report_id=report_id(view.session, printed_at=printing.printed_at, program=printing.program),
        printed_at=printing.printed_at,
        program=printing.program,
    )
