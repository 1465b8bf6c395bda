"""Pages built at their first visit: nothing of them stands in the way of the first frame."""

from __future__ import annotations

from typing import Any, NamedTuple

from valvebench.bench.desk import Desk
from valvebench.ui.findings import wiring as findings_wiring
from valvebench.ui.findings.presenter import FindingsPresenter
from valvebench.ui.findings.view import FindingsPage
from valvebench.ui.keeper import Keeper
from valvebench.ui.ports import wiring as ports_wiring
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage


class Made(NamedTuple):
    """A page with its presenter, connected and started."""

    page: Any
    presenter: Any


def ports(desk: Desk, keeper: Keeper) -> Made:
    """The Ports page."""
    page = PortsPage()
    presenter = PortsPresenter(page, desk, keeper)
    ports_wiring.connect(page, presenter)
    presenter.start()
    return Made(page, presenter)


def findings(desk: Desk, keeper: Keeper) -> Made:
    """The Findings page."""
    page = FindingsPage()
    presenter = FindingsPresenter(page, desk, keeper)
    findings_wiring.connect(page, presenter)
    presenter.start()
    return Made(page, presenter)
