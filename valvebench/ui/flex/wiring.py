"""Makes and connects the Flex page."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import NamedTuple

from valvebench.bench.desk import Desk
from valvebench.bench.flex_log import FlexFiles
from valvebench.ui.flex.presenter import FlexPresenter
from valvebench.ui.flex.view import FlexPage
from valvebench.ui.keeper import Keeper, Runs


class Flex(NamedTuple):
    """The page with who decides for it."""

    page: FlexPage
    presenter: FlexPresenter


def make(desk: Desk, keeper: Keeper, *, reader: Runs, files: FlexFiles) -> Flex:
    """The page, connected; `reader` works beside the one that keeps entries."""
    page = FlexPage()
    # what draws is heavy: the worker brings it in, so that no key waits for it
    prepare = partial(import_module, "valvebench.ui.flex.plot")
    presenter = FlexPresenter(page, desk, keeper, reader=reader, files=files, prepare=prepare)
    page.typed.connect(presenter.typed)
    page.kept.connect(presenter.keep)
    page.opened.connect(presenter.keep_open)
    page.again_asked.connect(presenter.again)
    page.finished.connect(presenter.finish)
    page.flexed_chosen.connect(presenter.place_chosen)
    page.file_named.connect(presenter.file_named)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.left.connect(presenter.left)
    presenter.start()
    return Flex(page, presenter)
