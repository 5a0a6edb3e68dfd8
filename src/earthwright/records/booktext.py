"""Tables of a visit as the text of a visit book, which reads back as the same visit."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from ..visitbook.read import MORE, TABLES
from ..visitbook.write import toml_digits, toml_key, toml_list, toml_table, toml_text
from .json_values import DIGITS

# What a form posts as text and the reader of entries takes for a number all the same: how many, and metres along a cable.
POINTS, LOOSE = "points", ("points", "count")
_PLAIN = re.compile(r"[0-9]+(\.[0-9]+)?")


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
        if key in LOOSE and _PLAIN.fullmatch(value.strip()):
            return f"{Decimal(value.strip()):f}"
        return toml_digits(value) if key in DIGITS else toml_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return str(value).replace("Infinity", "inf").replace("NaN", "nan")
    if isinstance(value, (dt.datetime, dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        inner = {k: _value(v, key if key in (*DIGITS, POINTS) else k) for k, v in value.items() if v is not None}
        if key == POINTS and all(_PLAIN.fullmatch(v) for v in inner.values()):
            inner = dict(
                sorted(inner.items(), key=lambda item: Decimal(item[1]))
            )  # as the reader of entries takes them
        return toml_table(inner)
    return toml_list([_value(v, "" if key in LOOSE else key) for v in value if v is not None])
