"""Which characters the vendored font can show; what it cannot is printed as a mark, never dropped."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

MISSING = "\ufffd"


@lru_cache(maxsize=1)
def shown_by_font() -> frozenset[int]:
    """Code points in both weights of the font, from the list kept beside it (checked against the font in the tests)."""
    text = (resources.files(__package__) / "fonts" / "characters.txt").read_text(encoding="ascii")
    found: set[int] = set()
    for line in text.split():
        first, _, last = line.partition("-")
        found.update(range(int(first, 16), int(last or first, 16) + 1))
    return frozenset(found)


def printable(value: object) -> object:
    """The same data with every character that the font lacks replaced by a mark, in texts at any depth."""
    if isinstance(value, str):
        known = shown_by_font()
        return "".join(c if ord(c) in known or c in "\n\t" else MISSING for c in value)
    if isinstance(value, dict):
        return {k: printable(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [printable(v) for v in value]
    return value
