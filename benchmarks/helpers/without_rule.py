"""A plugin for pytest that hides one rule of the data: ``WITHOUT_RULE="bs-7671 zs.breaker B|32"``; no keys: the whole table."""

from __future__ import annotations

import os
from typing import Any

from attrs import evolve

from earthwright.rules import load

STANDARD, TABLE, *KEYS = os.environ["WITHOUT_RULE"].split(" ", 2)
_made = load._edition
hidden: list[int] = []


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """How often the rule was hidden: one that never was proves nothing."""
    terminalreporter.write_line(f"rules hidden: {sum(hidden)}")


def _hidden(raw: Any, name: str, folder: str, faults: list[str], made: Any) -> Any:
    edition = _made(raw, name, folder, faults, made)
    if edition is None or folder != STANDARD or TABLE not in edition.tables:
        return edition
    if not KEYS:
        hidden.append(1)
        return evolve(edition, tables=tuple(t for t in edition.tables if t != TABLE))
    wanted, fetch = KEYS[0].split("|"), edition.fetch

    def without(table_id: str) -> Any:
        table = fetch(table_id)
        if table_id != TABLE:
            return table
        kept = tuple(r for r in table.rows if [str(r.keys[n]) for n in table.names] != wanted)
        hidden.append(len(table.rows) - len(kept))
        return evolve(table, rows=kept)

    return evolve(edition, fetch=without)


load._edition = _hidden
