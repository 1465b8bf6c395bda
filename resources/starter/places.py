"""Where the starter keeps things: in the checkout, or with the user where the checkout is read-only."""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
LOCKS = CHECKOUT / "resources" / "lock"


def user_data_folder(*, platform: str, env: Mapping[str, str], home: Path) -> Path:
    """The folder for the program's own files of this user, by the custom of each system."""
    if platform == "win32":
        return Path(env.get("LOCALAPPDATA") or home / "AppData" / "Local") / "valvebench"
    if platform == "darwin":
        return home / "Library" / "Application Support" / "valvebench"
    return Path(env.get("XDG_DATA_HOME") or home / ".local" / "share") / "valvebench"


def home_folder() -> Path:
    """The home folder, or the folder for temporary files where none is known."""
    home = Path(os.path.expanduser("~"))  # noqa: PTH111  Path.home() raises where HOME is empty
    return home if home.is_absolute() else Path(tempfile.gettempdir())


def can_write(folder: Path) -> bool:
    """Whether a file can really be made in a folder; permission bits alone do not show a read-only disk."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def base_folder(checkout: Path = CHECKOUT) -> Path:
    """The folder that holds environment and demo: the checkout, or one of the user's named after its path."""
    if can_write(checkout):
        return checkout
    mark = hashlib.sha256(str(checkout).encode()).hexdigest()[:12]
    folder = user_data_folder(platform=sys.platform, env=os.environ, home=home_folder()) / f"checkout-{mark}"
    folder.mkdir(parents=True, exist_ok=True)
    return folder
