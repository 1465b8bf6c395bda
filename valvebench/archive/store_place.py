"""Where an archive may lie: a disk of this computer, never a share on the network.

A share does not keep what SQLite's locks promise (useovernet.html of its documentation: "Rely upon it at your (and
your customers') peril").
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

from valvebench.model.errors import bad

_SHARES: Final = frozenset(
    (
        *("nfs", "nfs3", "nfs4", "cifs", "smbfs", "smb2", "smb3", "afs", "ncpfs", "9p", "webdav", "davfs", "afpfs"),
        *("coda", "ceph", "glusterfs", "lustre", "orangefs", "beegfs", "vboxsf", "vmhgfs", "prl_fs"),
        *("fuse.sshfs", "fuse.rclone", "fuse.davfs", "fuse.curlftpfs", "fuse.ceph", "fuse.glusterfs", "fuse.s3fs"),
        *("fuse.gvfsd-fuse", "fuse.kio-fuse", "fuse.smbnetfs", "fuse.vmhgfs-fuse"),
    )
)
_DRIVE_REMOTE: Final = 4
_ESCAPES: Final = (("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\"))


def refuse_share(folder: Path, *, mounts: str | None = None) -> None:
    """Refuse a folder that lies on a share (raises BadInput); `mounts` stands in for the system's table."""
    kind = share_kind(folder, mounts=mounts)
    if kind is None:
        return
    advice = "Keep the archive on a disk of this computer, and a backup of it on the share."
    raise bad(str(folder), f"a share on the network ({kind})", "a folder on a disk of this computer", advice)


def share_kind(folder: Path, *, mounts: str | None = None) -> str | None:
    """What kind of share a folder lies on; None for a disk of this computer, and where the system does not tell."""
    if mounts is None and os.name == "nt":
        return _windows_kind(folder)
    table = _mounts() if mounts is None else mounts
    kind = _kind_in(table, os.path.realpath(folder))
    return kind if kind in _SHARES else None


def _mounts() -> str:
    try:
        return Path("/proc/mounts").read_text("utf-8", errors="replace")
    except OSError:
        return ""


def _kind_in(table: str, path: str) -> str:
    """The type of the longest mount point that the path lies below; of two on one place the later one is on top."""
    best, kind = "", ""
    for line in table.splitlines():
        parts = line.split()
        if len(parts) < 3:
            continue
        point = parts[1]
        for escape, sign in _ESCAPES:
            point = point.replace(escape, sign)
        is_above = path == point or path.startswith(point.rstrip("/") + "/")
        if is_above and len(point) >= len(best):
            best, kind = point, parts[2]
    return kind


if sys.platform == "win32":
    import ctypes

    def _windows_kind(folder: Path) -> str | None:
        if str(folder).startswith("\\\\"):
            return "network path"
        drive = os.path.splitdrive(os.path.realpath(folder))[0] + "\\"
        return "network drive" if ctypes.windll.kernel32.GetDriveTypeW(drive) == _DRIVE_REMOTE else None

else:

    def _windows_kind(folder: Path) -> str | None:  # noqa: ARG001  the same name on every system
        return None
