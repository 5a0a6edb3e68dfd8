"""The data dictionary of a store: a Frictionless data package with every column, its unit and what it means."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from .. import __version__
from .tables import CODE, COUNT, DAY, FLAG, KEY, MILLI, TABLES, TEXT, Column

_TYPES = {
    KEY: "integer",
    CODE: "integer",
    COUNT: "integer",
    MILLI: "integer",
    DAY: "date",
    FLAG: "boolean",
    TEXT: "string",
}
_MEANS = {
    KEY: "A keyed number: the same for the same thing, and nobody without the key can tell whose it is.",
    CODE: "A code; table 'code' says the word.",
    MILLI: "A whole number of thousandths of the unit.",
}


def description(files: Mapping[str, Sequence[str]], about: Mapping[str, Any]) -> str:
    """The data package as JSON. ``files``: of each table;  ``about``: more that the store says of itself."""
    resources = [_resource(name, paths) for name, paths in files.items() if paths]
    said = {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "portfolio",
        "title": "Inspected homes as tables",
        "description": "Results of inspections, flattened. No name, place or free text stands here. A verdict speaks of what the "
        "readings show about one thing, in the state they were taken in; the inspector judges and signs.",
        "program": f"earthwright {__version__}",
        **about,
        "resources": resources,
    }
    return json.dumps(said, ensure_ascii=False, indent=1) + "\n"


def _resource(name: str, paths: Sequence[str]) -> dict[str, Any]:
    table = TABLES[name]
    keys = [
        {"fields": [c.name], "reference": {"resource": "code", "fields": ["code"]}}
        for c in table.columns
        if c.kind == CODE and name != "code"
    ]
    schema: dict[str, Any] = {"fields": [_field(c) for c in table.columns]}
    if keys:
        schema["foreignKeys"] = keys
    return {
        "name": name.replace("_", "-"),
        "title": table.about,
        "path": list(paths),
        "format": "parquet",
        "mediatype": "application/vnd.apache.parquet",
        "schema": schema,
    }


def _field(c: Column) -> dict[str, Any]:
    said = {
        "name": c.name,
        "type": _TYPES[c.kind],
        "description": " ".join((f"{c.about[0].upper()}{c.about[1:]}.", _MEANS.get(c.kind, ""))).strip(),
    }
    if c.unit:
        said["unit"] = f"thousandths of {c.unit}" if c.kind == MILLI else c.unit
    return said | ({} if c.optional else {"constraints": {"required": True}})
