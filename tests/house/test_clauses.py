"""No clause stands in code: clauses are the edition's, found by the name of what asks (``rules/data/*/*/clauses.toml``)."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

SRC = Path(__file__).parents[2] / "src" / "earthwright"
# Of a wiring standard (411.3.2; 525, 526), of its tables, parts, chapters, sections and appendices, of an earthing code (9.5.2).
CLAUSE = re.compile(
    r"(?<![\d.,:+-])(?!127\.)[1-8][1-9]\d\.\d{1,3}(?:\.\d+)+(?!\d)|(?<![\d.,])[45]\d\d\.[1-9]\d{0,2}(?![\d.]| (?:Ω|mΩ|V|A|s|m))"
    r"|(?<![\d.,])(?:53[0-9]|54[1-4]|64[1-4]|65[1-3]|70[1-9]|71\d|72[129])\.[1-9]|(?<!\d)9\.5\.\d"
    r"|\b(?:[Tt]able|[Ss]ection|[Cc]hapter|[Pp]art|[Aa]ppendix|[Rr]egulation|[Cc]lause) \d",
)


def _texts(path: Path) -> Iterator[tuple[int, str]]:
    """Strings of a program without its docstrings; lines of any other file."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        lines = enumerate(text.splitlines(), 1)
        yield from ((n, re.sub(r"(^|\s)//.*|^\s*#.*|<!--.*-->|\{#.*#\}", "", line)) for n, line in lines)
        return
    tree = ast.parse(text)
    told = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)}
    for n in ast.walk(tree):
        if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in told:
            yield n.lineno, n.value


def test_no_clause_stands_outside_the_rule_data() -> None:
    files = [
        p
        for p in SRC.rglob("*")
        if p.suffix in (".py", ".toml", ".html", ".typ", ".js") and SRC / "rules" / "data" not in p.parents
    ]
    assert len(files) > 250
    found = [f"{p.relative_to(SRC)}:{n}: {text}" for p in files for n, text in _texts(p) if CLAUSE.search(text)]
    assert not found, "\n".join(found)
