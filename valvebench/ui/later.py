"""Pages built at their first visit: nothing of them stands in the way of the first frame."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import Desk
from valvebench.bench.explaining import Explaining
from valvebench.bench.flex_log import FlexFiles
from valvebench.bench.heat_log import HeatFiles
from valvebench.ui.findings import wiring as findings_wiring
from valvebench.ui.findings.comparing import ComparingPresenter, World
from valvebench.ui.findings.explaining import ExplainPresenter, Lead, Pins
from valvebench.ui.findings.matched import MatchedPresenter
from valvebench.ui.findings.presenter import FindingsPresenter
from valvebench.ui.findings.view import FindingsPage
from valvebench.ui.flex import wiring as flex_wiring
from valvebench.ui.heat import wiring as heat_wiring
from valvebench.ui.identify.wiring import Around, Identify, IdentifyServices
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.leak.wiring import Leak
from valvebench.ui.ports import wiring as ports_wiring
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage
from valvebench.ui.runner import Runner


class Made(NamedTuple):
    """A page with its presenter, connected and started."""

    page: Any
    presenter: Any


def identify(keeper: Keeper, services: IdentifyServices, window: Any) -> Identify:
    """The Identify page with its cards."""
    around = Around(window.thinker, window.runner, window.exporter, window.settings, window.folder, window.take_session)
    return Identify(keeper, services, around)


def heat(desk: Desk, keeper: Keeper, *, reader: Runs, files: HeatFiles) -> tuple[Made, heat_wiring.Heat]:
    """The Heat page, and who takes in the files of loggers."""
    made = heat_wiring.make(desk, keeper, reader=reader, files=files)
    return Made(made.page, made.presenter), made


def flex(desk: Desk, keeper: Keeper, *, reader: Runs, files: FlexFiles) -> flex_wiring.Flex:
    """The Flex page, reached from the pair on Pins."""
    return flex_wiring.make(desk, keeper, reader=reader, files=files)


def ports(desk: Desk, keeper: Keeper, runner: Runner) -> Made:
    """The Ports page."""
    page = PortsPage()
    presenter = PortsPresenter(page, desk, keeper)
    ports_wiring.connect(page, presenter)
    presenter.start()
    ports_wiring.show_photos(page, desk, runner)
    return Made(page, presenter)


def leak(made: Made, desk: Desk, keeper: Keeper, *, frame: Any, files: AirFiles) -> Leak:
    """The page that measures a leak, reached from the port that Ports asks about."""
    return Leak(made, desk, keeper, frame=frame, files=files)


class Explains(NamedTuple):
    """Who explains, on which worker, and where the card of explanations leads."""

    runner: Runs
    explaining: Explaining | None
    pins: Pins
    lead: Lead
    find_wiring: Callable[[], None]


class Findings(NamedTuple):
    """The Findings page with those who decide for its cards."""

    made: Made
    comparing: ComparingPresenter
    explaining: ExplainPresenter


def findings(desk: Desk, keeper: Keeper, *, runner: Runs, world: World, explains: Explains) -> Findings:
    """The Findings page with its cards."""
    page = FindingsPage()
    explaining = ExplainPresenter(page.explain_card, desk, keeper, **explains._asdict())
    presenter = FindingsPresenter(page, desk, keeper, explained=explaining.text)
    comparing = ComparingPresenter(page.compare_card, desk, keeper, runner=runner, world=world)
    matched = MatchedPresenter(page.matched_card, desk, keeper, runner=runner)
    findings_wiring.connect(page, presenter)
    findings_wiring.connect_comparing(page, comparing)
    findings_wiring.connect_matched(page, matched)
    findings_wiring.connect_explaining(page, explaining)
    presenter.start()
    return Findings(Made(page, presenter), comparing, explaining)
