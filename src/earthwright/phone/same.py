"""The same answers everywhere: what a visit book leads to, as the hash that papers carry."""

from __future__ import annotations

from ..assess import assess
from ..paper.page import record_hash
from ..visitbook import read_text


def hash_of_text(text: str) -> str:
    """Hash of the record that a visit book's text leads to; ``no visit`` where it cannot be read."""
    book = read_text(text, "visit book")
    if book.visit is None:
        return "no visit"
    return record_hash(assess(book.visit, found=book.findings, broken=book.broken))
