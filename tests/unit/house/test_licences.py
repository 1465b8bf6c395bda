"""Every library of the locks is named with its licence, and both locks agree."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

RESOURCES = Path(__file__).parents[3] / "resources"
RUN = (RESOURCES / "lock" / "requirements.txt").read_text(encoding="utf-8")
TEST = (RESOURCES / "lock" / "requirements-test.txt").read_text(encoding="utf-8")
NOTICES = (RESOURCES / "licences" / "NOTICES.md").read_text(encoding="utf-8")


def pins(lock):
    return set(re.findall(r"^([a-z0-9-]+==[^ ]+(?: ; [^\\]+)?) \\$", lock, re.MULTILINE))


def packages(lock):
    return {pin.split("==")[0] for pin in pins(lock)}


def named():
    rows = [line.split("|")[1] for line in NOTICES.splitlines() if line.startswith("| ")]
    return {name.strip().lower() for row in rows for name in row.split(",")} - {"package"}


def test_every_locked_package_is_named_and_none_besides():
    assert named() == packages(TEST)


def test_the_packages_of_the_program_stand_in_their_own_table():
    table = NOTICES.split("## Installed for tests only")[0].lower()
    assert all(f"{name}" in table for name in packages(RUN))


def test_the_lock_for_tests_contains_the_lock_of_the_program():
    assert pins(RUN) <= pins(TEST)


@pytest.mark.parametrize("lock", [RUN, TEST], ids=["run", "test"])
def test_every_pin_has_hashes_and_no_address(lock):
    blocks = re.split(r"^(?=[a-z0-9-]+==)", lock, flags=re.MULTILINE)[1:]
    assert all("--hash=sha256:" in block for block in blocks)
    assert "://" not in lock
    assert "uv pip compile" in lock.splitlines()[1]


def test_qt_stays_below_the_release_that_aborts():
    assert "pyside6-essentials==6.11." in RUN


@pytest.mark.parametrize(
    ("file", "title"),
    [("LGPL-3.0.txt", "GNU LESSER GENERAL PUBLIC LICENSE"), ("GPL-3.0.txt", "GNU GENERAL PUBLIC LICENSE")],
)
def test_licence_texts_are_there(file, title):
    assert title in (RESOURCES / "licences" / file).read_text(encoding="utf-8")[:200]
