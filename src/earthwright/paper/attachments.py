"""What is inside a PDF: the files we attached, read with limits, and what the file says of itself. Reads with pikepdf (extra ``verify``)."""

from __future__ import annotations

import hashlib
import io
import logging
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from attrs import frozen

from ..base.oneline import one_line
from .bounds import LARGEST_FILE, CannotRead, within_bounds

__all__ = ["LARGEST_FILE", "CannotRead", "Inside", "opened", "read_inside", "unpacked"]

LARGEST_ATTACHMENT = 20_000_000
MOST_ATTACHMENTS = 16
MOST_PAGES = 2_000
_SILENT = logging.NullHandler()


@frozen
class Inside:
    """What was found in a PDF.

    files    attached files by name;  pages  how many there are
    keywords, made_with  as the file states them;  signed  whether it has signature fields that are filled
    photos   photographs on its pages, each as the file that it was, by the hash of that
    """

    files: dict[str, bytes]
    pages: int
    keywords: str
    made_with: str
    signed: bool
    photos: dict[str, bytes]


@contextmanager
def opened(content: bytes) -> Iterator[Any]:
    """A PDF opened within bounds, never mended. Whatever goes wrong in it is a CannotRead."""
    try:
        import pikepdf
    except ModuleNotFoundError as error:
        raise CannotRead("Looking into a PDF needs the extra 'verify' (pikepdf is not installed).") from error
    logging.getLogger("pikepdf").addHandler(_SILENT)  # what is to be said of a file, we say
    within_bounds(content)
    try:
        with pikepdf.open(io.BytesIO(content), attempt_recovery=False) as pdf:
            if len(pdf.pages) > MOST_PAGES:
                raise CannotRead(f"The file has {len(pdf.pages)} pages; at most {MOST_PAGES} are read.")
            yield pdf
    except pikepdf.PasswordError as error:
        raise CannotRead("The file is encrypted. A document of ours is not; ask for the original.") from error
    except (
        pikepdf.PdfError,
        ValueError,
        TypeError,
        KeyError,
        IndexError,
        AttributeError,
        NotImplementedError,
        OverflowError,
        RuntimeError,
        zlib.error,
    ) as error:
        raise CannotRead(f"The file is no PDF that can be read: {printable_line(str(error))}") from error


def printable_line(text: str, longest: int = 200) -> str:
    """A text from somebody else's file as one line that moves no cursor."""
    return one_line(text)[:longest]


def read_inside(content: bytes) -> Inside:
    """Open a PDF and take out what we need. Raises CannotRead, also for files that are too large or encrypted."""
    with opened(content) as pdf:
        return Inside(
            _files(pdf),
            len(pdf.pages),
            str(pdf.docinfo.get("/Keywords", "")),
            str(pdf.docinfo.get("/Creator", "")),
            _signed(pdf),
            _photos(pdf),
        )


def _files(pdf: Any) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    names = list(pdf.attachments)
    if len(names) > MOST_ATTACHMENTS:
        raise CannotRead(f"{len(names)} files are attached; at most {MOST_ATTACHMENTS} are read.")
    for name in names:
        stream = pdf.attachments[name].get_file().obj
        found[str(name)] = unpacked(stream, f"The attached file '{printable_line(str(name), 80)}'")
    return found


def unpacked(stream: Any, what: str, largest: int | None = None) -> bytes:
    """The content of a stream, unpacked only up to a limit: a small file can stand for a huge one."""
    most = LARGEST_ATTACHMENT if largest is None else largest
    raw: bytes = stream.read_raw_bytes()
    packed = stream.get("/Filter")
    if packed is None:
        content = raw
    elif _filters(packed) == ["/FlateDecode"]:
        content = zlib.decompressobj().decompress(raw, most + 1)
    else:
        raise CannotRead(f"{what} is packed in a way that we do not write: {printable_line(str(packed), 80)}")
    if len(content) > most:
        raise CannotRead(f"{what} is larger than {most} bytes unpacked.")
    return content


def _filters(packed: Any) -> list[str]:
    """How a stream is packed: one name, or a list of them."""
    import pikepdf

    return [str(f) for f in packed] if isinstance(packed, pikepdf.Array) else [str(packed)]


def _photos(pdf: Any) -> dict[str, bytes]:
    """Photographs stand in the file as they are, a JPEG each; together they are no more than the file itself."""
    import pikepdf

    streams = (o for o in pdf.objects if isinstance(o, pikepdf.Stream) and str(o.get("/Subtype")) == "/Image")
    pictures = (o.read_raw_bytes() for o in streams if str(o.get("/Filter")) == "/DCTDecode")
    return {hashlib.sha256(p).hexdigest(): p for p in pictures}


def _signed(pdf: Any) -> bool:
    form = pdf.Root.get("/AcroForm")
    fields = form.get("/Fields", []) if form is not None else []
    return any(str(f.get("/FT", "")) == "/Sig" and f.get("/V") is not None for f in fields)
