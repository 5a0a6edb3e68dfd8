"""What ISO 14289-1 (PDF/UA-1) asks of a file and a program can see: everything tagged, in order, with headers and other words.

Not covered: whether the words beside a picture say what it shows, contrast, what a reader program makes of the tags, and
what only a validator of the whole standard looks at (fonts' tables, every attribute). No such validator has confirmed it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import made
import pikepdf
import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import make_document
from earthwright.paper.kinds import DOCUMENTS
from earthwright.paper.rowheaders import with_row_headers
from earthwright.visitbook import read_text

HEADINGS = [f"/H{n}" for n in range(1, 7)]
INLINE = {"/Span", "/Strong", "/Em", "/Link", "/Lbl"}
BLOCKS = {"/P", "/Table", "/L", "/Div", "/Figure", "/H1", "/H2", "/H3"}


@pytest.fixture(scope="module")
def house() -> Assessment:
    book = read_text((Path(__file__).parent / "complete.toml").read_text(encoding="utf-8"))
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


def kids(element: Any) -> list[Any]:
    k = element.get("/K")
    return [] if k is None else list(k) if isinstance(k, pikepdf.Array) else [k]


def elements(element: Any, inside: tuple[str, ...] = ()) -> Iterator[tuple[Any, tuple[str, ...]]]:
    """Every element of the structure in its order, each with the kinds it stands in."""
    yield element, inside
    for kid in kids(element):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield from elements(kid, (*inside, str(element.S)))


def marked(page: Any) -> tuple[list[int], list[str]]:
    """The numbers of marked content in the order they are drawn; text and drawing outside of any mark."""
    order, bare, open_ = [], [], []
    for operands, operator in pikepdf.parse_content_stream(page):
        op = str(operator)
        if op in ("BDC", "BMC"):
            number = operands[1].get("/MCID") if op == "BDC" and isinstance(operands[1], pikepdf.Dictionary) else None
            open_.append(str(operands[0]))
            order += [int(number)] if number is not None else []
        elif op == "EMC":
            open_.pop()
        elif op in ("Tj", "TJ", "Do", "f", "S", "B", "f*") and not open_:
            bare.append(op)
    return order, bare


def attributes(element: Any, owner: str) -> dict[str, Any]:
    found = element.get("/A")
    listed = [] if found is None else list(found) if isinstance(found, pikepdf.Array) else [found]
    return {k: v for a in listed if str(a.get("/O")) == owner for k, v in a.items()}


def faults(content: bytes) -> list[str]:
    """Everything that is not as it should be."""
    wrong: list[str] = []
    with pikepdf.open(io.BytesIO(content), attempt_recovery=False) as pdf:
        root = pdf.Root.StructTreeRoot
        tree = list(elements(kids(root)[0]))
        level = 0
        for e, inside in tree:
            kind = str(e.S)
            if kind in HEADINGS:
                now = HEADINGS.index(kind) + 1
                if now > level + 1:
                    wrong.append(f"{kind} after level {level}")
                level = now
            if kind in BLOCKS and any(i in HEADINGS for i in inside):
                wrong.append(f"{kind} inside a heading")
            if kind == "/Figure" and not str(e.get("/Alt", "")).strip():
                wrong.append("a figure without other words")
        if sum(str(e.S) == "/H1" for e, _ in tree) != 1:
            wrong.append("not one title")
        wrong += order_faults(pdf, tree) + table_faults(root, [e for e, _ in tree])
    return wrong


def order_faults(pdf: Any, tree: list[tuple[Any, tuple[str, ...]]]) -> list[str]:
    """Everything drawn is marked, stands in the structure once, and block after block is read in the order it is drawn."""
    wrong, pages = [], {p.obj.objgen: n for n, p in enumerate(pdf.pages)}
    read: dict[int, dict[int, int]] = {n: {} for n in pages.values()}
    block = 0
    for e, _ in tree:
        block += str(e.S) not in INLINE
        for kid in kids(e):
            if isinstance(kid, int):
                read[pages[e.Pg.objgen]][kid] = block
            elif isinstance(kid, pikepdf.Dictionary) and "/MCID" in kid:
                read[pages[kid.get("/Pg", e.get("/Pg")).objgen]][int(kid.MCID)] = block
    for n, page in enumerate(pdf.pages):
        drawn, bare = marked(page)
        if bare:
            wrong.append(f"page {n + 1}: {len(bare)} drawn outside of any mark")
        if sorted(drawn) != sorted(read[n]):
            wrong.append(f"page {n + 1}: drawn and told differ by {sorted(set(drawn) ^ set(read[n]))}")
        elif (order := [read[n][m] for m in drawn]) != sorted(order):
            wrong.append(f"page {n + 1}: read in another order than drawn")
    return wrong


def table_faults(root: Any, tree: list[Any]) -> list[str]:
    names = root.get("/IDTree", pikepdf.Dictionary()).get("/Names", pikepdf.Array())
    ids = [str(x) for x in list(names)[::2]]
    wrong = [] if ids == sorted(ids) else ["names out of order"]
    for table in (e for e in tree if str(e.S) == "/Table"):
        cells = [kids(r) for e, _ in elements(table) if str(e.S) in ("/THead", "/TBody") for r in kids(e)]
        scopes = {str(attributes(c, "/Table").get("/Scope")) for row in cells for c in row if str(c.S) == "/TH"}
        several = [row for row in cells if len(row) > 1 and all(str(c.S) != "/TH" for c in row) and kids(row[0])]
        if "/Column" not in scopes or several:
            wrong.append(f"a table with scopes {sorted(scopes)}, {len(several)} rows without a header of their own")
        for c in (c for row in cells for c in row):
            if str(c.S) == "/TH" and str(c.get("/ID")) not in ids:
                wrong.append("a header without a name")
            wrong += [f"no header {h}" for h in attributes(c, "/Table").get("/Headers", []) if str(h) not in ids]
    return wrong


def test_every_document_is_tagged_as_pdf_ua_asks(house: Assessment) -> None:
    jobs = {"danger notice": made.dangerous(), "closing statement": made.put_right(made.job(3, 3, 1))}
    jobs["confirmation of work"] = jobs["closing statement"]
    found = {d: faults(make_document(jobs.get(d, house), d, draft=True)) for d in DOCUMENTS}
    assert {d: w[:6] for d, w in found.items() if w} == {}


def test_the_check_can_fail() -> None:
    content = make_document(made.job(2, 2, 0), "condition report", draft=True)
    assert faults(content) == []
    bare = content.replace(b"/S/TH/", b"/S/TD/").replace(b"/S/H2/", b"/S/H3/")
    assert len(faults(bare)) > 3


def test_row_headers_are_tagged_once_and_other_files_are_refused() -> None:
    content = make_document(made.job(1, 1, 0), "condition report", draft=True)
    assert with_row_headers(content) == content, "its rows have their headers"
    with pytest.raises(ValueError, match=r"another form|not found"):
        with_row_headers(content.replace(b"xref\n0 ", b"xref\n5 "))
