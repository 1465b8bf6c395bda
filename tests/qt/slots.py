"""Finds every slot of the frame and every method of a presenter that a signal is connected to.

Read from the program's own text, so that a connection made tomorrow is in the list tomorrow.
"""

from __future__ import annotations

import ast
import functools
import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from valvebench import ui

FRAME_MODULES = frozenset({"main_window", "asides", "wiring"})
DECIDING = ("Presenter", "TakingBack")
"""How the names of classes end that decide what a signal does."""
REPORTERS = frozenset({"show_trouble", "show_words"})
"""They tell of the fault; with them broken too nothing could be told."""


class Connection(NamedTuple):
    """Which signal calls what, by their names."""

    signal: str
    slot: str


class Injected(RuntimeError):
    """The fault that is put in."""


def modules():
    """Every module of the window but the general widgets, which know no presenter."""
    for found in pkgutil.walk_packages(ui.__path__, f"{ui.__name__}."):
        if ".widgets" not in found.name:
            yield importlib.import_module(found.name)


def deciding_classes() -> list[type]:
    """Presenters, and the classes of the frame that connect and own them."""
    found = {}
    for module in modules():
        is_frame = module.__name__.rpartition(".")[2] in FRAME_MODULES
        for name, kind in inspect.getmembers(module, inspect.isclass):
            is_own = kind.__module__ == module.__name__ and not getattr(kind, "_is_protocol", False)
            if is_own and (is_frame or name.endswith(DECIDING)):
                found[kind] = None
    return list(found)


def connections() -> list[Connection]:
    """Each `signal.connect(method)` whose method belongs to a presenter or to the frame."""
    kinds = deciding_classes()
    methods = {name for kind in kinds for name, member in vars(kind).items() if inspect.isfunction(member)}
    frame = {kind.__name__ for kind in kinds}
    found = {pair for module in modules() for pair in _in_text(Path(module.__file__), methods, frame)}
    return sorted(pair for pair in found if pair.slot not in REPORTERS)


def _in_text(path: Path, methods: set[str], frame: set[str]) -> Iterator[Connection]:
    tree = ast.parse(path.read_text("utf-8"))
    for holder in tree.body:
        is_frame = isinstance(holder, ast.ClassDef) and holder.name in frame
        for call in ast.walk(holder):
            if not (isinstance(call, ast.Call) and getattr(call.func, "attr", "") == "connect"):
                continue
            signal, slot = call.func.value, call.args[0]
            if isinstance(signal, ast.Attribute) and isinstance(slot, ast.Attribute) and slot.attr in methods:
                is_of_a_view = isinstance(slot.value, ast.Name) and slot.value.id == "self" and not is_frame
                if not is_of_a_view:
                    yield Connection(signal.attr, slot.attr)


class Saboteur:
    """Once armed, every method that a signal can call raises before it does anything."""

    def __init__(self, monkeypatch) -> None:
        self.is_armed = False
        self.raised: list[str] = []
        slots = {pair.slot for pair in connections()}
        for kind in deciding_classes():
            for name in slots & vars(kind).keys():
                if inspect.isfunction(vars(kind)[name]):
                    monkeypatch.setattr(kind, name, self._mined(kind, name, vars(kind)[name]))

    def _mined(self, kind: type, name: str, plain):
        count = len(inspect.signature(plain).parameters) - 1

        @functools.wraps(plain)
        def mined(this, *arguments, **named):
            if self.is_armed:
                self.raised.append(name)
                raise Injected(f"injected into {kind.__name__}.{name}")
            return plain(this, *arguments[:count], **named)  # Qt hands on no more than a slot takes; so does this

        return mined
