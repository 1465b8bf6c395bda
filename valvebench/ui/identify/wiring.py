"""Makes the Identify page of one open session and connects it with those who decide for it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol

from valvebench.ui.identify.photos import ReadsFiles
from valvebench.ui.identify.presenter import Beside, IdentifyPresenter
from valvebench.ui.identify.sheets import OrderPresenter
from valvebench.ui.identify.starting import MakesJobs, Opens, StartingPresenter
from valvebench.ui.identify.view import IdentifyPage
from valvebench.ui.job.exports import Exporting
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.photo import photo_of
from valvebench.ui.settings import SettingsHolder

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.identifying import Identifying

_LONGEST_PX: Final = 480
"""Enough for a small photo at twice the size on a dense screen."""


class IdentifyServices(ReadsFiles, MakesJobs, Exporting, Protocol):
    """What the page asks of the world."""

    def identifying(self, own_folder: str) -> Identifying: ...


class Around(NamedTuple):
    """The workers, the settings, where the session lies, and who takes a job that was begun."""

    thinker: Runs
    runner: Runs
    exporter: Runs
    settings: SettingsHolder
    folder: Path
    opened: Callable[[Path, Desk], None]


class Identify:
    """Page and presenters of one session, connected."""

    def __init__(self, keeper: Keeper, services: IdentifyServices, around: Around) -> None:
        self.page = IdentifyPage()
        self.presenter = IdentifyPresenter(
            self.page,
            keeper,
            Beside(around.thinker, around.runner),
            services,
            identifying=lambda: services.identifying(around.settings.now.variants_folder),
            decoded=partial(photo_of, longest_px=_LONGEST_PX),
        )
        self.starting = StartingPresenter(
            self.page.start,
            keeper,
            services,
            around.settings,
            Opens(around.runner, around.opened),
            confirmed=self.presenter.confirmed,
        )
        self.ordering = OrderPresenter(
            self.page.order, around.folder, services, around.exporter, which=self.presenter.which_now
        )
        self.presenter.listen(self.starting.refresh)
        self.starting.refresh()
        _connect(self)


def _connect(made: Identify) -> None:
    page, presenter = made.page, made.presenter
    page.answered.connect(presenter.answered)
    page.more_asked.connect(presenter.more_asked)
    page.seen_turned.connect(presenter.seen_turned)
    page.part_turned.connect(presenter.part_turned)
    page.previous_asked.connect(presenter.previous)
    page.skip_asked.connect(presenter.skip)
    page.picture_typed.connect(presenter.photos.typed)
    page.photo_named.connect(presenter.photos.named)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.withdrawn.connect(presenter.taking_back.withdraw)
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)
    page.start_asked.connect(made.starting.start)
    page.order_asked.connect(made.ordering.order)
    page.order.cancelled.connect(made.ordering.exports.cancel)
    page.order.ticked.connect(made.ordering.exports.tick)
    page.order.folder_asked.connect(made.ordering.exports.show_in_folder)
