"""A Qt that would crash is met with a sentence (measured on Python 3.11: 6.12.0 aborts, 6.11.3 does not)."""

from __future__ import annotations

import pytest

from valvebench.ui.qt_guard import check_qt


@pytest.mark.parametrize(
    ("version", "python"),
    [
        pytest.param("6.11.3", (3, 11), id="pinned"),
        pytest.param("6.12.0", (3, 12), id="none-is-immortal [PEP 683]"),
        pytest.param("6.12.1", (3, 11), id="another-release"),
        pytest.param("6.10.3", (3, 11), id="measured-good"),
    ],
)
def test_good_pairs_get_no_message(version, python):
    assert check_qt(version, python) is None


@pytest.mark.parametrize("version", ["6.12.0", "6.12.0.1"])
def test_leaking_release_is_named_with_the_way_out(version):
    message = check_qt(version, (3, 11))
    assert f"PySide6 {version}" in message
    assert "Python 3.11" in message
    assert "pip install" in message


def test_missing_qt_is_named_with_the_way_out():
    message = check_qt("", (3, 13))
    assert "not installed" in message
    assert "PySide6-Essentials>=6.11.3,<6.12" in message
