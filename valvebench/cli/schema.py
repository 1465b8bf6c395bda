"""`valvebench schema variant|entry`: the JSON Schemas, as published in `resources/schema`."""

from __future__ import annotations

from collections.abc import Sequence

from valvebench.cli.options import DONE, Parser, answer
from valvebench.model.schema import schema_of, schema_text


def run(words: Sequence[str], services: object) -> int:  # noqa: ARG001  one signature for every command
    """Print one schema."""
    parser = Parser("schema", "Print a JSON Schema.")
    parser.add_argument("what", choices=["variant", "entry"], help="which file")
    arguments = parser.read(words)
    answer(arguments.json, schema_of(arguments.what), schema_text(arguments.what).rstrip("\n"))
    return DONE
