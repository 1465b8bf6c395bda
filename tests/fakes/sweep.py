"""The exhaustive k-sweep: one fork for each call of a writer and each way it can go wrong."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

from tests.fakes.faulty_os import DIED, MODES, REAL, FaultyOs
from valvebench.model.errors import BenchError

SAID_DONE, SAID_FAILED, NO_FAULT, NOT_IN_WORDS = 0, 3, 4, 5
MOST_CALLS: Final = 400

Say = Callable[[str], None]
"""The child tells its parent what it was told is on disk."""


class Faults(Protocol):
    """Something that makes the k-th file call go wrong; armed in a fork only."""

    @property
    def calls(self) -> int: ...
    @property
    def hits(self) -> int: ...
    @property
    def wrong(self) -> list[str]: ...
    def arm(self) -> None: ...
    def disarm(self) -> None: ...


MakeFaults = Callable[[Path, int, str], Faults]
"""For what happens below a folder, at the k-th call, in a mode."""


def python_faults(_: Path, k: int, mode: str) -> Faults:
    """The calls of `os`, wherever they go."""
    return FaultyOs(k, mode)


class Trial(NamedTuple):
    """One writer with one fault: where it worked and what it said."""

    folder: Path
    k: int
    mode: str
    code: int
    told: tuple[str, ...]

    @property
    def kept(self) -> tuple[str, ...]:
        """What the writer said is on disk."""
        return tuple(line.removeprefix("kept ") for line in self.told if line.startswith("kept "))

    @property
    def refusals(self) -> tuple[str, ...]:
        return tuple(line.removeprefix("refused ") for line in self.told if line.startswith("refused "))

    @property
    def is_calm(self) -> bool:
        """Whether the fault would have come after the last call: all must be well."""
        return self.code == SAID_DONE and "past the last call" in self.told

    @property
    def died(self) -> bool:
        return self.code == DIED

    @property
    def is_passing(self) -> bool:
        """Whether the fault struck once and the program lived: then nothing may be left behind."""
        return not self.died and "sticky" not in self.mode


class Writer(NamedTuple):
    """Something that writes, and what must hold whatever happens to it.

    `prepare` fills a folder once; `begin` runs in the child before the faults, `act` under them,
    `again` after them (under a lasting fault it still fails); `check` names what is wrong.
    `minds_syncs`: a sync that failed counts as wrong when it is tried again on the same file.
    """

    name: str
    prepare: Callable[[Path], None]
    begin: Callable[[Path], Any]
    act: Callable[[Any, Say], None]
    again: Callable[[Any, Say], None]
    check: Callable[[Trial], list[str]]
    minds_syncs: bool = True


class Swept(NamedTuple):
    """How many trials of a writer, what was wrong in which, and how many calls it makes."""

    trials: int
    violations: tuple[str, ...]
    points: int = 0


def sweep(
    writer: Writer,
    place: Path,
    modes: tuple[str, ...] = MODES,
    *,
    faults: MakeFaults = python_faults,
    every: int = 1,
) -> Swept:
    """All calls, all modes; or of a writer with very many only every so-many-th call and the last two."""
    template = place / "template"
    template.mkdir()
    writer.prepare(template)
    trials, points, violations = 0, 0, []
    for trial in _trials(writer, template, place, modes, faults, every):
        trials += not trial.is_calm
        points = max(points, trial.k - 1)
        told = [line for line in trial.told if line.startswith("violation ")]
        if trial.code == NOT_IN_WORDS:
            told.append("an error that is not in words")
        found = told + writer.check(trial)
        violations += [f"{writer.name}, call {trial.k}, {trial.mode}: {what}" for what in found]
        shutil.rmtree(trial.folder)
    return Swept(trials, tuple(violations), points)


def _trials(
    writer: Writer, template: Path, place: Path, modes: tuple[str, ...], faults: MakeFaults, every: int
) -> Iterator[Trial]:
    folder = place / "trial"
    few = _few(writer, template, folder, faults, every) if every > 1 else ()
    for mode in modes:
        for k in few or range(1, MOST_CALLS):
            shutil.copytree(template, folder)
            faulty = faults(folder, k, mode)
            code, told = in_child(lambda say, k=k, faulty=faulty: _one(writer, folder, k, faulty, say))
            if "past the last call" in told:
                yield Trial(folder, k, mode, code, told)
                break
            if code == NO_FAULT:  # a call that cannot be short
                shutil.rmtree(folder)
                continue
            yield Trial(folder, k, mode, code, told)
        else:
            raise AssertionError(f"{writer.name}: more than {MOST_CALLS} calls")


def _few(writer: Writer, template: Path, folder: Path, faults: MakeFaults, every: int) -> tuple[int, ...]:
    """Calls spread over the whole, the last two (names are made durable there), and one past the end."""
    shutil.copytree(template, folder)
    faulty = faults(folder, MOST_CALLS, MODES[0])
    _, told = in_child(lambda say: _one(writer, folder, MOST_CALLS, faulty, say))
    shutil.rmtree(folder)
    calls = next(int(line.removeprefix("calls ")) for line in told if line.startswith("calls "))
    return (*range(1, calls - 1, every), calls - 1, calls, calls + 1)


def in_child(work: Callable[[Say], int]) -> tuple[int, tuple[str, ...]]:
    """Run in a fork that ends at once; its exit code and the lines it said."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        code = NOT_IN_WORDS
        try:
            REAL["close"](reading)
            code = work(lambda line: _say(writing, line))
        except BaseException as error:
            _say(writing, f"violation {type(error).__name__}: {error}")
        finally:
            os._exit(code)
    os.close(writing)
    with os.fdopen(reading, "rb") as lines:
        told = tuple(lines.read().decode().splitlines())
    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    return DIED if code == -signal.SIGKILL else code, told


def _say(writing: int, line: str) -> None:
    REAL["write"](writing, line.replace("\n", " ").encode() + b"\n")


def _one(writer: Writer, folder: Path, k: int, faulty: Faults, say: Say) -> int:
    state = writer.begin(folder)
    faulty.arm()
    code = _attempt(writer.act, state, say)
    if faulty.calls < k:
        say("past the last call")
        say(f"calls {faulty.calls}")
        return code
    if not faulty.hits:
        return NO_FAULT
    _attempt(writer.again, state, say)
    faulty.disarm()
    for what in faulty.wrong if writer.minds_syncs else []:
        say(f"violation {what}")
    return code


def _attempt(step: Callable[[Any, Say], None], state: Any, say: Say) -> int:
    try:
        step(state, say)
    except BenchError as error:
        say(f"refused {error}")
        return SAID_FAILED
    return SAID_DONE
