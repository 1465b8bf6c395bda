"""Tools from outside that some tests need: missing here is a skip, missing in CI a failure."""

from __future__ import annotations

import os
import shutil

import pytest


def in_ci() -> bool:
    """Whether the environment says CI=true."""
    return os.environ.get("CI", "").lower() == "true"


def need(*names: str) -> str:
    """The path of the first of these tools that is installed; otherwise skip, or fail where CI=true."""
    for name in names:
        path = shutil.which(name)
        if path:
            return path
    return absent(f"{' or '.join(names)} is not installed")


def absent(reason: str) -> str:
    """Skip for want of something from outside, or fail where CI=true."""
    if in_ci():
        pytest.fail(f"{reason}, and CI=true allows no skip")
    pytest.skip(reason)
