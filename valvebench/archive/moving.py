"""Another name for a file, durably and never over another one."""

from __future__ import annotations

import os
from pathlib import Path

from valvebench.archive.saver import advice, reason, sync_folder
from valvebench.model.errors import WorldFailed


def move_file(old: Path, new: Path) -> None:
    """Give a file another name in its folder (raises WorldFailed; the file then stands under its old name)."""
    if new.exists():
        raise WorldFailed(f"{new}: not moved, another file lies there. Move that one first.")
    try:
        os.rename(old, new)  # noqa: PTH104  the fault tests watch the os calls
    except OSError as error:
        raise WorldFailed(f"{old}: not moved ({reason(error)}). {advice(error)}") from error
    try:
        sync_folder(new.parent)
    except OSError as error:
        raise WorldFailed(f"{new}: moved, but the disk does not confirm it ({reason(error)}).") from error
