"""Connects the Start page with its presenter."""

from __future__ import annotations

from valvebench.ui.start.presenter import StartPresenter
from valvebench.ui.start.view import StartPage


def connect(page: StartPage, presenter: StartPresenter) -> None:
    """Every signal of the page to what it asks for; settings and keys are left to the window."""
    page.open_asked.connect(presenter.open_asked)
    page.sample_asked.connect(presenter.sample_asked)
    page.job_asked.connect(presenter.job_asked)
    page.kind_chosen.connect(presenter.kind_chosen)
    page.variant_chosen.connect(presenter.variant_chosen)
