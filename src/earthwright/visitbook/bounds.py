"""How large, deep and long the text of a visit book is: one look from left to right, before a parser is let at it.

A parser keeps a table for every level of ``a.a.a.a = 1`` and goes into brackets by calling itself, so a file of 40 kB
could ask for gigabytes. The look is in proportion to the text. It goes by the same marks as the parser, so it may stop
where the text is not TOML any more: the parser stops there too.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

from ..base import limits
from ..base.errors import VisitBookError
from ..base.limits import Bound
from ..site.step import OF

# Nearly every line is a name and a plain value, or begins an entry; such a line is one mark, which halves the time.
_NAME = rf"[A-Za-z0-9_-]{{1,{limits.BOOK_KEY.most}}}"
_TOKEN = re.compile(
    rf"""[ \t\r]*+(?:(?P<line>^{_NAME}[ \t]*+=[ \t]*+(?:"[^"\\\n]*+"|[0-9:-]{{1,20}}+(?:\.[0-9]{{1,20}}+)?|true|false)[ \t]*+\n)"""
    rf"""|(?P<head>^\[\[{_NAME}\]\][ \t]*+\n)"""
    r'''|(?P<string>"""(?:[^"\\]|\\.|"{1,2}(?!"))*+"{3,5}|\'\'\'(?:[^']|'{1,2}(?!'))*+'{3,5}'''
    r"""|"(?!"")(?:[^"\\\n]|\\.)*+"|'(?!\'\')[^'\n]*+')"""
    r"""|(?P<comment>\#[^\n]*+)|(?P<mark>[\[\]{}.=,\n])|(?P<word>[^\s\[\]{}.=,"'\#]++)|(?P<end>.))""",
    re.DOTALL | re.MULTILINE,
)
_DEEPER, _HIGHER = "[{", "]}"


def too_much(text: str) -> str:
    """What is beyond its bound in a text, with its line; empty when nothing is."""
    look = _Look()
    for found in _TOKEN.finditer(text):
        kind = found.lastgroup or ""
        if kind == "end":  # not TOML from here on, and the parser will say so
            return ""
        beyond = look.at(kind, found[kind])
        if beyond:
            line = text.count("\n", 0, found.start()) + 1
            return f"line {line}: {beyond}"
    return ""


# What tells one thing that is read from another.
_NAMES = ("read", *OF, "link", "point", "between")


def refuse_too_many(data: Mapping[str, object], file: str) -> None:
    """Raises VisitBookError for a visit with more steps than anybody takes: each rests on those before it."""
    steps = data.get("step")
    steps = [s for s in steps if isinstance(s, dict)] if isinstance(steps, list) else []
    moves = sum("off" in s or "on" in s for s in steps)
    same = Counter(repr([s.get(n) for n in _NAMES]) for s in steps if "read" in s)
    counted = ((limits.STEPS, len(steps)), (limits.MOVES, moves), (limits.REPEATS, max(same.values(), default=0)))
    for bound, found in counted:
        if bound.refuses(found):
            raise VisitBookError(f"{file}: these are too many for one visit: {bound.said(found)}. Nothing was judged.")


def refuse_too_much(text: str, file: str) -> None:
    """Raises VisitBookError for a text that is larger, deeper or longer than any visit book."""
    if limits.BOOK.refuses(len(text)):
        raise VisitBookError(f"{file}: this is too large for a visit book: {limits.BOOK.said(len(text))}.")
    if beyond := too_much(text):
        raise VisitBookError(f"{file}, {beyond}. Is it the right file?")


class _Look:
    """What was counted so far."""

    def __init__(self) -> None:
        self.depth = self.parts = self.tables = self.keys = self.name = 0
        self.begins = True  # at the beginning of a line

    def at(self, kind: str, text: str) -> str:
        """Count one mark; what is beyond its bound."""
        if kind == "comment":
            return ""
        if kind == "line":
            return self._mark("=", begins=False) or self._mark("\n", begins=False)
        if kind == "head" and not self.depth:
            self.tables, self.keys, self.begins = self.tables + 1, 0, True
            return _beyond(limits.BOOK_TABLES, self.tables)
        begins, self.begins = self.begins, False
        if kind == "mark":
            return self._mark(text, begins)
        self.name = len(text)  # a name if an equals sign or a full stop follows
        return _beyond(limits.BOOK_WORD, self.name) if kind == "word" else ""

    def _mark(self, mark: str, begins: bool) -> str:
        if mark in ".=":
            said = _beyond(limits.BOOK_KEY, self.name)
            self.parts = self.parts + 1 if mark == "." else 0
            self.keys += mark == "="
            return said or _beyond(limits.BOOK_DEPTH, self.parts) or _beyond(limits.BOOK_KEYS, self.keys)
        self.parts = self.name = 0
        if mark in _DEEPER:
            if mark == "[" and begins and not self.depth:
                self.tables, self.keys = self.tables + 1, 0
            self.depth += 1
        elif mark in _HIGHER:
            self.depth = max(0, self.depth - 1)
        elif mark == "\n":
            self.begins = True
        return _beyond(limits.BOOK_DEPTH, self.depth) or _beyond(limits.BOOK_TABLES, self.tables)


def _beyond(bound: Bound, found: int) -> str:
    return f"this cannot be read as a visit book: {bound.said(found)}" if bound.refuses(found) else ""
