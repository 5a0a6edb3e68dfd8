"""Tables of a visit as the text of a visit book, which reads back as the same visit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from ..visitbook.read import MORE, TABLES
from ..visitbook.write import toml_digits, toml_key, toml_list, toml_table, toml_text
from .typed import DIGITS


def as_toml(tables: Mapping[str, Any], heading: str = "") -> str:
    """The text of a visit book (TOML) that holds these tables, in the order of the visit book.

    heading  remark above it, one or more lines. Texts are written so that nothing in them can end them early.
    """
    lines = [f"# {line}".rstrip() for line in heading.splitlines()]
    order = [*TABLES, *MORE]
    for name in sorted(tables, key=lambda n: (order.index(n) if n in order else len(order), n)):
        table = tables[name]
        if isinstance(table, list):
            for one in table:
                lines += _table(f"[[{toml_key(name)}]]", one)
        else:
            lines += _table(f"[{toml_key(name)}]", table)
    return "\n".join(lines).lstrip("\n") + "\n"


def _table(header: str, table: Mapping[str, Any]) -> list[str]:
    return ["", header, *(f"{toml_key(k)} = {_value(v, k)}" for k, v in table.items() if v is not None)]


def _value(value: Any, key: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return toml_digits(value) if key in DIGITS else toml_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return str(value).replace("Infinity", "inf").replace("NaN", "nan")
    if isinstance(value, (dt.datetime, dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return toml_table({k: _value(v, key if key in DIGITS else k) for k, v in value.items() if v is not None})
    return toml_list([_value(v, key) for v in value if v is not None])
