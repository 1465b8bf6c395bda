"""Connects the Ports page with its presenter."""

from __future__ import annotations

from valvebench.bench.desk import Desk
from valvebench.model.words import Place
from valvebench.ui.board_photos import BoardPhotos
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage
from valvebench.ui.runner import Runner


def connect(page: PortsPage, presenter: PortsPresenter) -> None:
    """Every signal of the page to what it asks for; `go_to` is left to the window."""
    page.answered.connect(presenter.answer)
    page.previous_asked.connect(presenter.previous)
    page.skip_asked.connect(presenter.skip)
    page.port_chosen.connect(presenter.port_chosen)
    page.clicks_heard.connect(presenter.clicks_heard)
    page.group_stepped.connect(presenter.group_stepped)
    page.group_chosen.connect(presenter.group_chosen)
    page.solenoid_chosen.connect(presenter.solenoid_chosen)
    page.cover_turned.connect(presenter.cover_turned)
    page.out_at_asked.connect(presenter.out_at_asked)
    page.pick_left.connect(presenter.pick_left)
    page.gauge_typed.connect(presenter.gauge_typed)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.withdrawn.connect(presenter.taking_back.withdraw)
    page.came_to_front.connect(presenter.refresh)


def show_photos(page: PortsPage, desk: Desk, runner: Runner) -> None:
    """The photos that the session keeps with its variant, behind the ports; read beside the window."""
    pictures = desk.variant.pictures if desk.variant is not None else None
    if pictures is None:
        return
    wanted = {place: picture for place in Place if (picture := pictures.of(place)) is not None}
    BoardPhotos(runner, raw_of=desk.photo, show=page.show_photos).want(wanted)
