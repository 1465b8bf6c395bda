"""The one place that builds the real objects and wires them."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import platformdirs

from valvebench.archive.files import read_file, read_start
from valvebench.archive.kept_file import KeptFile
from valvebench.archive.saver import reason, save
from valvebench.archive.session_folder import (
    JOURNAL_NAME,
    SessionFolder,
    checked_entries,
    create_session,
    read_blob,
    read_ends,
    read_session,
)
from valvebench.archive.verify import verify
from valvebench.bench.glimpse import Glimpse, glimpse_of
from valvebench.bench.pictures import picture_blobs
from valvebench.bench.ports import Archives, Clock
from valvebench.capture.log_readers import LogReaders, runs_in
from valvebench.model.entry import OpenJob, Photo, body_from, sha256_of
from valvebench.model.errors import BenchError, WorldFailed, bad
from valvebench.model.heat import HeatTest
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Rule
from valvebench.ui.services import Listed

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.evidence import Bundled, Verified
    from valvebench.bench.explain_report import ExplainedJob
    from valvebench.bench.explaining import Explaining
    from valvebench.bench.identifying import Identifying
    from valvebench.bench.library import Library
    from valvebench.bench.papers import Paper, Step
    from valvebench.bench.suspecting import Suspecting, Suspicion
    from valvebench.bench.variants import VariantFiles
    from valvebench.bench.view import DemoMade, SessionView
    from valvebench.diagnose.explain_priors import Priors
    from valvebench.diagnose.heat_data import HeatRun
    from valvebench.diagnose.identify_priors import IdentifyPriors
    from valvebench.diagnose.suspects_weights import SuspectWeights
    from valvebench.judge.session import SessionJudgement
    from valvebench.model.variant import Variant


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
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def open_desk(folder: Path, *, by: str | None = None, clock: Clock | None = None) -> Desk:
    """Open a session for work (raises BadInput, WorldFailed, EvidenceBroken)."""
    return _desk_on(SessionFolder(folder), by=by, clock=clock or SystemClock())


def _desk_on(store: SessionFolder, *, by: str | None, clock: Clock) -> Desk:
    from valvebench.bench.desk import Desk

    try:
        return Desk(store, clock=clock, by=by)
    except BaseException:
        store.release()
        raise


def view_session(folder: Path) -> SessionView:
    """Look at a session without locking or changing it (raises BadInput, EvidenceBroken)."""
    from valvebench.bench.desk import variant_from
    from valvebench.bench.view import SessionView

    session = fold(checked_entries(read_session(folder), source=str(folder)))
    return SessionView(session=session, variant=variant_from(session, lambda sha256: read_blob(folder, sha256)))


def glimpse_session(folder: Path) -> Glimpse | None:
    """A first look at a session before it is read; None where there is nothing to see."""
    try:
        first, last = read_ends(folder)
        return glimpse_of(first, last, blob=lambda sha256: read_blob(folder, sha256))
    except (BenchError, OSError):  # whatever is wrong is said when the session is opened
        return None


def create_job(
    folder: Path,
    job: Mapping[str, Any],
    *,
    variant_raw: bytes | None = None,
    variant_source: str = "variant",
    photos_beside: Path | None = None,
    by: str | None = None,
    clock: Clock | None = None,
) -> Desk:
    """Make a new session folder and open it; `job` holds the fields of `OpenJob` as they stand in files.

    `photos_beside` is the file of the variant, or one beside it: photos that lie there are kept with it.
    """
    from valvebench.bench.desk import PROGRAM, first_line

    ticking = clock or SystemClock()
    data = {"session": os.urandom(16).hex(), "program": PROGRAM, **job}
    blobs: list[bytes] = []
    if variant_raw is not None:
        variant = read_variant(variant_raw, source=variant_source)  # refuse before anything is made
        photos = picture_blobs(photos_beside, variant, read=read_file) if photos_beside is not None else ()
        blobs = [variant_raw, *photos]
        data["variant"] = sha256_of(variant_raw)
    body = body_from("open-job", data, source="open-job")
    if not isinstance(body, OpenJob):
        raise TypeError("open-job makes an OpenJob")
    lock = create_session(folder, first_line(body, at=ticking.now(), by=by or user_name()), blobs)
    return _desk_on(SessionFolder(folder, lock=lock), by=by, clock=ticking)


def write_workbook(
    folder: Path,
    target: Path,
    *,
    rule: Rule | None = None,
    step: Callable[[str], bool] | None = None,
    compare: Path | None = None,
) -> bool:
    """Write the workbook of a session, with another compared (raises BadInput, WorldFailed, EvidenceBroken).

    `step` hears what comes next and says whether to go on; returns whether the workbook was written.
    """
    from valvebench.bench.desk import PROGRAM
    from valvebench.bench.explain_report import explain_job
    from valvebench.diagnose.compared import Side
    from valvebench.diagnose.explain_priors import read_priors
    from valvebench.report.workbook import workbook_bytes

    if target.suffix.lower() != ".xlsx":
        raise bad("--xlsx", str(target), "a file name that ends in .xlsx")
    if not target.parent.is_dir():
        raise bad("--xlsx", str(target.parent), "a folder that is there")
    go_on = step or _always
    view = view_session(folder)
    other = view_session(compare) if compare is not None else None
    if not go_on("judging every reading"):
        return False
    judged = view.judged(rule)
    if not go_on("weighing what explains them"):
        return False
    raw_priors = read_file(data_folder() / "resources" / "priors.json")
    explained = explain_job(view.session, view.variant, read_priors(raw_priors, source="priors.json"))
    suspicion = _suspicion_of(view, judged, explained)
    if not go_on("filling its sheets"):
        return False
    raw = workbook_bytes(
        view.session,
        view.variant,
        judged,
        printed_at=SystemClock().now(),
        program=PROGRAM,
        photos=photos_of(folder, view),
        other=Side(other.session, other.variant) if other is not None else None,
        logs=logs_of(folder, view),
        explained=explained,
        suspicion=suspicion,
    )
    if not go_on("putting it on disk"):
        return False
    save(target, raw)
    return True


def write_bundle(folder: Path, target: Path, *, step: Callable[[str], bool] | None = None) -> Bundled | None:
    """Write a session as one file (raises BadInput, WorldFailed, EvidenceBroken); None where `step` said to stop."""
    from valvebench.archive import bundle

    return bundle.write_bundle(folder, target, step=step)


def open_bundle(path: Path, target: Path, *, head: str | None = None) -> Verified:
    """Open a bundle into a new folder (raises BadInput, WorldFailed, EvidenceBroken; nothing then stands there)."""
    from valvebench.archive.bundle_open import open_bundle

    return open_bundle(path, target, head=head)


def take_in_bundle(file: Path, root: Path) -> Path:
    """Open a bundle in a new folder below `root`, named as the file (raises BadInput, WorldFailed, EvidenceBroken)."""
    from valvebench.archive.bundle_open import take_in

    return take_in(file, root)


def _suspicion_of(view: SessionView, judged: SessionJudgement, explained: ExplainedJob | None) -> Suspicion | None:
    """What was suspected for the complaint; none without a variant or a complaint."""
    from valvebench.bench.suspecting import suspicion_of

    if view.variant is None or not view.session.job_now.shift:
        return None
    found = explained.explained if explained is not None else None
    return suspicion_of(view.session, view.variant, suspect_weights(), rows=judged.rows, explained=found)


def write_pictures(folder: Path, root: Path, *, step: Callable[[str], bool] | None = None) -> Path | None:
    """Draw a session's pictures into a new folder below `root` (raises BadInput, WorldFailed, EvidenceBroken).

    `step` hears what comes next and says whether to go on; returns the folder, None where it was not wanted.
    """
    from valvebench.archive.new_folder import save_folder
    from valvebench.bench.desk import PROGRAM
    from valvebench.ui.pictures.draw import png_of
    from valvebench.ui.pictures.facts import file_names, pictures_of

    if not root.is_dir():
        raise bad(
            "pictures", str(root), "a folder that is there", "name the workbook file in one: pictures go beside it"
        )
    view = view_session(folder)
    pictures = pictures_of(view.session, view.variant, view.judged(), program=PROGRAM)
    files = [(name, partial(png_of, one)) for name, one in zip(file_names(pictures), pictures, strict=True)]
    return save_folder(root, f"{folder.name}-pictures", files, step=step or _always)


def write_paper(
    folder: Path, paper: Paper, target: Path, *, new: Path | None = None, step: Step | None = None, **more: Any
) -> bool:
    """Write a paper of a session (raises BadInput, WorldFailed, EvidenceBroken); `more` goes to `paper_bytes`."""
    from valvebench.bench.desk import PROGRAM
    from valvebench.report.papers import printed

    view = view_session(folder)
    more["new"] = view_session(new).session if new is not None else None
    of = view, photos_of(folder, view), SystemClock().now(), PROGRAM
    raw = printed(paper, target, *of, step=step or _always, no_qt=window_problem, **more)
    if raw is not None:
        save(target, raw)
    return raw is not None


def _always(_: str) -> bool:
    return True


def photos_of(folder: Path, view: SessionView) -> dict[str, bytes]:
    """The pictures of a session that are still as they were, by hash."""
    wanted = [item.body.sha256 for item in view.session.items if isinstance(item.body, Photo)]
    found = {sha256: read_blob(folder, sha256) for sha256 in wanted}
    return {sha256: raw for sha256, raw in found.items() if raw is not None}


def logs_of(folder: Path, view: SessionView) -> dict[int, HeatRun]:
    """The run behind each heat-run entry whose file is still as it was and can be read, by the entry's number."""
    bodies = {item.n: item.body for item in view.session.items if isinstance(item.body, HeatTest)}
    files = {(body.sha256, body.is_settled): body.file_name for body in bodies.values()}
    logs = {key: runs_in(read_blob(folder, key[0]), name, is_settled=key[1]) for key, name in files.items()}
    runs = {n: logs[body.sha256, body.is_settled].get(body.column or "") for n, body in bodies.items()}
    return {n: run for n, run in runs.items() if run is not None}


def window_problem() -> str | None:
    """Why the window cannot be opened here, in plain words; None where it can."""
    from importlib.metadata import PackageNotFoundError, version

    from valvebench.ui.qt_guard import check_qt

    try:
        found = version("PySide6-Essentials")
    except PackageNotFoundError:
        found = ""
    return check_qt(found, sys.version_info[:2])


def guide_folder() -> Path:
    """The guide that comes with the program."""
    return data_folder() / "resources" / "guide"


def variant_file(key: str) -> Path:
    """A variant file that comes with the program."""
    return data_folder() / "resources" / "variants" / f"{key}.json"


def write_demo(out: Path) -> DemoMade:
    """Make the demo jobs with their workbooks (raises BadInput where one stands already)."""
    from valvebench.bench.demo import VARIANT_KEYS, build_demo
    from valvebench.bench.view import DemoMade

    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorldFailed(f"{out}: cannot be made ({reason(error)}). Choose another folder.") from error
    files = {key: read_file(variant_file(key)) for key in VARIANT_KEYS}
    make = partial(create_job, photos_beside=variant_file(VARIANT_KEYS[0]))
    sessions = build_demo(out, variants=files, create_job=make, save=save)
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


def work_on_sample(folder: Path, root: Path) -> Path:
    """A fresh copy of a sample job below `root` to work on; the sample itself stays as it is (raises WorldFailed)."""
    import shutil

    taken = (root / f"{folder.name}-{count}" for count in range(1, 10_000))
    copy = next(path for path in taken if not path.exists())
    try:
        shutil.copytree(folder, copy)
    except OSError as error:
        shutil.rmtree(copy, ignore_errors=True)
        raise WorldFailed(f"{copy}: cannot be made ({reason(error)}).") from error
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
    from valvebench.bench.variants import VariantFiles

    return VariantFiles(read=read_file, save=save)


def variants() -> tuple[Listed, ...]:
    """The variant files that come with the program."""
    files = sorted((data_folder() / "resources" / "variants").glob("*.json"))
    return tuple(Listed(read_variant(read_file(path), source=str(path)).title, path.stem, path) for path in files)


def own_variants(folder: str) -> tuple[Listed, ...]:
    """The variant files in the user's own folder; one that cannot be read says so and is chosen at one's own risk."""
    chosen = own_variants_folder(folder)
    files = sorted(chosen.glob("*.json")) if chosen.is_dir() else []
    return tuple(_own_variant(path) for path in files)


def own_variants_folder(folder: str) -> Path:
    """The folder that is named, else the usual one among the documents."""
    return Path(folder) if folder else Path(platformdirs.user_documents_dir()) / "valvebench variants"


def variants_folder(folder: str) -> Path:
    """Where the user's own variant files go, made where it is missing (raises WorldFailed)."""
    chosen = own_variants_folder(folder)
    try:
        chosen.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        what = f"{chosen}: cannot be made ({reason(error)}). Name another folder in the settings."
        raise WorldFailed(what) from error
    return chosen


def library(folder: str) -> Library:
    """The user's own variants in that folder, and the examples."""
    from valvebench.archive.moving import move_file
    from valvebench.bench.library import Library

    return Library(
        own_variants_folder(folder),
        data_folder() / "resources" / "variants",
        read=read_file,
        save=save,
        move=move_file,
        make_own=lambda: variants_folder(folder),
    )


def _own_variant(path: Path) -> Listed:
    try:
        return Listed(read_variant(read_file(path), source=str(path)).title, path.stem, path)
    except BenchError as error:
        return Listed(f"{path.name} (cannot be used)", str(error), path)


def priors() -> Priors:
    """How likely each fault is before anything was read (raises BadInput, WorldFailed)."""
    from valvebench.diagnose.explain_priors import read_priors

    path = data_folder() / "resources" / "priors.json"
    return read_priors(read_file(path), source=str(path))


def identify_priors() -> IdentifyPriors:
    """How often a look is wrong, and what readings are like, before a part is told (raises BadInput, WorldFailed)."""
    from valvebench.diagnose.identify_priors import read_identify_priors

    path = data_folder() / "resources" / "identify.json"
    return read_identify_priors(read_file(path), source=str(path))


def suspect_weights() -> SuspectWeights:
    """What to look at first for a complaint (raises BadInput, WorldFailed)."""
    from valvebench.diagnose.suspects_weights import read_weights

    path = data_folder() / "resources" / "suspects.json"
    return read_weights(read_file(path), source=str(path))


def _readable_variants(listed: Sequence[Listed]) -> list[Variant]:
    """The variants of these files; one that cannot be read is left out here and named where it is chosen."""
    found = []
    for one in listed:
        with suppress(BenchError):
            found.append(read_variant(read_file(one.path), source=str(one.path)))
    return found


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


def archive_folder() -> Path:
    """Where the archive of this computer lies, beside neither jobs nor settings: nothing syncs it by itself."""
    if os.environ.get("VALVEBENCH_SETTINGS"):
        return settings_folder() / "archive"
    return platformdirs.user_data_path("valvebench", appauthor=False) / "archive"


def archives() -> Archives:
    """Opens and restores archives, and keeps sessions in them."""
    from valvebench.archive.archives import Archives

    return Archives(archive_folder(), clock=SystemClock(), open_desk=open_desk)


_LOGS = LogReaders(read_start)


class Program:
    """The services that the commands and the window ask for; their sentences stand there."""

    sample_jobs = staticmethod(sample_jobs)
    work_on_sample = staticmethod(work_on_sample)
    jobs_folder = staticmethod(jobs_folder)
    guide_folder = staticmethod(guide_folder)
    variants = staticmethod(variants)
    own_variants = staticmethod(own_variants)
    variants_folder = staticmethod(variants_folder)
    settings_file = staticmethod(settings_file)
    log_folder = staticmethod(log_folder)
    variant_files = staticmethod(variant_files)
    library = staticmethod(library)

    read_file = staticmethod(read_file)
    read_heat_log = staticmethod(_LOGS.read_heat_log)
    read_steady_log = staticmethod(_LOGS.read_steady_log)
    read_vacuum_log = staticmethod(_LOGS.read_vacuum_log)
    read_decay_log = staticmethod(_LOGS.read_decay_log)
    read_sweep_log = staticmethod(_LOGS.read_sweep_log)
    read_column_log = staticmethod(_LOGS.read_column_log)
    heat_files = staticmethod(_LOGS.heat_files)
    flex_files = staticmethod(_LOGS.flex_files)
    air_files = staticmethod(_LOGS.air_files)
    write_file = staticmethod(save)
    open_desk = staticmethod(open_desk)
    view_session = staticmethod(view_session)
    glimpse_session = staticmethod(glimpse_session)
    verify = staticmethod(verify)
    write_workbook = staticmethod(write_workbook)
    write_pictures = staticmethod(write_pictures)
    write_paper = staticmethod(write_paper)
    write_bundle = staticmethod(write_bundle)
    open_bundle = staticmethod(open_bundle)
    take_in_bundle = staticmethod(take_in_bundle)
    write_demo = staticmethod(write_demo)
    archives = staticmethod(archives)
    open_window = staticmethod(open_window)
    window_problem = staticmethod(window_problem)
    data_folder = staticmethod(data_folder)

    def create_job(
        self, folder: Path, job: Mapping[str, Any], *, variant: Path | None = None, by: str | None = None
    ) -> Desk:
        """Make a new session folder and open it; the variant is named by its file."""
        if variant is None:
            return create_job(folder, job, by=by)
        raw = read_file(variant)
        return create_job(folder, job, variant_raw=raw, variant_source=str(variant), photos_beside=variant, by=by)

    def identifying(self, own_folder: str) -> Identifying:
        """Tells parts apart among the user's own variants; among the invented examples only where there are no own.

        A file that cannot be read is left out here and named where it is chosen.
        """
        from valvebench.bench.identifying import Assumed, Identifying

        def library() -> list[Variant]:
            return _readable_variants(self.own_variants(own_folder)) or _readable_variants(self.variants())

        photo = self.library(own_folder).photo
        return Identifying(variants=library, assumed=lambda: Assumed(identify_priors(), priors()), photo=photo)

    def file_of_variant(self, variant: Variant, own_folder: str) -> Path:
        """The file that says just what this variant says (raises BadInput: none does any more)."""
        for one in (*self.own_variants(own_folder), *self.variants()):
            with suppress(BenchError):
                if read_variant(read_file(one.path), source=str(one.path)) == variant:
                    return one.path
        expected = "the file it was compared with, unchanged"
        raise bad(variant.title, "a file that was changed or taken away", expected, "Identify the part once more.")

    def explaining(self, variant: Variant, own_folder: str) -> Explaining:
        """Explains sessions of a variant, which could be another one of those at hand.

        The invented examples that come with the program are taken for what a part could be only among themselves.
        """
        from valvebench.bench.explaining import Explaining

        def others() -> list[Variant]:
            examples = self.variants()
            is_example = variant.key in {one.about for one in examples}
            return _readable_variants([*self.own_variants(own_folder), *(examples if is_example else ())])

        return Explaining(variant, priors=priors, others=others)

    def suspecting(self, variant: Variant, explaining: Explaining) -> Suspecting:
        """Says what to test first for the complaint of a variant's sessions."""
        from valvebench.bench.suspecting import Suspecting

        return Suspecting(variant, weights=suspect_weights, explaining=explaining)
