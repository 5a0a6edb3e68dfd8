"""One catalogue of findings: every family of the code has its entry there, every entry its finding, and docs follow it."""

from __future__ import annotations

import ast
import re
import runpy
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.assess.circuits.word_outcomes import TESTS
from earthwright.base.catalogue import families
from earthwright.base.errors import Finding
from earthwright.cli.main import main
from earthwright.rules import RuleBook
from earthwright.visitbook import read_text

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src" / "earthwright"
FAMILIES = families()
# Families whose names are put together: a test's name, a kind of the rule data.
MADE = {f"{t.replace(' ', '_')}.bad" for t in TESTS} | {"sources.any", "sources.island"}
NAME = re.compile(r"[a-z_]+\.[a-z_]+")
# Names of the same shape that are no families: tables and requirements of an edition, after which proposals are named, and a file.
OTHERS = {"site.zip"} | {
    name
    for e in RuleBook.load().of("BS 7671")
    for name in (*e.tables, *(str(k) for k in e.table("clauses").keys_of("requirement")))
}


@cache
def trees() -> tuple[tuple[Path, tuple[ast.AST, ...]], ...]:
    """The files that may speak of findings, each with all that stands in it."""
    others = ("report", "web", "paper", "cli", "rules", "portfolio", "physics")
    files = (p for p in sorted(SRC.rglob("*.py")) if p.relative_to(SRC).parts[0] not in others)
    return tuple((p, tuple(ast.walk(ast.parse(p.read_text(encoding="utf-8"))))) for p in files)


def named() -> dict[str, str]:
    """Every constant that looks like a family, with the file it stands in."""
    heads = {n.partition(".")[0] for n in FAMILIES}
    return {
        n.value: path.name
        for path, tree in trees()
        for n in tree
        if isinstance(n, ast.Constant)
        and isinstance(n.value, str)
        and NAME.fullmatch(n.value)
        and n.value.partition(".")[0] in heads
    }


def calls() -> Iterator[tuple[str, str, str]]:
    """Families of findings that are written out, with the severity where one is given beside it, and the file."""
    for path, tree in trees():
        for n in tree:
            if not isinstance(n, ast.Call):
                continue
            made, at = ast.unparse(n.func), f"{path.name}:{n.lineno}"
            if made == "Finding.of" and isinstance(n.args[0], ast.Constant):
                yield str(n.args[0].value), "", at
            if made == "Finding" and len(n.args) > 3 and isinstance(n.args[3], ast.Constant):
                words = re.findall(r"Severity\.([A-Z]+)", ast.unparse(n.args[2]).partition(" if ")[0])
                yield str(n.args[3].value), words[0].lower() if words else "", at


def test_every_family_of_the_code_has_its_entry_and_every_entry_its_family() -> None:
    found = {family for family, _, _ in calls()} | set(named())
    assert len(found) > 110
    assert found - set(FAMILIES) - OTHERS == set()
    assert set(FAMILIES) - found - MADE == set()
    assert set(FAMILIES) >= MADE
    kinds = {
        str(k)
        for e in RuleBook.load().of("BS 7671")
        if e.has("sources.rules")
        for k in e.table("sources.rules").keys_of("kind")
    }
    assert {f"sources.{k}" for k in kinds} <= MADE


def test_each_speaks_as_loudly_as_its_entry_says() -> None:
    wrong = [(f, s, at) for f, s, at in calls() if s and s not in {w.value for w in FAMILIES[f].weights}]
    assert wrong == []


def test_a_weight_is_written_down_once_in_the_catalogue() -> None:
    """Code gives a severity only where a family has more than one, because then it hangs on the case."""
    again = [(f, at) for f, s, at in calls() if s and len(FAMILIES[f].weights) == 1]
    assert again == []
    for family in FAMILIES.values():
        if len(family.weights) == 1:
            assert Finding.of(family.name, "here", "this").severity is family.weights[0]
        else:
            with pytest.raises(ValueError, match="unpack"):
                Finding.of(family.name, "here", "this")


@pytest.mark.parametrize(
    "name", ["24-ragged-board", "27-swapped-and-point", "07-tt-electrode", "02-flattered", "25-null-and-paint"]
)
def test_what_visits_find_is_in_the_catalogue(name: str) -> None:
    read = read_text((ROOT / "tests" / "visits" / f"{name}.toml").read_text(encoding="utf-8"))
    assert read.visit is not None
    findings = assess(read.visit, found=read.findings).findings
    assert findings
    for f in findings:
        assert f.severity in FAMILIES[f.family].weights, f


def test_entries_are_sentences_and_no_two_say_the_same() -> None:
    for f in FAMILIES.values():
        for text in (f.means, f.first):
            assert re.fullmatch(r"[A-Zr].*\.", text), f.name
            assert len(text) < 140, f.name
    means = [f.means for f in FAMILIES.values()]
    assert len(set(means)) == len(means)


def test_the_page_is_fresh() -> None:
    made = runpy.run_path(str(ROOT / "docs" / "findings.py"))
    assert (ROOT / "docs" / "findings.md").read_text(encoding="utf-8") == made["page"](), (
        "run .venv/bin/python docs/findings.py"
    )


def test_the_command_prints_one_or_a_group() -> None:
    one = CliRunner().invoke(main, ["findings", "copper.zero"])
    assert FAMILIES["copper.zero"].means.split()[0] in one.output
    assert "ring.break" not in one.output
    assert CliRunner().invoke(main, ["findings", "ring."]).output.count("ring.") > 8
    assert CliRunner().invoke(main, ["findings", "no.such"]).exit_code == 2
