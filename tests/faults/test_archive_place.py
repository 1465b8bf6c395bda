"""One library reaches the archive's file, never in the mode that has a known fault, never on a share."""

from __future__ import annotations

import ast
import sqlite3
from pathlib import Path

import pytest

from tests.data.archived import session_in
from tests.fakes.archive_writers import opened
from valvebench import compose
from valvebench.__main__ import main
from valvebench.archive import store_place
from valvebench.archive.store_restore import restore
from valvebench.bench.archived import Again
from valvebench.model.errors import BadInput
from valvebench.model.words import Rule

PACKAGE = Path(compose.__file__).parent

# -- one way to the file ------------------------------------------------------------------------------------------

CONNECTS = {
    "archive/store_open.py": "the archive",
    "archive/store_backup.py": "a backup that is being made, not yet under its name",
    "archive/store_restore.py": "a backup, read only; an archive that is being put back, not yet under its name",
    "cli/doctor.py": "a database in memory",
}
"""Modules that connect to a database, and to which."""
NAMES_IT = {
    "archive/archives.py": "whether it is there",
    "archive/store_open.py": "connects to it",
    "archive/store_restore.py": "puts a new one in its place",
    "archive/store_migrate.py": "the name of a backup beside it",
}
"""Modules that know the name of the archive's file; none of them opens, reads or copies a file by it."""
OTHER_LIBRARIES = ("QtSql", "QSqlDatabase", "apsw", "pysqlite2", "pysqlite3", "aiosqlite")
PLAIN = {"open", "fdopen", "read_bytes", "read_text", "copy", "copy2", "copyfile", "copytree", "move", "ZipFile"}
PLAIN_HERE = {"archive/store_open.py": set(), "archive/store_restore.py": set(), "archive/store_migrate.py": set()}


def sources() -> dict[str, str]:
    found = {str(path.relative_to(PACKAGE)).replace("\\", "/"): path for path in PACKAGE.rglob("*.py")}
    return {name: path.read_text("utf-8") for name, path in found.items() if "_data" not in name}


def plain_calls(source: str) -> set[str]:
    """Calls by which a file is opened or copied as such; what a library of databases does has other names."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            function = node.func
            name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
            if name in PLAIN:
                found.add(name)
    return found


def test_nothing_but_the_archive_connects_to_a_database(figure):
    texts = sources()
    connecting = {name for name, text in texts.items() if "sqlite3.connect" in text or "create_engine(" in text}
    assert connecting == set(CONNECTS)
    assert {name for name, text in texts.items() for one in OTHER_LIBRARIES if one in text} == set()
    figure(9, f"{len(texts)} modules: {len(connecting)} connect to a database, 0 through a second library")


def test_nothing_that_knows_the_file_opens_it_as_a_plain_one(figure):
    texts = sources()
    naming = {name for name, text in texts.items() if "DATABASE_NAME" in text or "archive.sqlite" in text}
    assert naming == set(NAMES_IT)
    assert {name: plain_calls(texts[name]) for name in PLAIN_HERE} == PLAIN_HERE
    with_path = {name for name, text in texts.items() if "database.path" in text}
    assert {name: plain_calls(texts[name]) for name in with_path if plain_calls(texts[name])} == {
        "archive/store_backup.py": {"open"}  # the new backup, to sync it once its connection is closed
    }
    figure(9, "0 uses of the archive's file as a plain one")


def test_the_scan_sees_what_is_planted():
    assert plain_calls("shutil.copy2(database.path, x)\npath.open('rb')\nPath(x).read_bytes()") == {
        "copy2",
        "open",
        "read_bytes",
    }


# -- never the write-ahead log --------------------------------------------------------------------------------------


def test_no_source_asks_for_the_write_ahead_log():
    asked = {name for name, text in sources().items() if "journal_mode" in text}
    assert asked == {"archive/store_open.py", "archive/store_restore.py"}
    for name in asked:
        lines = [line for line in sources()[name].splitlines() if "journal_mode" in line]
        assert all("journal_mode = DELETE" in line for line in lines), lines


def mode_of(path: Path) -> str:
    """What another program finds: the mode is in the file's header, where a second connection reads it."""
    other = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
    try:
        return str(other.execute("PRAGMA journal_mode").fetchone()[0])
    finally:
        other.close()


def set_to_wal(path: Path) -> None:
    other = sqlite3.connect(path)
    assert other.execute("PRAGMA journal_mode = WAL").fetchone()[0] == "wal"
    other.close()


def test_the_mode_is_the_rollback_journal_after_every_call(ram_path, figure):
    store = opened(ram_path / "archive")
    path, modes = store.database.path, []
    calls = (
        lambda: store.add(session_in(ram_path / "jobs", "1")),
        lambda: store.rejudge(Again(rule=Rule.PLAIN)),
        store.rebuild,
        store.verify,
        lambda: store.backup(ram_path / "a.backup"),
    )
    for call in calls:
        call()
        modes += [store.database.value("PRAGMA journal_mode"), mode_of(path)]
    store.close()
    assert mode_of(ram_path / "a.backup") == "delete"
    set_to_wal(ram_path / "a.backup")
    restore(ram_path / "a.backup", ram_path / "again")
    modes.append(mode_of(ram_path / "again" / "archive.sqlite"))
    set_to_wal(path)
    again = opened(ram_path / "archive")
    modes.append(mode_of(path))
    assert again.verify().ok
    again.close()
    assert not list((ram_path / "archive").glob("*-wal"))
    told = f"SQLite {sqlite3.sqlite_version}: {len(modes)} looks after calls, a restore and on files set to WAL"
    figure(10, f"{told}, mode {', '.join(sorted(set(modes)))}")
    assert set(modes) == {"delete"}


def is_faulty(version: tuple[int, int, int]) -> bool:
    """The race of the write-ahead log: 3.7.0 to 3.51.2, but for 3.50.7 and 3.44.6 (wal.html, second-hand)."""
    if not (3, 7, 0) <= version <= (3, 51, 2):
        return False
    return not (version[:2] in ((3, 50), (3, 44)) and version[2] >= {50: 7, 44: 6}[version[1]])


def test_the_doctor_shows_version_and_mode(capsys, figure):
    main(["doctor"])
    line = next(line for line in capsys.readouterr().out.splitlines() if "SQLite" in line)
    assert sqlite3.sqlite_version in line
    assert "rollback journal" in line
    known = "has the known fault of the log" if is_faulty(sqlite3.sqlite_version_info) else "is without it"
    figure(10, f"this library {known}; the doctor says: {line.strip()}")


# -- never on a share -----------------------------------------------------------------------------------------------

# Names of file systems over a network, or of another machine's disk shown by a virtual one; from memory of the
# kernel's and the desktops' own names: there is no one list of them.
SHARES = (
    *("nfs", "nfs3", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "9p", "coda", "ceph", "glusterfs", "lustre"),
    *("orangefs", "beegfs", "davfs", "fuse.sshfs", "fuse.rclone", "fuse.davfs", "fuse.curlftpfs", "fuse.glusterfs"),
    *("fuse.ceph", "fuse.s3fs", "fuse.gvfsd-fuse", "fuse.kio-fuse", "fuse.smbnetfs", "vboxsf", "fuse.vmhgfs-fuse"),
)
DISKS = ("ext4", "xfs", "btrfs", "zfs", "f2fs", "vfat", "exfat", "ntfs3", "fuseblk", "tmpfs", "overlay", "apfs", "hfs")


def mounted(kind: str, folder: Path) -> str:
    named = str(folder).replace("\\", "\\134").replace(" ", "\\040")
    return f"/dev/sda1 / ext4 rw 0 0\nfar:/x {named} {kind} rw 0 0\n"


@pytest.fixture
def mounts(monkeypatch):
    def fake(table: str) -> None:
        monkeypatch.setattr(store_place, "_mounts", lambda: table)

    return fake


def test_every_way_to_an_archive_refuses_a_share(tmp_path, mounts, capsys, figure):
    far = tmp_path / "far away"
    far.mkdir()
    job = session_in(tmp_path / "jobs", "1")
    near = opened(tmp_path / "near")
    near.add(job)
    near.backup(tmp_path / "a.backup")
    near.close()
    for kind in SHARES:
        mounts(mounted(kind, far))
        with pytest.raises(BadInput, match="a share on the network"):
            opened(far / "archive")
        with pytest.raises(BadInput, match="a share on the network"):
            restore(tmp_path / "a.backup", far / "archive")
        assert main(["archive", "add", "--at", str(far / "archive"), str(job)]) == 2
        assert "a backup of it on the share" in capsys.readouterr().err
    assert list(far.iterdir()) == []
    figure(11, f"{len(SHARES)} of {len(SHARES)} kinds of share refused in 3 ways, nothing made there")


def test_a_backup_may_lie_on_a_share_and_an_archive_on_any_disk(tmp_path, mounts, figure):
    far = tmp_path / "far"
    far.mkdir()
    mounts(mounted("nfs4", far))
    store = opened(tmp_path / "near")
    store.add(session_in(tmp_path / "jobs", "1"))
    store.backup(far / "a.backup")
    store.close()
    for kind in DISKS:
        mounts(mounted(kind, far))
        assert store_place.share_kind(far / "archive") is None
    figure(11, f"{len(DISKS)} kinds of disk accepted; a backup goes to a share")


def test_a_link_to_a_share_is_a_share(tmp_path, mounts):
    far = tmp_path / "far"
    far.mkdir()
    (tmp_path / "near").symlink_to(far)
    mounts(mounted("cifs", far))
    with pytest.raises(BadInput, match="a share on the network"):
        opened(tmp_path / "near" / "archive")
