"""The one place that builds the real objects and wires them."""

from __future__ import annotations

import getpass
import os
import shutil
import sys
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import platformdirs

from valvebench.archive.kept_file import KeptFile
from valvebench.archive.saver import reason, save
from valvebench.archive.session_folder import (
    JOURNAL_NAME,
    SessionFolder,
    checked_entries,
    create_session,
    read_blob,
    read_session,
)
from valvebench.archive.verify import verify
from valvebench.bench.desk import PROGRAM, Desk, first_line, variant_from
from valvebench.bench.ports import Clock
from valvebench.bench.variants import VariantFiles
from valvebench.bench.view import DemoMade, SessionView
from valvebench.model.entry import OpenJob, Photo, body_from, sha256_of
from valvebench.model.errors import BenchError, WorldFailed, bad
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Rule
from valvebench.ui.services import Listed


class SystemClock:
    """The computer's clock."""

    def now(self) -> str:
        """RFC 3339 in UTC, to the millisecond."""
        return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


@cache
def data_folder() -> Path:
    """Where `resources` and `sample_sessions` lie: in the wheel, beside the package, or in a one-folder build."""
    package = Path(__file__).resolve().parent
    frozen = Path(getattr(sys, "_MEIPASS", package))
    for folder in (package / "_data", package.parent, frozen / "_data"):
        if (folder / "resources" / "variants").is_dir():
            return folder
    raise WorldFailed(f"{package}: the program's resources are missing. Install it again.")


def user_name() -> str:
    """Who sits at this computer."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def open_desk(folder: Path, *, by: str | None = None, clock: Clock | None = None) -> Desk:
    """Open a session for work (raises BadInput, WorldFailed, EvidenceBroken)."""
    store = SessionFolder(folder)
    try:
        return Desk(store, clock=clock or SystemClock(), by=by)
    except BaseException:
        store.release()
        raise


def view_session(folder: Path) -> SessionView:
    """Look at a session without locking or changing it (raises BadInput, EvidenceBroken)."""
    session = fold(checked_entries(read_session(folder), source=str(folder)))
    return SessionView(session=session, variant=variant_from(session, lambda sha256: read_blob(folder, sha256)))


def create_job(
    folder: Path,
    job: Mapping[str, Any],
    *,
    variant_raw: bytes | None = None,
    variant_source: str = "variant",
    by: str | None = None,
    clock: Clock | None = None,
) -> Desk:
    """Make a new session folder and open it; `job` holds the fields of `OpenJob` as they stand in files."""
    ticking = clock or SystemClock()
    who = by or user_name()
    if variant_raw is not None:
        read_variant(variant_raw, source=variant_source)  # refuse before anything is made
    data = {"session": os.urandom(16).hex(), "program": PROGRAM, **job}
    if variant_raw is not None:
        data["variant"] = sha256_of(variant_raw)
    body = body_from("open-job", data, source="open-job")
    if not isinstance(body, OpenJob):
        raise TypeError("open-job makes an OpenJob")
    blobs = [variant_raw] if variant_raw is not None else []
    create_session(folder, first_line(body, at=ticking.now(), by=who), blobs)
    return open_desk(folder, by=by, clock=ticking)


def write_workbook(
    folder: Path, target: Path, *, rule: Rule | None = None, step: Callable[[str], bool] | None = None
) -> bool:
    """Write the workbook of a session (raises BadInput, WorldFailed, EvidenceBroken).

    `step` hears what comes next and says whether to go on; returns whether the workbook was written.
    """
    from valvebench.report.workbook import workbook_bytes

    if target.suffix.lower() != ".xlsx":
        raise bad("--xlsx", str(target), "a file name that ends in .xlsx")
    if not target.parent.is_dir():
        raise bad("--xlsx", str(target.parent), "a folder that is there")
    go_on = step or _always
    view = view_session(folder)
    if not go_on("judging every reading"):
        return False
    judged = view.judged(rule)
    if not go_on("filling its sheets"):
        return False
    raw = workbook_bytes(
        view.session,
        view.variant,
        judged,
        printed_at=SystemClock().now(),
        program=PROGRAM,
        photos=photos_of(folder, view),
    )
    if not go_on("putting it on disk"):
        return False
    save(target, raw)
    return True


def _always(_: str) -> bool:
    return True


def photos_of(folder: Path, view: SessionView) -> dict[str, bytes]:
    """The pictures of a session that are still as they were, by hash."""
    wanted = [item.body.sha256 for item in view.session.items if isinstance(item.body, Photo)]
    found = {sha256: read_blob(folder, sha256) for sha256 in wanted}
    return {sha256: raw for sha256, raw in found.items() if raw is not None}


def window_problem() -> str | None:
    """Why the window cannot be opened here, in plain words; None where it can."""
    from importlib.metadata import PackageNotFoundError, version

    from valvebench.ui.qt_guard import check_qt

    try:
        found = version("PySide6-Essentials")
    except PackageNotFoundError:
        found = ""
    return check_qt(found, sys.version_info[:2])


def read_file(path: Path) -> bytes:
    """The bytes of a file the person named (raises WorldFailed)."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise WorldFailed(f"{path}: cannot be read ({reason(error)}). Check the name of the file.") from error


def guide_folder() -> Path:
    """The guide that comes with the program."""
    return data_folder() / "resources" / "guide"


def variant_file(key: str) -> Path:
    """A variant file that comes with the program."""
    return data_folder() / "resources" / "variants" / f"{key}.json"


def write_demo(out: Path) -> DemoMade:
    """Make the demo jobs with their workbooks (raises BadInput where one stands already)."""
    from valvebench.bench.demo import VARIANT_KEY, build_demo

    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorldFailed(f"{out}: cannot be made ({reason(error)}). Choose another folder.") from error
    sessions = build_demo(out, variant_raw=read_file(variant_file(VARIANT_KEY)), create_job=create_job, save=save)
    workbooks = tuple(out / f"{folder.name}.xlsx" for folder in sessions)
    for folder, workbook in zip(sessions, workbooks, strict=True):
        write_workbook(folder, workbook)
    return DemoMade(sessions=sessions, workbooks=workbooks)


def open_window(folder: Path | None = None) -> int:
    """Open the window; returns when it is closed (raises WorldFailed where Qt cannot run)."""
    problem = window_problem()
    if problem is not None:
        raise WorldFailed(problem)
    from valvebench.ui.app import run_window

    return run_window(Program(), folder)


def sample_jobs() -> tuple[Listed, ...]:
    """The sample jobs, invented, with the line that tells about each."""
    root = data_folder() / "sample_sessions"
    folders = sorted(path for path in root.iterdir() if (path / JOURNAL_NAME).is_file()) if root.is_dir() else []
    about = _about_samples(root / "README.txt")
    return tuple(Listed(folder.name, about.get(folder.name, ""), folder) for folder in folders)


def _about_samples(readme: Path) -> dict[str, str]:
    if not readme.is_file():
        return {}
    lines = (line.split(None, 1) for line in readme.read_text(encoding="utf-8").splitlines())
    return {parts[0]: parts[1].strip() for parts in lines if len(parts) > 1}


def work_on_sample(folder: Path) -> Path:
    """A fresh copy of a sample job to work on; the sample itself stays as it is."""
    root = jobs_folder()
    taken = (root / f"{folder.name}-{count}" for count in range(1, 10_000))
    copy = next(path for path in taken if not path.exists())
    shutil.copytree(folder, copy)
    return copy


def jobs_folder() -> Path:
    """Where new jobs go (raises WorldFailed where it cannot be made)."""
    folder = Path(platformdirs.user_documents_dir()) / "valvebench jobs"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorldFailed(f"{folder}: cannot be made ({reason(error)}).") from error
    return folder


def variant_files() -> VariantFiles:
    """Opens and saves variant files through the one saver."""
    return VariantFiles(read=read_file, save=save)


def variants() -> tuple[Listed, ...]:
    """The variant files that come with the program."""
    files = sorted((data_folder() / "resources" / "variants").glob("*.json"))
    return tuple(Listed(read_variant(read_file(path), source=str(path)).title, path.stem, path) for path in files)


def own_variants(folder: str) -> tuple[Listed, ...]:
    """The variant files in the user's own folder; one that cannot be read says so and is chosen at one's own risk."""
    chosen = Path(folder) if folder else Path(platformdirs.user_documents_dir()) / "valvebench variants"
    files = sorted(chosen.glob("*.json")) if chosen.is_dir() else []
    return tuple(_own_variant(path) for path in files)


def _own_variant(path: Path) -> Listed:
    try:
        return Listed(read_variant(read_file(path), source=str(path)).title, path.stem, path)
    except BenchError as error:
        return Listed(f"{path.name} (cannot be used)", str(error), path)


def settings_folder() -> Path:
    """Where the program keeps what is its own; VALVEBENCH_SETTINGS names another place, such as a stick."""
    named = os.environ.get("VALVEBENCH_SETTINGS")
    return Path(named) if named else platformdirs.user_config_path("valvebench", appauthor=False)


def settings_file() -> KeptFile:
    """The file of the settings."""
    return KeptFile(settings_folder() / "settings.json")


def log_folder() -> Path:
    """Where the log of faults goes."""
    if os.environ.get("VALVEBENCH_SETTINGS"):
        return settings_folder()
    return platformdirs.user_log_path("valvebench", appauthor=False)


class Program:
    """The services that the commands and the window ask for; their sentences stand there."""

    sample_jobs = staticmethod(sample_jobs)
    work_on_sample = staticmethod(work_on_sample)
    jobs_folder = staticmethod(jobs_folder)
    guide_folder = staticmethod(guide_folder)
    variants = staticmethod(variants)
    own_variants = staticmethod(own_variants)
    settings_file = staticmethod(settings_file)
    log_folder = staticmethod(log_folder)
    variant_files = staticmethod(variant_files)

    read_file = staticmethod(read_file)
    write_file = staticmethod(save)
    open_desk = staticmethod(open_desk)
    view_session = staticmethod(view_session)
    verify = staticmethod(verify)
    write_workbook = staticmethod(write_workbook)
    write_demo = staticmethod(write_demo)
    open_window = staticmethod(open_window)
    window_problem = staticmethod(window_problem)
    data_folder = staticmethod(data_folder)

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk:
        """Make a new session folder and open it; the variant is named by its file."""
        raw = read_file(variant) if variant is not None else None
        return create_job(folder, job, variant_raw=raw, variant_source=str(variant), by=by)
