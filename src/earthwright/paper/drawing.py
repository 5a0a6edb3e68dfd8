"""Where two PDFs differ: page by page and by what is drawn with what, and in what lies behind the pages."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any

from .additions import undated
from .attachments import CannotRead, opened, printable_line, unpacked

LARGEST_DRAWN = 300_000_000  # of all that is walked through in a file, unpacked
LARGEST_STREAM = 60_000_000
_NO_PART = {"/Parent", "/P", "/StructParent", "/StructParents", "/Dest", "/Tabs"}  # lead out of the page
_BOXES = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox", "/Rotate", "/UserUnit")
_RESOURCES = {"/Font": "fonts", "/XObject": "pictures", "/Properties": "layers"}
_WORDS = {
    "/OpenAction": "an action when it is opened",
    "/AA": "actions",
    "/OCProperties": "layers that can be hidden",
    "/AcroForm": "form fields",
    "/Names": "attached files or scripts",
    "/AF": "attached files",
    "/Metadata": "what the file says of itself",
    "/Outlines": "the list of contents",
    "/StructTreeRoot": "what is read aloud",
    "/Pages": "the order of pages",
}


def where_they_differ(made: bytes, content: bytes) -> list[str]:
    """What differs between a document as we print it and as it came, in words; empty if they draw and say the same."""
    with opened(made) as ours, opened(content) as theirs:
        walks = _Walk(), _Walk()
        mine, found = [_page(p, walks[0]) for p in ours.pages], [_page(p, walks[1]) for p in theirs.pages]
        said = [f"it has {len(found)} pages, not {len(mine)}"] if len(mine) != len(found) else []
        for number, (a, b) in enumerate(zip(mine, found, strict=False), 1):
            parts = [part for part in a if a[part] != b[part]]
            said += [f"page {number} differs ({', '.join(parts)})"] if parts else []
        said += _behind(ours, theirs, walks)
    return said


class _Walk:
    """Goes through everything that hangs on a value and takes its hash, each object once."""

    def __init__(self) -> None:
        self.left = LARGEST_DRAWN
        self.streams: dict[Any, bytes] = {}

    def hash_of(self, value: Any) -> str:
        digest, seen, waiting = hashlib.sha256(), set(), [value]
        import pikepdf

        while waiting:
            node = waiting.pop()
            if isinstance(node, pikepdf.Object) and node.is_indirect:
                if node.objgen in seen:
                    digest.update(b"again")
                    continue
                seen.add(node.objgen)
            if isinstance(node, pikepdf.Stream):
                digest.update(self.stream(node))
                waiting += [(k, node.get(k)) for k in sorted(node.keys(), reverse=True) if k not in _PACKING]
            elif isinstance(node, pikepdf.Dictionary):
                waiting += [(k, node.get(k)) for k in sorted(node.keys(), reverse=True) if k not in _NO_PART]
                self._take(digest, f"<<{len(node)}".encode())
            elif isinstance(node, pikepdf.Array):
                waiting += list(node)[::-1]
                self._take(digest, f"[{len(node)}".encode())
            elif isinstance(node, tuple):
                digest.update(str(node[0]).encode())
                waiting.append(node[1])
            else:
                self._take(digest, node.unparse() if isinstance(node, pikepdf.Object) else repr(node).encode())
        return digest.hexdigest()

    def stream(self, stream: Any) -> bytes:
        """Hash of what a stream holds, each one read once."""
        if stream.objgen not in self.streams:
            digest = hashlib.sha256()
            self._take(digest, _bytes(stream))
            self.streams[stream.objgen] = digest.digest()
        self.left -= 64
        return self.streams[stream.objgen]

    def _take(self, digest: Any, content: bytes) -> None:
        self.left -= len(content) + 8
        if self.left < 0:
            raise CannotRead(f"Its pages are larger than {LARGEST_DRAWN} bytes unpacked.")
        digest.update(content + b";")


_PACKING = _NO_PART | {"/Length", "/Filter", "/DecodeParms"}


def _bytes(stream: Any) -> bytes:
    try:
        return unpacked(stream, "A part of a page", LARGEST_STREAM)
    except CannotRead:
        return bytes(stream.read_raw_bytes())


def _page(page: Any, walk: _Walk) -> dict[str, str]:
    import pikepdf

    obj = page.obj
    contents = obj.get("/Contents")
    streams = list(contents) if isinstance(contents, pikepdf.Array) else [contents]
    drawn = b"".join(walk.stream(s) for s in streams if s is not None)
    resources = _inherited(obj, "/Resources") or {}
    parts = {
        "what is drawn": hashlib.sha256(drawn).hexdigest(),
        "edges or turn": "".join(str(_inherited(obj, name)) for name in _BOXES),
        "notes or fields on top": walk.hash_of(obj.get("/Annots")),
    }
    parts |= {said: walk.hash_of(resources.get(name)) for name, said in _RESOURCES.items()}
    others = {k: v for k, v in resources.items() if k not in _RESOURCES}
    own = {k for k in obj.keys() if k not in {*_BOXES, "/Contents", "/Resources", "/Annots", *_NO_PART}}  # noqa: SIM118
    parts["how it is drawn"] = "".join(walk.hash_of(v) for _, v in sorted(others.items())) + "".join(
        k + walk.hash_of(obj.get(k)) for k in sorted(own)
    )
    return parts


def _inherited(page: Any, name: str) -> Any:
    """A value that a page has or takes from what it hangs under."""
    node = page
    for _ in range(32):
        if node is None:
            return None
        if node.get(name) is not None:
            return node.get(name)
        node = node.get("/Parent")
    return None


def _behind(ours: Any, theirs: Any, walks: tuple[_Walk, _Walk]) -> Iterator[str]:
    for name in sorted({*ours.Root.keys(), *theirs.Root.keys()} - {"/Pages", "/StructTreeRoot", "/Outlines"}):
        mine, found = ours.Root.get(name), theirs.Root.get(name)
        if name == "/Metadata" and mine is not None and found is not None and undated(mine) == undated(found):
            continue
        if found is None or mine is None or walks[0].hash_of(mine) != walks[1].hash_of(found):
            what = _WORDS.get(name, f"'{printable_line(name, 40)}'")
            yield f"{what} {'is missing' if found is None else 'is there and should not be' if mine is None else 'differs'}"
    facts = sorted({*ours.docinfo.keys(), *theirs.docinfo.keys()})
    changed = [k.lstrip("/") for k in facts if str(ours.docinfo.get(k)) != str(theirs.docinfo.get(k))]
    if changed:
        yield f"what the file says of itself differs ({printable_line(', '.join(changed))})"
