"""What the window needs from the rest of the program; `compose` fulfils it.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from valvebench.model.words import Rule
from valvebench.ui.settings import SettingsFile

if TYPE_CHECKING:
    from valvebench.bench.air_log import AirFiles
    from valvebench.bench.desk import Desk
    from valvebench.bench.evidence import Bundled, Verified
    from valvebench.bench.explaining import Explaining
    from valvebench.bench.flex_log import FlexFiles
    from valvebench.bench.glimpse import Glimpse
    from valvebench.bench.heat_log import HeatFiles
    from valvebench.bench.identifying import Identifying
    from valvebench.bench.library import Library
    from valvebench.bench.ordering import Which
    from valvebench.bench.papers import Paper
    from valvebench.bench.ports import Archives
    from valvebench.bench.suspecting import Suspecting
    from valvebench.bench.variants import VariantFiles
    from valvebench.bench.view import SessionView
    from valvebench.model.variant import Variant


class Listed(NamedTuple):
    """A session or variant that can be opened: its words and where it lies."""

    title: str
    about: str
    path: Path
    is_pinned: bool = False


class WindowServices(Protocol):
    """Everything the window asks of the world."""

    def open_desk(self, folder: Path, *, by: str | None = None) -> Desk:
        """Open a session for work (raises BenchError)."""
        ...

    def glimpse_session(self, folder: Path) -> Glimpse | None:
        """A first look at a session before it is read; None where there is nothing to see."""
        ...

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk:
        """Make a new session folder and open it (raises BenchError)."""
        ...

    def view_session(self, folder: Path) -> SessionView:
        """Look at a session without changing it (raises BadInput, EvidenceBroken)."""
        ...

    def verify(self, path: Path, *, head: str | None = None) -> Verified:
        """Check that a session is as it was written."""
        ...

    def write_workbook(
        self,
        folder: Path,
        target: Path,
        *,
        rule: Rule | None = None,
        step: Callable[[str], bool] | None = None,
        compare: Path | None = None,
    ) -> bool:
        """Write the workbook of a session, with another one compared if it is named.

        `step` hears what comes next and says whether to go on.

        Returns whether it was written.
        """
        ...

    def write_pictures(self, folder: Path, root: Path, *, step: Callable[[str], bool] | None = None) -> Path | None:
        """Draw connector and plots of a session into a new folder below `root`.

        Returns the folder; None where `step` said not to go on.
        """
        ...

    def write_paper(
        self,
        folder: Path,
        paper: Paper,
        target: Path,
        *,
        step: Callable[[str], bool] | None = None,
        which: Which | None = None,
        new: Path | None = None,
    ) -> bool:
        """Write a report, claim page, order sheet or tag; returns whether it was written (raises BenchError).

        `step` hears what comes next and says whether to go on.  For an order sheet `which` is what an identification
        said, `new` the session of the new part.
        """
        ...

    def write_bundle(self, folder: Path, target: Path, *, step: Callable[[str], bool] | None = None) -> Bundled | None:
        """Write a session as one file for sending; None where `step` said not to go on."""
        ...

    def take_in_bundle(self, file: Path, root: Path) -> Path:
        """Open a bundle in a new folder below `root` (raises BenchError; nothing is then made)."""
        ...

    def sample_jobs(self) -> tuple[Listed, ...]:
        """The sample jobs, invented."""
        ...

    def work_on_sample(self, folder: Path, root: Path) -> Path:
        """A copy of a sample job below `root` to work on; the sample itself stays as it is."""
        ...

    def variants(self) -> tuple[Listed, ...]:
        """The variant files that come with the program."""
        ...

    def variant_files(self) -> VariantFiles:
        """Opens and saves variant files."""
        ...

    def library(self, folder: str) -> Library:
        """The user's own variants in that folder and the examples, to be listed, copied, taken in and handed on."""
        ...

    def heat_files(self) -> HeatFiles:
        """Reads the files of loggers."""
        ...

    def identifying(self, own_folder: str) -> Identifying:
        """Tells parts apart among the user's own variants in that folder; among the examples where there are none."""
        ...

    def file_of_variant(self, variant: Variant, own_folder: str) -> Path:
        """The file that says just what this variant says (raises BadInput: none does any more)."""
        ...

    def explaining(self, variant: Variant, own_folder: str) -> Explaining:
        """Explains sessions of a variant; the part could also be one of the user's own variants in that folder."""
        ...

    def suspecting(self, variant: Variant, explaining: Explaining) -> Suspecting:
        """Says what to test first for the complaint of a variant's sessions."""
        ...

    def flex_files(self) -> FlexFiles:
        """Reads the files of loggers for a flex test."""
        ...

    def air_files(self) -> AirFiles:
        """Reads the files of air tests."""
        ...

    def archives(self) -> Archives:
        """The archives of closed sessions that can be reached from this computer."""
        ...

    def guide_folder(self) -> Path:
        """Where the guide lies."""
        ...

    def jobs_folder(self) -> Path:
        """Where new jobs go."""
        ...

    def own_variants(self, folder: str) -> tuple[Listed, ...]:
        """The user's own variant files; those that cannot be read say so in their title."""
        ...

    def variants_folder(self, folder: str) -> Path:
        """Where the user's own variant files go; the usual place where none is named."""
        ...

    def read_file(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        ...

    def settings_file(self) -> SettingsFile:
        """Where the settings are kept."""
        ...

    def log_folder(self) -> Path:
        """Where the log of faults goes."""
        ...
