"""What was added to a document after it was made: signatures, or anything else. Compared object by object."""

from __future__ import annotations

import re
from typing import Any

from .attachments import opened
from .bounds import named_out

# What a signature may change: these keys of the catalogue, the date and the program that wrote last, an invisible field.
_SIGNING_KEYS = {"/AcroForm", "/DSS", "/Extensions", "/Version"}
_DATED_KEYS = {"/ModDate", "/Producer"}
_DATED_META = ("/}ModifyDate", "/}MetadataDate", "/}Producer")
_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_RDF_SHAPE = (f"{_RDF}parseType", f"{_RDF}about", "{adobe:ns:meta/}xmptk")
_OBJECT = re.compile(rb"(?<![0-9])([0-9]{1,10}) [0-9]{1,5} obj\b")
_TABLE = re.compile(rb"\bxref\s((?:[0-9]+ [0-9]+(?: [nf])?\s*\n)+)")
_FIELD_KEYS = {"/F", "/FT", "/P", "/Rect", "/Subtype", "/T", "/TU", "/Type", "/V"}
_VALUE_KEYS = {
    "/ByteRange", "/Contents", "/Filter", "/Location", "/M", "/Name", "/Prop_Build", "/Reason", "/SubFilter", "/Type",
}  # fmt: skip


def only_signatures_added(made: bytes, content: bytes) -> str:
    """What else but signatures was changed between a document as made and as it came; empty if nothing.

    Every object of the first must stand unchanged in the second, reached in the same way, but for signature entries in
    the catalogue and signature fields without extent among the annotations of a page. Raises CannotRead.
    """
    if not _plainly_written(content, len(made)):
        return "objects that nothing names, or that are hidden in others"
    with opened(made) as old, opened(content) as new:
        if new.get_warnings() if hasattr(new, "get_warnings") else ():
            return "the file is damaged"
        for name in ("/Root", "/Info"):
            if _reference(old.trailer.get(name)) != _reference(new.trailer.get(name)):
                return f"the file begins at another place ({name})"
        pages = {page.obj.objgen: number for number, page in enumerate(old.pages, 1)}
        if [p.obj.objgen for p in new.pages] != list(pages):
            return "pages were added, taken out or put in another order"
        for before in old.objects:
            if before is None or not before.is_indirect:
                continue
            changed = _changed(before, new.get_object(before.objgen), old, pages)
            if changed:
                where = f"page {pages[before.objgen]}" if before.objgen in pages else f"object {before.objgen[0]}"
                return f"{where} was changed ({', '.join(sorted(changed))})"
        return _odd_fields(new.Root.get("/AcroForm"))


def _plainly_written(content: bytes, start: int) -> bool:
    """Whether what follows is objects and plain tables that name each of them, and nothing that programs read differently.

    A viewer that meets a damaged table looks for objects by itself; one that nothing names could then be what it shows.
    """
    tail = content[start:]
    there = {(int(m[1]), start + m.start()) for m in _OBJECT.finditer(tail)}
    named: set[tuple[int, int]] = set()
    for table in _TABLE.finditer(tail):
        number = 0
        for line in table[1].split(b"\n"):
            words = line.split()
            if len(words) == 2:
                number = int(words[0])
            elif len(words) == 3:
                named |= {(number, int(words[0]))} if words[2] == b"n" else set()
                number += 1
    return there == named and not re.search(rb"ObjStm|XRef", named_out(tail))


def _changed(before: Any, after: Any, old: Any, pages: dict[Any, int]) -> set[str]:
    if before.objgen == old.Root.objgen:
        return _keys_changed(before, after) - _SIGNING_KEYS
    if before.objgen == old.docinfo.objgen:
        return _keys_changed(before, after) - _DATED_KEYS
    if before.objgen == old.Root.Metadata.objgen:
        return set() if undated(before) == undated(after) else {"what the file says of itself"}
    if before.objgen in pages:
        changed = _keys_changed(before, after)
        return changed - {"/Annots"} if _only_hidden_fields(before, after) else changed
    return set() if _same(before, after) else {"content"}


def _reference(value: Any) -> object:
    return None if value is None else value.objgen if value.is_indirect else value.unparse()


def undated(metadata: Any) -> object:
    """What the metadata say but for when and by which program the file was last written."""
    import xml.etree.ElementTree as Tree

    text = bytes(metadata.read_bytes())
    if b"<!" in text:  # no declarations: nothing of ours has any
        return text
    try:
        root = Tree.fromstring(text)
    except Tree.ParseError:
        return text
    said = []  # RDF may write a property as an element or as an attribute
    for node in root.iter():
        said += [(node.tag, (node.text or "").strip())]
        said += [(node.tag if name == f"{_RDF}resource" else name, value) for name, value in node.attrib.items()]
    return sorted((n, v) for n, v in said if v and not n.endswith(_DATED_META) and n not in _RDF_SHAPE)


def _same(before: Any, after: Any) -> bool:
    import pikepdf

    if _keys_or_value(before) != _keys_or_value(after):
        return False
    is_stream = isinstance(before, pikepdf.Stream)
    return is_stream == isinstance(after, pikepdf.Stream) and (
        not is_stream or before.read_raw_bytes() == after.read_raw_bytes()
    )


def _keys_or_value(value: Any) -> object:
    """An object as it stands in the file, its own level written out and what it points to as reference."""
    import pikepdf

    if isinstance(value, (pikepdf.Dictionary, pikepdf.Stream)):
        return {str(k): _unparsed(value.get(k)) for k in value.keys() if k != "/Length"}  # noqa: SIM118
    if isinstance(value, pikepdf.Array):
        return [_unparsed(x) for x in value]
    return value.unparse(resolved=True) if isinstance(value, pikepdf.Object) else repr(value)


def _keys_changed(before: Any, after: Any) -> set[str]:
    import pikepdf

    if not isinstance(after, pikepdf.Dictionary):
        return {"content"}
    keys = {str(k) for k in (*before.keys(), *after.keys())}
    return {k for k in keys if _unparsed(before.get(k)) != _unparsed(after.get(k))}


def _unparsed(value: Any) -> bytes:
    if value is None:
        return b""
    return bytes(value.unparse()) if hasattr(value, "unparse") else repr(value).encode()


def _only_hidden_fields(before: Any, after: Any) -> bool:
    """Whether the annotations that were added are signature fields without any extent, and none was taken out."""
    old, new = list(before.get("/Annots", [])), list(after.get("/Annots", []))
    if [_unparsed(x) for x in new[: len(old)]] != [_unparsed(x) for x in old]:
        return False
    return all(_hidden(x) for x in new[len(old) :])


def _hidden(field: Any) -> bool:
    """A signature field that shows nothing and does nothing."""
    keys = {str(k) for k in field.keys()}  # noqa: SIM118
    value = field.get("/V")
    return (
        keys <= _FIELD_KEYS
        and str(field.get("/FT", "")) == "/Sig"
        and [float(v) for v in field.get("/Rect", [1])] == [0, 0, 0, 0]
        and (value is None or {str(k) for k in value.keys()} <= _VALUE_KEYS)  # noqa: SIM118
    )


def _odd_fields(form: Any) -> str:
    if form is None:
        return ""
    if {str(k) for k in form.keys()} - {"/Fields", "/SigFlags"}:  # noqa: SIM118
        return "a form was added that is more than signatures"
    return "" if all(_hidden(f) for f in form.get("/Fields", [])) else "a field was added that is no plain signature"
