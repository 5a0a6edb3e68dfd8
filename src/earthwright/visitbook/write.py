"""Values as they are written in a visit book."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_DIGITS = re.compile(r"(0|[1-9][0-9]*)(\.[0-9]+)?")


def toml_text(text: str) -> str:
    """A text between quotes."""
    # A JSON string is a TOML string, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_digits(text: str) -> str:
    """Digits as they were typed: bare when they are a plain number, else between quotes (``>299``, ``over-range``)."""
    return text if _DIGITS.fullmatch(text) else toml_text(text)


def toml_key(key: str) -> str:
    """A key, between quotes where it needs them."""
    return key if _BARE.fullmatch(key) else toml_text(key)


def toml_table(values: Mapping[str, str]) -> str:
    """A table on one line; its values are written already."""
    return "{ " + ", ".join(f"{toml_key(k)} = {v}" for k, v in values.items()) + " }"


def toml_list(values: Sequence[str]) -> str:
    """A list on one line; its values are written already."""
    return "[" + ", ".join(values) + "]"
