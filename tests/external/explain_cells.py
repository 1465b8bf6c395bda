"""The study of explanations in cells: a body and a part of its jobs, each kept in a file once it has run.

What a job is does not depend on the order in which cells run: its dice are the CRC-32 of its name.  A cell's
file lies in a folder named after everything its result depends on, so that nothing stale is ever shown.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from tests.external.explain_bench import Bench, is_right
from tests.external.explain_truth import AS_ASSUMED, CASE, KINDS, Body, Part, World, dice_for, draw_fault, with_typo
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explained import Explained

ROOT = Path(__file__).parents[2]
KEPT = ROOT / "build" / "explain-study"
WIDER = World(spread=1.5, celsius_sd=2.0)
BODIES, PARTS = 53, 4
TOLD_APART, ALIKE = 9.0, 2.0
TYPO_SHARE = 0.05
EACH, DRAWS, WIDER_DRAWS, NEXT_JOBS, TYPO_JOBS = 4, 8000, 4000, 530, 530


class Trial(NamedTuple):
    """One fault, all usual readings taken."""

    kind: str
    apart: bool
    hidden: bool
    first: bool
    three: bool
    size: int
    p: float
    alone: bool


class Draw(NamedTuple):
    """A job as often as it occurs: whether sound, whether one reading is a slip, stated and right."""

    sound: bool
    typo: bool
    p: float
    right: bool


class Steps(NamedTuple):
    """Readings until one answer holds 95 %, in three orders; whether the program's got there, and was right."""

    sound: bool
    program: int
    device: int
    pin: int
    sure: bool
    right: bool


class Typo(NamedTuple):
    """Right at once, after one reading the program asks for, after two; in the first three; what the slip did."""

    first: bool
    once: bool
    twice: bool
    three: bool
    changed: bool
    sure: bool


def one_fault(bench: Bench, jobs: range) -> Iterator[Trial]:
    """Every kind of fault, `jobs` of each."""
    for kind in KINDS:
        for count in jobs:
            dice = dice_for(f"{bench.number} {kind.value} {count}")
            truth = draw_fault(bench.body, dice, kind)
            if truth.fault is not kind:
                continue
            found = bench.explain(bench.usual(bench.part(truth, dice)))
            top, cost = found.explanations[0], bench.cost(truth)
            yield Trial(
                kind.value,
                kind is Fault.HEALTHY or cost > TOLD_APART,
                cost <= ALIKE and top.fault is Fault.HEALTHY,
                is_right(found, truth),
                is_right(found, truth, within=3),
                1 + len(top.same_as),
                top.p,
                (top.fault, top.where) == (truth.fault, truth.where),
            )


def drawn(name: str, world: World, bench: Bench, jobs: range) -> Iterator[Draw]:
    """Jobs drawn from the priors, some with a slip."""
    for k in jobs:
        dice = dice_for(f"{name} {bench.number} {k}")
        truth = draw_fault(bench.body, dice)
        values = bench.usual(bench.part(truth, dice, world))
        has_typo = dice.random() < TYPO_SHARE
        if has_typo:
            values, _ = with_typo(values, dice)
        found = bench.explain(values)
        p = min(found.explanations[0].p, 1.0)
        yield Draw(truth.fault is Fault.HEALTHY, has_typo, p, is_right(found, truth))


def assumed(bench: Bench, jobs: range) -> Iterator[Draw]:
    return drawn("assumed", AS_ASSUMED, bench, jobs)


def wider(bench: Bench, jobs: range) -> Iterator[Draw]:
    """Truth half as much again as assumed, and twice the error of temperature."""
    return drawn("wider", WIDER, bench, jobs)


def until_sure(bench: Bench, part: Part, order, *, most: int):
    """Readings until one answer holds 95 %, in a given order, or as the program asks (order None)."""
    values = []
    while True:
        found = bench.explain(values, asking=order is None) if values or order is None else None
        if found is not None and values and found.is_settled:
            return len(values), found, True
        if len(values) >= most or (order is None and not askable(found)):
            return most, found, False
        a, b = order[len(values)] if order is not None else askable(found)
        values.append((a, b, part.shown(a, b)))


def askable(found: Explained):
    """The first thing asked for that this bench can do: a pair or a repeat at the connector."""
    for ask in found.next:
        if ask.what in ("pair", "repeat") and ask.at.value == "case_connector":
            return ask.from_node, ask.to_node
    return None


def by_pin(body: Body):
    """Pin by pin: its devices, then the case."""
    order = []
    for pin in body.pins:
        order += [pair for pair in body.pairs if pin in pair and CASE not in pair and pair not in order]
        order += [pair for pair in body.pairs if set(pair) == {pin, CASE}]
    return order


def next_reading(bench: Bench, jobs: range) -> Iterator[Steps]:
    """The program's order against two usual ones, on the same parts; who never gets there counts as all."""
    most = len(bench.body.pairs)
    for k in jobs:
        name = f"next {bench.number} {k}"
        truth = draw_fault(bench.body, dice_for(name))
        counts, is_sure, right = [], False, False
        for order in (None, bench.body.pairs, by_pin(bench.body)):
            part = bench.part(truth, dice_for(f"{name} part"))
            n, found, got_there = until_sure(bench, part, order, most=most)
            counts.append(n)
            if order is None:
                is_sure, right = got_there, is_right(found, truth)
        yield Steps(truth.fault is Fault.HEALTHY, *counts, is_sure, right)


def slips(bench: Bench, jobs: range) -> Iterator[Typo]:
    """Faults that could be told apart without the slip, and sound parts; every kind as often."""
    for k in jobs:
        dice = dice_for(f"typo {bench.number} {k}")
        truth = draw_fault(bench.body, dice, dice.choice(KINDS))
        while truth.fault is not Fault.HEALTHY and bench.cost(truth) <= TOLD_APART:
            truth = draw_fault(bench.body, dice, dice.choice(KINDS))
        part = bench.part(truth, dice)
        values, changed = with_typo(bench.usual(part), dice)
        first, three, sure = [], [], []
        for _ in range(3):
            found = bench.explain(values, asking=len(first) < 2)
            first.append(is_right(found, truth))
            three.append(is_right(found, truth, within=3))
            sure.append(found.is_settled)
            pair = askable(found)
            if pair is not None:
                values = [*values, (*pair, part.shown(*pair))]
        yield Typo(*first, three[0], changed, sure[0])


class Study(NamedTuple):
    """How its jobs are made on a body, what a job's row is, and how many jobs there are in all."""

    run: Callable[[Bench, range], Iterator[tuple]]
    row: type
    jobs: int


STUDIES = {
    "one fault": Study(one_fault, Trial, EACH * BODIES),
    "assumed": Study(assumed, Draw, DRAWS),
    "wider": Study(wider, Draw, WIDER_DRAWS),
    "next": Study(next_reading, Steps, NEXT_JOBS),
    "typo": Study(slips, Typo, TYPO_JOBS),
}


class Cell(NamedTuple):
    """A part of a study on one body."""

    study: str
    body: int
    part: int

    def jobs(self) -> range:
        """Numbers of its jobs on that body."""
        study = STUDIES[self.study]
        mine = study.jobs // BODIES + (self.body < study.jobs % BODIES)
        return range(mine * self.part // PARTS, mine * (self.part + 1) // PARTS)

    def file(self) -> Path:
        return KEPT / digest() / f"{self.study.replace(' ', '-')}-{self.body:02}-{self.part}.json"


def cells(studies: Sequence[str] = tuple(STUDIES), *, share: tuple[int, int] = (0, 1)) -> list[Cell]:
    """All cells, a quarter of the jobs on every body first; `share` (i, n): every n-th body from the i-th."""
    bodies = range(share[0], BODIES, share[1])
    return [Cell(study, body, part) for part in range(PARTS) for body in bodies for study in studies]


_DIGEST: list[str] = []


def digest() -> str:
    """Of everything a result depends on: the program's sums, what is assumed beforehand, and the truth."""
    if not _DIGEST:
        files = [*(ROOT / "valvebench" / "diagnose").glob("explain*.py"), ROOT / "valvebench" / "physics" / "grid.py"]
        files += [ROOT / "resources" / "priors.json", *(Path(__file__).parent / f"explain_{n}.py" for n in _TRUTH)]
        whole = hashlib.sha256()
        for file in sorted(files):
            whole.update(file.name.encode() + b"\0" + file.read_bytes())
        _DIGEST.append(whole.hexdigest()[:12])
    return _DIGEST[0]


_TRUTH = ("bench", "cells", "truth")


class Ran(NamedTuple):
    """Rows of the cells that have run, how many of all have, and the seconds of processor they took."""

    rows: list
    done: int
    of: int
    cpu_s: float


def run(wanted: Sequence[Cell], *, minutes: float = float("inf")) -> None:
    """Run the cells that have not run yet, until the time is over; a cell that has begun is finished."""
    began, bench = time.monotonic(), None
    for cell in wanted:
        if cell.file().exists():
            continue
        if time.monotonic() - began > 60 * minutes:
            return
        cpu_s = time.process_time()
        if bench is None or bench.number != cell.body:
            bench = Bench(cell.body)
        rows = [list(row) for row in STUDIES[cell.study].run(bench, cell.jobs())]
        kept = json.dumps({"rows": rows, "cpu_s": time.process_time() - cpu_s})
        cell.file().parent.mkdir(parents=True, exist_ok=True)
        half = cell.file().with_suffix(".half")
        half.write_text(kept, "utf-8")
        half.replace(cell.file())


def ran(study: str) -> Ran:
    """What the cells of a study found that have run so far."""
    rows, done, cpu_s, every = [], 0, 0.0, cells([study])
    for cell in every:
        if cell.file().exists():
            kept = json.loads(cell.file().read_text("utf-8"))
            rows += [STUDIES[study].row(*row) for row in kept["rows"]]
            done, cpu_s = done + 1, cpu_s + kept["cpu_s"]
    return Ran(rows, done, len(every), cpu_s)
