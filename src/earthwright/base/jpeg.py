"""Is a photograph fit to be printed and passed on: a plain JPEG, not too large, with nothing in it but the picture?

What a camera writes beside the picture (where, when, with which device, a second small picture) stands in segments of the
file (ITU-T T.81, B.1.1; JEITA CP-3451). They are looked for here; nothing is decoded.
"""

from __future__ import annotations

from collections.abc import Iterator

LONGEST = 1280  # pixels of the longer side: 8 cm in print at 400 to the inch
LARGEST = 200_000  # bytes: twelve photographs and their report stay below 3 MB

_START, _END = b"\xff\xd8", b"\xff\xd9"
_SCAN = 0xDA
_SIZES = (0xC0, 0xC1, 0xC2)  # baseline, extended, progressive
_COLOURS = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}  # how the picture is to be read, and nothing else
_PRIVATE = "it holds what the camera wrote beside the picture, such as place and device"


def unfit(content: bytes) -> str:
    """Why a file may not be printed or passed on as a photograph, in words; empty if it may."""
    if not content.startswith(_START + b"\xff") or not content.endswith(_END):
        return "it is no whole JPEG"
    if len(content) > LARGEST:
        return f"it has {len(content)} bytes, more than {LARGEST}"
    try:
        for marker, body in _segments(content):
            if marker == 0xFE or (0xE0 <= marker <= 0xEF and not body.startswith(_COLOURS.get(marker, b"\xff"))):
                return _PRIVATE
        size = size_of(content)
    except (IndexError, ValueError):
        return "it is no whole JPEG"
    if max(size) > LONGEST:
        return f"it is {size[0]} by {size[1]} pixels, more than {LONGEST}"
    # Inside the data of a picture no marker can begin like this: it would be another picture.
    return _PRIVATE if content.count(_START + b"\xff") > 1 else ""


def size_of(content: bytes) -> tuple[int, int]:
    """Width and height [pixels]. Raises ValueError where the file does not state them, IndexError where it breaks off."""
    for marker, body in _segments(content):
        if marker in _SIZES and len(body) > 5:
            width, height = int.from_bytes(body[3:5]), int.from_bytes(body[1:3])
            if width and height:
                return width, height
    raise ValueError("the size of this picture is not stated")


def _segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and content of each segment before the picture itself. Raises IndexError where the file breaks off."""
    at = 2
    while True:
        if content[at] != 0xFF:
            raise IndexError(at)
        marker = content[at + 1]
        if marker == _SCAN:
            return
        length = int.from_bytes(content[at + 2 : at + 4])
        if length < 2:
            raise IndexError(at)
        yield marker, content[at + 4 : at + 2 + length]
        at += 2 + length
