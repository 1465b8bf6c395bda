"""Connects the Findings page with its presenter."""

from __future__ import annotations

from valvebench.ui.findings.comparing import ComparingPresenter
from valvebench.ui.findings.explaining import ExplainPresenter
from valvebench.ui.findings.matched import MatchedPresenter
from valvebench.ui.findings.presenter import FindingsPresenter
from valvebench.ui.findings.view import FindingsPage


def connect(page: FindingsPage, presenter: FindingsPresenter) -> None:
    """Every signal of the page to what it asks for; `go_to` is left to the window."""
    page.copy_asked.connect(presenter.copy)
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)


def connect_comparing(page: FindingsPage, presenter: ComparingPresenter) -> None:
    """The card of two bodies."""
    card = page.compare_card
    card.chosen.connect(presenter.chosen)
    card.again_asked.connect(presenter.again)
    card.copy_asked.connect(presenter.copy)
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)


def connect_matched(page: FindingsPage, presenter: MatchedPresenter) -> None:
    """The card of matched sets."""
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)


def connect_explaining(page: FindingsPage, presenter: ExplainPresenter) -> None:
    """The card of explanations."""
    page.explain_card.acted.connect(presenter.act)
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)
