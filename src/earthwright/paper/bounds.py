"""How much a PDF may stand for, counted before anything opens it: a small file can unpack into more than a machine holds."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator

from ..base.errors import EarthwrightError

LARGEST_FILE = 50_000_000
LARGEST_STRUCTURE = 24_000_000  # everything that is read as objects: 14 MB in the evidence sheet of 200 circuits
MOST_OBJECTS = 5_000_000  # numbers, names and brackets in it
LARGEST_UNPACKED = 400_000_000  # all streams together; they are counted, not held
DEEPEST = 100  # brackets inside brackets
_STEP = 1 << 20

_STREAM = re.compile(rb"(?<!end)stream\r?\n")
_NAME_CODE = re.compile(rb"#([0-9A-Fa-f]{2})")
_PACKED = re.compile(
    rb"/(?:LZWDecode|RunLengthDecode|ASCIIHexDecode|ASCII85Decode|LZW|RL|AHx|A85|Crypt|JBIG2Decode|JPXDecode"
    rb"|CCITTFaxDecode)(?![A-Za-z0-9])"
)
# Named in any other way, packed twice, or named elsewhere in the file: refused. The last two belong to signatures and encryption.
_ODDLY = re.compile(
    rb"/Filter(?!\s*(?:/(?:FlateDecode|DCTDecode|Adobe\.PPKLite|Standard)[\s/<>]|\[\s*/(?:FlateDecode|DCTDecode)\s*\]))"
)
_OBJECT = re.compile(rb"[\[</(]|[^\s\[\]<>/()]+")
_BRACKET = re.compile(rb"\[|\]|<<|>>")


class CannotRead(EarthwrightError):
    """The file is no PDF that can be read, or nothing of ours is inside; the message says which."""


def within_bounds(content: bytes) -> None:
    """Raise CannotRead for a file that is too large, or would be once it is unpacked. Nothing is unpacked to be kept."""
    if len(content) > LARGEST_FILE:
        raise CannotRead(f"The file is too large: {len(content)} bytes, at most {LARGEST_FILE} are read.")
    if not content.lstrip(b"\r\n\t ").startswith(b"%PDF-"):
        raise CannotRead("The file is no PDF that can be read: it does not begin as one.")
    structure, unpacked, parsed_too = [], 0, b"ObjStm" in named_out(content) or b"XRef" in named_out(content)
    for outside, start in _streams(content):
        structure.append(outside)
        size = 0
        for piece in _inflated(memoryview(content)[start:]):
            size += len(piece)
            if unpacked + size > LARGEST_UNPACKED:
                raise CannotRead(f"Unpacked, the file would be larger than {LARGEST_UNPACKED} bytes.")
            if parsed_too:  # then any stream may hold objects
                structure.append(piece)
                _small_enough(sum(map(len, structure)))
        unpacked += size
    _countable(b" ".join(structure))


def named_out(content: bytes) -> bytes:
    """The file with codes in names written out, so that no name can hide."""
    return _NAME_CODE.sub(lambda m: bytes([int(m[1], 16)]), content) if b"#" in content else content


def _streams(content: bytes) -> Iterator[tuple[bytes, int]]:
    """What stands before each stream, and where it begins; at last what stands behind all of them."""
    at = 0
    for found in _STREAM.finditer(content):
        if found.start() < at:
            continue
        yield content[at : found.end()], found.end()
        end = content.find(b"endstream", found.end())
        at = len(content) if end < 0 else end
    yield content[at:], len(content)


def _inflated(packed: memoryview) -> Iterator[bytes]:
    """A packed stream piece by piece; nothing if it is not packed, or as far as it can be read."""
    if len(packed) < 2 or packed[0] & 0x0F != 8 or (packed[0] << 8 | packed[1]) % 31:
        return
    unpack = zlib.decompressobj()
    at, waiting = 0, b""
    try:
        while not unpack.eof:
            if not waiting:
                waiting = bytes(packed[at : at + _STEP])
                at += _STEP
                if not waiting:
                    return
            piece = unpack.decompress(waiting, _STEP)
            waiting = unpack.unconsumed_tail
            yield piece
    except zlib.error:
        return


def _small_enough(size: int) -> None:
    if size > LARGEST_STRUCTURE:
        raise CannotRead(f"The file is made of more than {LARGEST_STRUCTURE} bytes of objects.")


def _countable(structure: bytes) -> None:
    _small_enough(len(structure))
    plain = named_out(structure)
    if _PACKED.search(plain) or _ODDLY.search(plain):
        raise CannotRead("The file is packed in a way that we do not write, so it cannot be unpacked within bounds.")
    for count, _ in enumerate(_OBJECT.finditer(structure)):
        if count > MOST_OBJECTS:
            raise CannotRead(f"The file holds more than {MOST_OBJECTS} values.")
    depth = 0
    for found in _BRACKET.finditer(structure):
        depth = depth + 1 if found[0] in (b"[", b"<<") else max(depth - 1, 0)
        if depth > DEEPEST:
            raise CannotRead(f"The file holds lists inside lists, more than {DEEPEST} deep.")
