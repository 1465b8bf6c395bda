"""JSON Schemas of variant files and journal entries, from the types themselves."""

from __future__ import annotations

import inspect
import json
from typing import Any, Final

import msgspec

from valvebench.model.entry import BODY_OF_KIND
from valvebench.model.variant import Variant

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def schema_of(what: str) -> dict[str, Any]:
    """The schema of `variant` files or of an `entry` line."""
    return _variant() if what == "variant" else _entry()


def schema_text(what: str) -> str:
    """The same as text, indented, for a file."""
    return json.dumps(schema_of(what), indent=1, ensure_ascii=False) + "\n"


def _variant() -> dict[str, Any]:
    return file_schema("valvebench variant file", Variant)


def file_schema(title: str, kind: Any) -> dict[str, Any]:
    """The schema of a file that holds one value of a type."""
    schema = msgspec.json.schema(kind)
    definitions = {name: _plain_text(one) for name, one in schema.pop("$defs", {}).items()}
    return {"$schema": _DIALECT, "title": title, **schema, "$defs": definitions}


def _entry() -> dict[str, Any]:
    kinds = list(BODY_OF_KIND)
    bodies, definitions = msgspec.json.schema_components(
        [BODY_OF_KIND[kind] for kind in kinds], ref_template="#/$defs/{name}"
    )
    text, sha = {"type": "string"}, {"type": "string", "pattern": "^[0-9a-f]{64}$"}
    return {
        "$schema": _DIALECT,
        "title": "valvebench journal entry, one line",
        "type": "object",
        "properties": {
            "n": {"type": "integer", "minimum": 1},
            "at": {**text, "format": "date-time"},
            "by": text,
            "kind": {"enum": kinds},
            "body": {"type": "object"},
            "prev": sha,
        },
        "required": ["n", "at", "by", "kind", "body", "prev"],
        "additionalProperties": False,
        "oneOf": [
            {"properties": {"kind": {"const": kind}, "body": body}} for kind, body in zip(kinds, bodies, strict=True)
        ],
        "$defs": {name: _plain_text(one) for name, one in definitions.items()},
    }


def _plain_text(schema: dict[str, Any]) -> dict[str, Any]:
    """The same with its description set flush left, as not every interpreter and library hands it out."""
    return {**schema, "description": inspect.cleandoc(schema["description"])} if "description" in schema else schema
