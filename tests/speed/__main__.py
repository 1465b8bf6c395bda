"""`python -m tests.speed [--out FILE]`: one table of figures against rivals in the same run."""

from __future__ import annotations

import argparse
import importlib.util
import json
import platform
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.speed.measure import Row, calibration

GROUPS = ("judging", "identify", "air", "heat", "processes", "workbook", "window", "archive")


def from_workbook(found: dict[str, float]) -> list[Row]:
    """The figures of the workbook's own benchmark as rows."""
    note = f"{found['readings']} readings, {found['cells']} cells"
    ours, raw, each = (found[key] for key in ("ours_s", "raw_s", "raw_with_a_style_for_each_cell_s"))
    return [
        Row("workbook / openpyxl (cpu)", 1000 * ours, 1000 * raw, ours / raw, limit=found["limit"], note=note),
        Row("workbook / openpyxl, a style for each cell (cpu)", 1000 * ours, 1000 * each, ours / each, note=note),
    ]


def rows_of(group: str) -> Iterable[Row]:
    module = importlib.import_module(f"tests.speed.{group}")
    return from_workbook(module.measure()) if group == "workbook" else module.rows()


def measured(groups: list[str]) -> Iterator[Row]:
    for group in groups:
        if importlib.util.find_spec(f"tests.speed.{group}") is None:
            print(f"{group}: left out, its module is not there")
            continue
        yield from rows_of(group)


def line(row: Row) -> str:
    sign = ">=" if row.at_least else "<="
    limit = f"{sign} {row.limit:g}" if row.limit is not None else ""
    figures = f"{row.ours_ms:>11.3f}{row.bare_ms:>11.3f}{row.ratio:>9.2f}"
    return f"{row.name:<62}{figures}  {limit:<8}{row.verdict:<7} {row.note}"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.speed", description=__doc__)
    parser.add_argument("--out", type=Path, help="also write the figures as JSON")
    parser.add_argument("groups", nargs="*", metavar="GROUP", help=f"some of {', '.join(GROUPS)} (default: all)")
    parser.add_argument("--million", action="store_true", help="the archive also with 1,000,000 sessions")
    arguments = parser.parse_args()
    if arguments.million:
        from tests.speed import archive

        archive.MILLION = True
    before = calibration()
    print(f"{'':<62}{'ours ms':>11}{'rival ms':>11}{'ratio':>9}  limit")
    rows = []
    for found in measured(arguments.groups or list(GROUPS)):
        rows.append(found)
        print(line(found).rstrip(), flush=True)
    after = calibration()
    print(f"calibration, 1,000,000 steps of a loop: {before:.0f} ms before, {after:.0f} ms after")
    if arguments.out is not None:
        data = {
            "python": platform.python_version(),
            "machine": platform.platform(),
            "calibration_ms": [before, after],
            "rows": [{**row._asdict(), "verdict": row.verdict} for row in rows],
        }
        arguments.out.write_text(json.dumps(data, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
