"""Tables of a visit as the text of a visit book, which reads back as the same visit."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from ..visitbook.read import MORE, TABLES
from .typed import DIGITS

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_DIGITS = re.compile(r"[+-]?(0|[1-9]\d*)(\.\d+)?")


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
                lines += _table(f"[[{_key(name)}]]", one)
        else:
            lines += _table(f"[{_key(name)}]", table)
    return "\n".join(lines).lstrip("\n") + "\n"


def _table(header: str, table: Mapping[str, Any]) -> list[str]:
    return ["", header, *(f"{_key(k)} = {_value(v, k)}" for k, v in table.items() if v is not None)]


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _string(key)


def _value(value: Any, key: str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return value if key in DIGITS and _DIGITS.fullmatch(value) else _string(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return str(value).replace("Infinity", "inf").replace("NaN", "nan")
    if isinstance(value, (dt.datetime, dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v, k)}" for k, v in value.items() if v is not None) + " }"
    return "[" + ", ".join(_value(v, key) for v in value if v is not None) + "]"


def _string(text: str) -> str:
    # A JSON string is a TOML string, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
