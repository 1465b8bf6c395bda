"""`valvebench variants list [FOLDER] | differ A B`: the library, and what two variants do not have in common."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.services import MakeServices, Services
from valvebench.diagnose.variant_difference import NOT_THERE, Difference, differences, summary_of, words_of
from valvebench.model.errors import bad
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant

if TYPE_CHECKING:
    from valvebench.bench.library import OnShelf

LIST: Final = "list"
DIFFER: Final = "differ"


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print the library, or the differences of two variants."""
    parser = Parser("variants", "The variant library, and what two variants do not have in common.")
    parser.add_argument("what", choices=[LIST, DIFFER], help="list a folder of variants, or compare two files")
    parser.add_argument("first", nargs="?", type=Path, help="for list a folder (your own), for differ a variant file")
    parser.add_argument("second", nargs="?", type=Path, help="for differ the other variant file")
    arguments = parser.read(given)
    if arguments.what == LIST:
        data, text = _list(services(), arguments.first, arguments.second)
    else:
        data, text = _differ(services(), arguments.first, arguments.second)
    answer(arguments.json, data, text)
    return DONE


# --- the library --------------------------------------------------------------------------


def _list(services: Services, folder: Path | None, second: Path | None) -> tuple[dict[str, Any], str]:
    if second is not None:
        raise bad("variants list", str(second), "one folder, or none for your own")
    if folder is not None and not folder.is_dir():
        raise bad("variants list", str(folder), "a folder of variant files")
    shelves = services.library(str(folder or "")).files()
    shown = [shelf for shelf in shelves if folder is None or not shelf.is_example]
    rows = [_row(shelf) for shelf in shown]
    return {"variants": rows}, "\n".join(_row_text(row) for row in rows) or "No variants there."


def _row(shelf: OnShelf) -> dict[str, Any]:
    from valvebench.diagnose.variant_limits import provenance_words
    from valvebench.model.part_numbers import numbers_in_force

    variant = shelf.variant
    return {
        "file": str(shelf.path),
        "key": variant.key if variant else None,
        "title": variant.title if variant else None,
        "example": shelf.is_example,
        "pins": len(variant.pins) if variant else None,
        "part_numbers": list(numbers_in_force(variant.part_numbers)) if variant else [],
        "limits": provenance_words(variant) if variant else None,
        "missing": [f"{lack.where}: {lack.words}" for lack in shelf.lacks],
        "problems": shelf.problem.splitlines(),
    }


def _row_text(row: dict[str, Any]) -> str:
    if row["problems"]:
        return "\n".join([f"{row['file']}: cannot be used", *(f"  {line}" for line in row["problems"])])
    kind = " (example)" if row["example"] else ""
    numbers = f", {', '.join(row['part_numbers'])}" if row["part_numbers"] else ""
    lines = [f"{row['key']}: {row['title']}{kind}, {row['pins']} pins{numbers}", f"  limits: {row['limits']}"]
    return "\n".join([*lines, *(f"  missing: {line}" for line in row["missing"])])


# --- two of them --------------------------------------------------------------------------


def _differ(services: Services, first: Path | None, second: Path | None) -> tuple[dict[str, Any], str]:
    if first is None or second is None:
        raise bad("variants differ", "one file" if first is not None else "nothing", "two variant files")
    one, other = (read_variant(services.read_file(path), source=str(path)) for path in (first, second))
    rows = differences(one, other)
    names = (one.key, other.key) if one.key != other.key else (str(first), str(second))
    lines = [words_of(row, one=names[0], other=names[1]) for row in rows]
    return _data(one, other, rows), "\n".join([summary_of(rows), *lines])


def _data(one: Variant, other: Variant, rows: Sequence[Difference]) -> dict[str, Any]:
    return {"a": one.key, "b": other.key, "summary": summary_of(rows), "rows": [_difference(row) for row in rows]}


def _difference(row: Difference) -> dict[str, Any]:
    texts = [None if text == NOT_THERE else text for text in (row.one, row.other)]
    return {"table": row.table, "what": row.what, "a": texts[0], "b": texts[1], "must_match": row.must_match}
