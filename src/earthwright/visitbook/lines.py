"""Where in the file an entry stands, so that a finding can name the line."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*(\"[^\"]*\"|'[^']*'|[\w.-]+)\s*=")


class Lines:
    """Line numbers of tables and keys of a TOML text, found by its headers. Advisory: 0 when not found."""

    def __init__(self, text: str) -> None:
        self._tables: dict[tuple[str, int], int] = {}
        self._keys: dict[tuple[str, int, str], int] = {}
        counts: dict[str, int] = {}
        name, number = "", 0
        inside = ""  # the closing mark of a multi-line string that is open
        for line_number, line in enumerate(text.replace("\r\n", "\n").split("\n"), 1):
            if inside:
                inside = "" if inside in line else inside
                continue
            if header := _HEADER.match(line):
                name = header.group(2).replace('"', "").replace(" ", "")
                parent = name.rpartition(".")[0]
                if header.group(1) == "[" and parent in counts:
                    number = counts[parent] - 1  # [board.usual] belongs to the last [[board]]
                else:
                    number = counts.get(name, 0)
                    counts[name] = number + 1
                self._tables[name, number] = line_number
            elif key := _KEY.match(line):
                self._keys.setdefault((name, number, key.group(1).strip("\"'")), line_number)
                for mark in ('"""', "'''"):
                    if line.count(mark) == 1:
                        inside = mark

    def of(self, table: str, number: int = 0, key: str = "") -> int:
        """Line of a key of the ``number``-th table of that name; of the table itself when the key is not found.

        A table inside another one (``board.rcd``) stands on its own header's line or on the line of its key.
        """
        found = self._keys.get((table, number, key), self._tables.get((table, number), 0))
        parent, dot, last = table.rpartition(".")
        return found or (self.of(parent, number, last) if dot else 0)
