"""Photographs and sketches of a visit, as they are printed. The file itself is named by its hash. Frozen, as entered."""

from __future__ import annotations

from attrs import frozen

from .fields import AREA, FLAG, NEVER, TEXT, TIME, field, once


# fmt: off
@frozen
class Picture:
    """A photograph, or a sketch of where things are."""

    hash: str = field(TEXT, "SHA-256 of its file", "the file made ready to be printed, 64 hex digits", need=True, ask=NEVER, keep=False)
    caption: str = once(AREA, "What it shows", need=True)
    of: str = once(TEXT, "Taken of", "kind and id: bond gas, circuit c1, board db1, observation 1; empty: the place")
    taken: str = once(TIME, "Taken on")
    sketch: bool | None = once(FLAG, "A sketch of where things are")
# fmt: on
