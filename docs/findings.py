"""Writes findings.md from the catalogue of findings: ./.venv/bin/python docs/findings.py"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from earthwright.base.catalogue import families

HEAD = """# What a finding means

Every family of findings, as the record names it (`family`), with how loudly it speaks as a rule, what it means and what to do first. What was found in a
visit, and why, stands in the finding itself. This page is written by `docs/findings.py` from `src/earthwright/base/findings.toml`; a test holds both complete.
`earthwright findings` prints the same, `earthwright findings ring.` one group of it. How the checks over a whole visit reckon stands in [checks.md](checks.md).
"""


def page() -> str:
    """The page."""
    lines = [HEAD]
    for group, some in groupby(families().values(), key=lambda f: f.group):
        lines += [f"## {group}\n", "| family | weight | means | first |", "| --- | --- | --- | --- |"]
        lines += [f"| `{f.name}` | {', '.join(w.value for w in f.weights)} | {f.means} | {f.first} |" for f in some]
        lines.append("")
    return "\n".join(lines)


if __name__ == "__main__":
    (Path(__file__).parent / "findings.md").write_text(page(), encoding="utf-8")
