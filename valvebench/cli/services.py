"""What the commands need from the rest of the program; `compose` fulfils it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from valvebench.bench.air_log import AirFiles, DecayLog, SteadyLog, SweepLog, VacuumLog
from valvebench.bench.column_log import ColumnLog
from valvebench.bench.desk import Desk
from valvebench.bench.evidence import Bundled, Verified
from valvebench.bench.flex_log import FlexFiles
from valvebench.bench.heat_log import HeatFiles, HeatLog
from valvebench.bench.library import Library
from valvebench.bench.ordering import Which
from valvebench.bench.papers import Paper
from valvebench.bench.ports import Archives
from valvebench.bench.view import DemoMade, SessionView
from valvebench.model.words import Rule

if TYPE_CHECKING:
    from valvebench.bench.variants import VariantFiles


class Services(Protocol):
    """Everything that touches the world."""

    def read_file(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        ...

    def write_file(self, path: Path, raw: bytes) -> None:
        """Write a file the person named, whole or not at all (raises WorldFailed)."""
        ...

    def library(self, folder: str) -> Library:
        """The variants of that folder, else of the usual one, and the examples."""
        ...

    def heat_files(self) -> HeatFiles:
        """Reads the files of loggers."""
        ...

    def flex_files(self) -> FlexFiles:
        """Reads the files of loggers for a flex test."""
        ...

    def air_files(self) -> AirFiles:
        """Reads the files of air tests."""
        ...

    def read_heat_log(self, path: Path, *, is_rounds: bool) -> HeatLog:
        """The heat runs in a logger's file (raises BadInput, WorldFailed)."""
        ...

    def read_steady_log(self, path: Path) -> SteadyLog:
        """Two gauges of a steady air test (raises BadInput, WorldFailed)."""
        ...

    def read_vacuum_log(self, path: Path) -> VacuumLog:
        """The vacuum held on a bore (raises BadInput, WorldFailed)."""
        ...

    def read_decay_log(self, path: Path) -> DecayLog:
        """A falling pressure (raises BadInput, WorldFailed)."""
        ...

    def read_sweep_log(self, path: Path) -> SweepLog:
        """Pressure against current, up and down (raises BadInput, WorldFailed)."""
        ...

    def read_column_log(self, path: Path, column: str) -> ColumnLog:
        """The numbers below a heading of a file (raises BadInput, WorldFailed)."""
        ...

    def open_desk(self, folder: Path, *, by: str | None = None) -> Desk:
        """Open a session for work (raises BadInput, WorldFailed, EvidenceBroken)."""
        ...

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk:
        """Make a new session folder and open it."""
        ...

    def view_session(self, folder: Path) -> SessionView:
        """Look at a session without changing it."""
        ...

    def verify(self, path: Path, *, head: str | None = None) -> Verified:
        """Check that a session is as it was written."""
        ...

    def write_workbook(
        self, folder: Path, target: Path, *, rule: Rule | None = None, compare: Path | None = None
    ) -> None:
        """Write the workbook of a session, with another one compared if it is named."""
        ...

    def write_paper(
        self,
        folder: Path,
        paper: Paper,
        target: Path,
        *,
        rule: Rule | None = None,
        which: Which | None = None,
        new: Path | None = None,
    ) -> bool:
        """Write a report, claim page, order sheet or tag (raises BadInput, WorldFailed, EvidenceBroken).

        For an order sheet `which` is what an identification said, `new` the session of the new part.
        """
        ...

    def write_bundle(self, folder: Path, target: Path) -> Bundled | None:
        """Write a session as one file (raises BadInput, WorldFailed, EvidenceBroken)."""
        ...

    def open_bundle(self, path: Path, target: Path, *, head: str | None = None) -> Verified:
        """Open a bundle into a new folder (raises BadInput, WorldFailed, EvidenceBroken; nothing is then made)."""
        ...

    def write_demo(self, out: Path) -> DemoMade:
        """Make the demo jobs."""
        ...

    def open_window(self, folder: Path | None = None) -> int:
        """Open the window; returns when it is closed."""
        ...

    def window_problem(self) -> str | None:
        """Why the window cannot be opened here; None where it can."""
        ...

    def variant_files(self) -> VariantFiles:
        """Opens and saves variant files."""
        ...

    def archives(self) -> Archives:
        """The way to archives."""
        ...

    def data_folder(self) -> Path:
        """Where the program's own files lie (raises WorldFailed)."""
        ...


MakeServices = Callable[[], Services]
"""Called by the commands that need the world: `reading` does not, and starts the sooner."""
