"""Connects the Ports page with its presenter."""

from __future__ import annotations

from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage


def connect(page: PortsPage, presenter: PortsPresenter) -> None:
    """Every signal of the page to what it asks for; `go_to` is left to the window."""
    page.answered.connect(presenter.answer)
    page.previous_asked.connect(presenter.previous)
    page.skip_asked.connect(presenter.skip)
    page.port_chosen.connect(presenter.port_chosen)
    page.gauge_typed.connect(presenter.gauge_typed)
    page.undo_asked.connect(presenter.undo)
    page.redo_asked.connect(presenter.redo)
    page.withdrawn.connect(presenter.withdraw)
    page.came_to_front.connect(presenter.refresh)
