"""Row headers in the tables of a PDF: the typesetter tags the heads of columns alone.

The first cell of each row below the head is made a header of its row (ISO 32000-1, 14.8.4.3.4; ISO 14289-1, 7.5), and the
cells beside it name it. Only files as our typesetter writes them are rewritten: one table of plain objects, no object
streams. The same bytes come out for the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_START = re.compile(rb"xref\n0 (\d+)\n")
_OBJECT = re.compile(rb"(\d+) 0 obj\n")
_CELL = re.compile(rb"<</Type/StructElem/S/T([DH])/")
_KIDS = re.compile(rb"/K\[([^\[\]]*)\]")
_REFERENCE = re.compile(rb"(\d+) 0 R")
_TABLE = b"<</O/Table"
_HEADERS = re.compile(rb"(/Headers\[)([^\]]*)\]")
_NAMES = re.compile(rb"(/IDTree<</Names\[)(.*?)(\]>>)", re.DOTALL)


def with_row_headers(pdf: bytes) -> bytes:
    """The same PDF with a header for each row of its tables; as it is when it has none. Raises ValueError for another form of file."""
    objects = _objects(pdf)
    named: list[tuple[bytes, int]] = []
    for row in _rows(objects):
        first, others = row[0], row[1:]
        if not others or not _holds_words(objects[first]):
            continue
        name = b"V%07d" % first
        objects[first] = _as_header(objects[first], name)
        for cell in others:
            objects[cell] = _headed(objects[cell], name)
        named.append((name, first))
    return _written(pdf, _registered(objects, named)) if named else pdf


def _objects(pdf: bytes) -> dict[int, bytes]:
    """Number → everything of an object, from its number to the next one, by the table at the end."""
    table = pdf.rindex(b"xref\n0 ")
    found = _START.match(pdf, table)
    if found is None or b"/ObjStm" in pdf:
        raise ValueError("the typesetter wrote its objects in another form; row headers cannot be tagged")
    at = found.end()
    offsets = {n: int(pdf[at + 20 * n : at + 20 * n + 10]) for n in range(1, int(found[1]))}
    order = sorted(offsets, key=lambda n: offsets[n])
    ends = [*(offsets[n] for n in order[1:]), table]
    return {n: pdf[offsets[n] : end] for n, end in zip(order, ends, strict=True)}


def _rows(objects: dict[int, bytes]) -> Iterator[list[int]]:
    """The cells of each row below the head of a table that has one, when the row begins with a cell of data."""
    for body in objects.values():
        if b"/Type/StructElem/S/TBody/" not in body[:60]:
            continue
        for row in _kids(body):
            if b"/Type/StructElem/S/TR/" in objects[row][:60]:
                cells = _kids(objects[row])
                kinds = [_CELL.search(objects[c][:60]) for c in cells]
                if cells and all(kinds) and kinds[0] is not None and kinds[0][1] == b"D":
                    yield cells


def _kids(element: bytes) -> list[int]:
    found = _KIDS.search(element)
    return [int(n) for n in _REFERENCE.findall(found[1])] if found else []


def _holds_words(cell: bytes) -> bool:
    found = _KIDS.search(cell)
    return found is not None and bool(found[1].strip())


def _as_header(cell: bytes, name: bytes) -> bytes:
    cell = cell.replace(b"/S/TD/", b"/S/TH/", 1)
    before, mark, after = cell.partition(b"/A[")
    if not mark or _TABLE not in after:
        raise ValueError("a cell has no attributes where they are looked for; row headers cannot be tagged")
    return before + b"/ID(" + name + b")/A[" + after.replace(_TABLE, _TABLE + b"/Scope/Row", 1)


def _headed(cell: bytes, name: bytes) -> bytes:
    """A cell that names the header of its row beside that of its column."""
    return _HEADERS.sub(lambda m: m[1] + m[2] + b"(" + name + b")]", cell, count=1)


def _registered(objects: dict[int, bytes], named: list[tuple[bytes, int]]) -> dict[int, bytes]:
    """The names in the tree of names; they sort behind those that are there."""
    root = next(n for n, o in objects.items() if b"/Type/StructTreeRoot" in o[:60])
    more = b"".join(b"(%b)%d 0 R" % entry for entry in sorted(named))
    objects[root], count = _NAMES.subn(lambda m: m[1] + m[2] + more + m[3], objects[root], count=1)
    if not count:
        raise ValueError("there is no tree of names; row headers cannot be tagged")
    return objects


def _written(pdf: bytes, objects: dict[int, bytes]) -> bytes:
    """The objects in the order they stood, with their table and the trailer of before."""
    order = list(objects)
    pieces, at, offsets = [pdf[: pdf.index(_first(objects[order[0]]))]], 0, {}
    at = len(pieces[0])
    for n in order:
        offsets[n] = at
        pieces.append(objects[n])
        at += len(objects[n])
    rows = [b"0000000000 65535 f\r\n", *(b"%010d 00000 n\r\n" % offsets[n] for n in range(1, len(order) + 1))]
    trailer = pdf[pdf.rindex(b"trailer\n") : pdf.rindex(b"startxref\n")]
    pieces += [b"xref\n0 %d\n" % (len(order) + 1), *rows, trailer, b"startxref\n%d\n%%%%EOF" % at]
    return b"".join(pieces)


def _first(content: bytes) -> bytes:
    found = _OBJECT.match(content)
    if found is None:
        raise ValueError("an object does not begin with its number; row headers cannot be tagged")
    return found[0]
