"""What is inside a PDF: the files we attached, read with limits, and what each page draws. Reads with pikepdf (extra ``verify``)."""

from __future__ import annotations

import hashlib
import io
import zlib
from typing import Any

from attrs import frozen

from ..errors import EarthwrightError

LARGEST_FILE = 50_000_000
LARGEST_ATTACHMENT = 20_000_000
MOST_ATTACHMENTS = 16


class CannotRead(EarthwrightError):
    """The file is no PDF that can be read, or nothing of ours is inside; the message says which."""


@frozen
class Inside:
    """What was found in a PDF.

    files    attached files by name;  pages  a fingerprint of what each page draws [SHA-256 of its content]
    keywords, made_with  as the file states them;  signed  whether it has signature fields that are filled
    """

    files: dict[str, bytes]
    pages: tuple[str, ...]
    keywords: str
    made_with: str
    signed: bool


def read_inside(content: bytes) -> Inside:
    """Open a PDF and take out what we need. Raises CannotRead, also for files that are too large or encrypted."""
    try:
        import pikepdf
    except ModuleNotFoundError as error:
        raise CannotRead("Looking into a PDF needs the extra 'verify' (pikepdf is not installed).") from error
    if len(content) > LARGEST_FILE:
        raise CannotRead(f"The file is too large: {len(content)} bytes, at most {LARGEST_FILE} are read.")
    try:
        with pikepdf.open(io.BytesIO(content)) as pdf:
            return Inside(
                _files(pdf),
                tuple(_fingerprint(page) for page in pdf.pages),
                str(pdf.docinfo.get("/Keywords", "")),
                str(pdf.docinfo.get("/Creator", "")),
                _signed(pdf),
            )
    except pikepdf.PasswordError as error:
        raise CannotRead("The file is encrypted. A document of ours is not; ask for the original.") from error
    except (pikepdf.PdfError, ValueError, TypeError, KeyError, AttributeError, RecursionError, zlib.error) as error:
        raise CannotRead(f"The file is no PDF that can be read: {str(error)[:200]}") from error


def _files(pdf: Any) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    names = list(pdf.attachments)
    if len(names) > MOST_ATTACHMENTS:
        raise CannotRead(f"{len(names)} files are attached; at most {MOST_ATTACHMENTS} are read.")
    for name in names:
        stream = pdf.attachments[name].get_file().obj
        found[str(name)] = _decoded(stream, str(name))
    return found


def _decoded(stream: Any, name: str) -> bytes:
    """The content of an attached file, unpacked only up to the limit: a small file can stand for a huge one."""
    raw: bytes = stream.read_raw_bytes()
    packed = stream.get("/Filter")
    if packed is None:
        content = raw
    elif str(packed) == "/FlateDecode" or (len(packed) == 1 and str(packed[0]) == "/FlateDecode"):
        unpack = zlib.decompressobj()
        content = unpack.decompress(raw, LARGEST_ATTACHMENT + 1)
    else:
        raise CannotRead(f"The attached file '{name[:80]}' is packed in a way that we do not write: {str(packed)[:80]}")
    if len(content) > LARGEST_ATTACHMENT:
        raise CannotRead(f"The attached file '{name[:80]}' is larger than {LARGEST_ATTACHMENT} bytes unpacked.")
    return content


def _fingerprint(page: Any) -> str:
    """What a page draws, what it is drawn with and what lies on top: any of them changes what is seen."""
    import pikepdf

    digest = hashlib.sha256()
    streams = page.obj.get("/Contents", [])
    for stream in [streams] if isinstance(streams, pikepdf.Stream) else streams:
        digest.update(stream.read_bytes())
    for name, font in sorted((page.obj.get("/Resources") or {}).get("/Font", {}).items()):
        digest.update(str(name).encode() + str(font.get("/BaseFont", "")).encode())
    digest.update(str(page.obj.get("/MediaBox", "")).encode())
    shown = [
        x
        for x in page.obj.get("/Annots", [])
        if str(x.get("/Subtype", "")) != "/Widget" and str(x.get("/Subtype", "")) != "/Link"
    ]
    digest.update(f"{len(shown)} annotations".encode())
    return digest.hexdigest()


def _signed(pdf: Any) -> bool:
    form = pdf.Root.get("/AcroForm")
    fields = form.get("/Fields", []) if form is not None else []
    return any(str(f.get("/FT", "")) == "/Sig" and f.get("/V") is not None for f in fields)


# What a signature may add to a document: keys of the catalogue, and an invisible field on a page.
_SIGNING_KEYS = {"/AcroForm", "/DSS", "/Perms", "/Extensions", "/Version"}
_DATED_KEYS = {"/ModDate", "/Producer"}


def only_signatures_added(made: bytes, content: bytes) -> str:
    """What else but signatures was changed between a document as made and as it came; empty if nothing.

    Every object of the first must stand unchanged in the second, but for signature entries in the catalogue and
    invisible signature fields among the annotations of a page.
    """
    import pikepdf

    with pikepdf.open(io.BytesIO(made)) as old, pikepdf.open(io.BytesIO(content)) as new:
        root, facts, metadata = old.Root.objgen, old.docinfo.objgen, old.Root.Metadata.objgen
        pages = {page.obj.objgen: number for number, page in enumerate(old.pages, 1)}
        if [p.obj.objgen for p in new.pages] != list(pages):
            return "pages were added, taken out or put in another order"
        for before in old.objects:
            if before is None or not before.is_indirect:
                continue
            after = new.get_object(before.objgen)
            if before.objgen == root:
                changed = _keys_changed(before, after) - _SIGNING_KEYS
            elif before.objgen == facts:
                changed = _keys_changed(before, after) - _DATED_KEYS
            elif before.objgen == metadata:
                changed = set()  # says again when the file was changed and by which program; draws nothing
            elif before.objgen in pages:
                changed = _keys_changed(before, after)
                if changed == {"/Annots"} and _only_hidden_fields(before, after):
                    changed = set()
            else:
                changed = set() if _same(before, after) else {"content"}
            if changed:
                where = f"page {pages[before.objgen]}" if before.objgen in pages else f"object {before.objgen[0]}"
                return f"{where} was changed ({', '.join(sorted(changed))})"
    return ""


def _same(before: Any, after: Any) -> bool:
    if bytes(before.unparse()) != bytes(after.unparse()):
        return False
    import pikepdf

    is_stream = isinstance(before, pikepdf.Stream)
    return not is_stream or (isinstance(after, pikepdf.Stream) and before.read_raw_bytes() == after.read_raw_bytes())


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
    known = [_unparsed(x) for x in old]
    if [_unparsed(x) for x in new[: len(old)]] != known:
        return False
    return all(
        str(x.get("/FT", "")) == "/Sig" and [float(v) for v in x.get("/Rect", [1])] == [0, 0, 0, 0]
        for x in new[len(old) :]
    )
