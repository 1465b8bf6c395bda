"""Every widget test starts in the light palette at zoom 1."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from valvebench.ui import fonts, theme


@pytest.fixture(autouse=True)
def drawn_size(qapp):
    theme.apply(qapp, "light")
    fonts.set_zoom(1.0)
    yield
    fonts.set_zoom(1.0)
    theme.apply(qapp, "light")


@pytest.fixture(params=sorted(theme.THEMES))
def palette(request, qapp):
    theme.apply(qapp, request.param)
    return theme.current()


@pytest.fixture(params=[1.0, 1.5, 2.0])
def zoom(request, drawn_size):
    fonts.set_zoom(request.param)
    return request.param


@pytest.fixture(scope="session")
def naughty() -> list[str]:
    beside = Path(__file__).parents[4] / "shared" / "corpora"
    file = Path(os.environ.get("VALVEBENCH_CORPORA", beside)) / "naughty_strings.json"
    if not file.exists():
        pytest.skip("the corpus of naughty strings is not here")
    return json.loads(file.read_text(encoding="utf-8"))
