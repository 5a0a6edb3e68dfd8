"""A file that is larger, deeper or longer than any visit is turned away before it is parsed, with the bound and its reason."""

from __future__ import annotations

import tomllib
import tracemalloc
from pathlib import Path

import pytest
from attrs import fields
from hypothesis import given
from hypothesis import strategies as st

from earthwright.assess import assess
from earthwright.base import limits
from earthwright.base.errors import VisitBookError
from earthwright.base.limits import Bound
from earthwright.desk.intake import book_drafts
from earthwright.visitbook import read_text
from earthwright.visitbook.bounds import too_much

HEAD = '[visit]\nplace="x"\ndate=2026-11-20\n[supply]\nsystem="TN-C-S"\n'
BOND = '[[part]]\nid="w"\nkind="water"\n[[bond]]\nid="b"\npart="w"\ncsa_mm2=10\nlength_m=20\n'
READ = '[[step]]\nread="together"\nbond="b"\nshown="0.04"\n'

HOSTILE = {
    "dotted key": (".".join(["a"] * 20_000) + " = 1\n", limits.BOOK_DEPTH),
    "dotted key with blanks": (" . ".join(["a"] * 20_000) + " = 1\n", limits.BOOK_DEPTH),
    "dotted key in quotes": (".".join(['"a"'] * 20_000) + " = 1\n", limits.BOOK_DEPTH),
    "dotted key within a table": (HEAD + "x = {" + ".".join(["a"] * 9_000) + " = 1}\n", limits.BOOK_DEPTH),
    "header of many levels": ("[" + ".".join(["a"] * 20_000) + "]\n", limits.BOOK_DEPTH),
    "brackets": ("x = " + "[" * 20_000 + "]" * 20_000 + "\n", limits.BOOK_DEPTH),
    "tables in tables": ("x = " + "{a=" * 3_000 + "1" + "}" * 3_000 + "\n", limits.BOOK_DEPTH),
    "long name": ("k" * 200_000 + " = 1\n", limits.BOOK_WORD),
    "long name in quotes": ('"' + "k" * 200_000 + '" = 1\n', limits.BOOK_KEY),
    "number without an end": (HEAD + "temp_c = " + "9" * 1_000_000 + "\n", limits.BOOK_WORD),
    "many tables": (HEAD + "".join(f"[t{i}]\n" for i in range(60_000)), limits.BOOK_TABLES),
    "many names": (HEAD + "".join(f"k{i}=1\n" for i in range(100_000)), limits.BOOK_KEYS),
    "large": (HEAD + "#" * 2_000_000, limits.BOOK),
    "read 50,000 times": (HEAD + BOND + READ.replace("\n", " \n") * 20_000, limits.BOOK_TABLES),
    "steps": (HEAD + BOND + '[[step]]\nnote="x"\n' * 12_001, limits.STEPS),
    "repeats": (HEAD + BOND + READ * 601, limits.REPEATS),
    "off and on": (HEAD + BOND + '[[step]]\noff="b"\n[[step]]\non="b"\n' * 501, limits.MOVES),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_what_no_visit_holds_is_refused_with_its_bound_and_the_reason(name: str) -> None:
    text, bound = HOSTILE[name]
    tracemalloc.start()
    try:
        with pytest.raises(VisitBookError) as refused:
            read_text(text, "evil.toml")
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert bound.said() in str(refused.value)
    assert "evil.toml" in str(refused.value)
    assert len(str(refused.value)) < 500
    assert peak < 60_000_000  # the dotted key of 40 kB took 1.6 GB
    with pytest.raises(VisitBookError):
        book_drafts(text.encode(), "v", "", "")


@pytest.mark.parametrize("count", [11, 30])
def test_many_bonds_tied_together_are_weighed_only_so_far_and_that_is_said(count: int) -> None:
    """30 bonds with links between their parts took 56 s and more. Each keeps the verdict of its own readings."""
    text = HEAD + '[[instrument]]\nid="m"\n[[leads]]\nid="L"\nallowed="nulled"\nnull_ohm=0.03\n'
    for i in range(count):
        text += BOND.replace('"w"', f'"p{i}"').replace('"b"', f'"b{i}"')
    for i in range(count - 1):
        text += f'[[link]]\nid="l{i}"\nbetween=["p{i}","p{i + 1}"]\nlow_ohm=0.01\nhigh_ohm=0.05\n'
    for i in range(count):
        text += READ.replace('"b"', f'"b{i}"')
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    assert a.site_evidence is None
    said = [f for f in a.findings if f.family == "site.too_many"]
    assert len(said) == 1
    assert said[0].what.startswith("Weighed only so far")
    assert limits.TOGETHER.said() in said[0].expected
    assert {b.verdict for b in a.bonds} == {"not shown"}


def test_boards_fed_one_from_another_without_end_are_not_judged() -> None:
    """1,000 of them took a minute and then ended in a traceback."""
    text = HEAD
    for i in range(1000):
        fed = f'fed_by="c{i - 1}"\n' if i else ""
        text += f'[[board]]\nid="d{i}"\n{fed}[[circuit]]\nid="c{i}"\nboard="d{i}"\nkind="radial"\nlength_m=10\n'
    book = read_text(text)
    assert book.visit is not None
    assert [b.id for b in book.visit.site.boards] == [f"d{i}" for i in range(limits.BOARDS_DEEP.most)]
    first = next(f for f in book.findings if f.entry == "d12" or "d12" in f.where)
    assert limits.BOARDS_DEEP.said() in first.expected
    assert "d999" in book.broken


def test_every_visit_of_the_tests_is_far_below_the_bounds() -> None:
    found = sorted(Path(__file__).parents[1].rglob("*.toml"))
    assert len(found) > 50
    for path in found:
        text = path.read_text(encoding="utf-8-sig")
        if "[visit]" in text:
            assert not too_much(text), path


def test_every_bound_says_its_number_its_unit_and_why() -> None:
    bounds = {name: b for name, b in vars(limits).items() if isinstance(b, Bound)}
    assert len(bounds) > 15
    assert {f.name for f in fields(Bound)} == {"most", "unit", "why"}
    for name, bound in bounds.items():
        assert bound.refuses(bound.most + 1), name
        assert not bound.refuses(bound.most), name
        assert bound.why in bound.said(), name
        assert f"at most {bound.most} {bound.unit}" in bound.said(), name


PIECES = st.sampled_from(
    [
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        "[",
        "]",
        "{",
        "}",
        ".",
        "=",
        ",",
        "\n",
        "#",
        " ",
        "a",
        "1",
        "[[step]]",
        'shown="0.1"',
        "\r",
    ]
)


@given(st.lists(PIECES, max_size=60).map("".join))
def test_the_look_before_parsing_never_refuses_what_is_small(text: str) -> None:
    """What it counts are marks outside quotes: a small text that the parser takes has none beyond a bound."""
    try:
        tomllib.loads(text.replace("\r\n", "\n"))
    except ValueError:
        return
    if text.count("[") + text.count("{") + text.count(".") <= limits.BOOK_DEPTH.most:
        assert too_much(text) == ""


@pytest.mark.parametrize(
    "inside", ['"[[[[[[[[[[[["', "'[[[[[[[[[[[['", '"""\n[[[[[[[[[[[[ " ""\\""" """', "'''\n{{{{{{{{{{{{{ '' '''", '""""[[[[[[[[[[""""']
)  # fmt: skip
def test_brackets_within_quotes_are_text(inside: str) -> None:
    text = f"{HEAD}note = {inside} # [[[[[[[[[[[[[[[[[[[\n"
    assert tomllib.loads(text)
    assert too_much(text) == ""
    assert too_much(text + "x = [[[[[[[[[[[[") != ""


@pytest.mark.parametrize("text", ['"""\\"' * 400_000, '"""' * 600_000, "'''" + "''a" * 600_000, '"' * 1_900_000])
def test_the_look_takes_time_in_proportion_to_the_text(text: str) -> None:
    assert too_much(text) == ""  # a quadratic look would never come back
