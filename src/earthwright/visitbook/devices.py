"""Protective devices in a visit book: short texts such as ``B32``, or one key for each property."""

from __future__ import annotations

import re

from attrs import evolve

from ..site.circuit import NONE, Device
from .fields import Entry, short
from .values import values

# The parts of a device in one text, as far as each stands for itself; they may come in any order people write them in.
_STANDARD = re.compile(
    r"(?<![\w.])((?:(?:BS|EN|IEC|HD)[ -]*)+[0-9]{2,5}(?:-[0-9]{1,2})*"
    r"|(?:60898|61009|60269|60947|3036|1361|3871)(?:-[0-9]{1,2})*)(?![\w.])",
    re.IGNORECASE,
)
_WORD = re.compile(r"(?<!\w)(MCB|RCBO)s?(?!\w)", re.IGNORECASE)
_RESIDUAL = re.compile(r"(?<![\w.])([0-9]{1,4})\s*mA(?!\w)")
_SHORT = re.compile(
    r"(?:(?P<type>[BCDKZbcdkz]|g[GLMRgm]|aM|(?:type|curve)\s+[1-4BCD])\s*)?(?P<rating>[0-9]{1,4}(?:\.[0-9])?)\s*(?:A|amps?)?"
    r"|(?P<rating2>[0-9]{1,4}(?:\.[0-9])?)\s*(?:A|amps?)?\s+(?P<type2>[BCDKZbcdkz]|g[GLMRgm]|aM|(?:type|curve)\s+[1-4BCD])",
)
# The keys of a device, wherever they stand.
RCD_KEYS = ("rcd_type", "rcd_ma", "rcd_delay", "rcd_standard", "rcd_rating_a")


def read_device(entry: Entry, base: Device) -> Device:
    """The device of an entry: what its keys say, and for the rest what is usual (``base``).

    ``device = "B32"`` is type and rating; ``device = "BS EN 60898 B32"`` the standard as well; ``device = { … }`` holds
    the same keys that may stand in the entry itself.
    """
    short_text = entry.raw("device")
    if isinstance(short_text, dict):
        inner = entry.inner("device")
        device = _keys(inner, base)
        if not short_text:
            inner.fault("", "This says nothing about a device.", "type, rating_a, standard …", "an empty table")
        entry.take(inner)
        base = device
    elif short_text is not None:
        base = _short_text(entry, short_text, base)
    return _keys(entry, base)


def _short_text(entry: Entry, typed: object, base: Device) -> Device:
    rest = " ".join(typed.split()) if isinstance(typed, str) else ""
    said: dict[str, str] = {}
    for name, part in (("standard", _STANDARD), ("word", _WORD), ("rcd_ma", _RESIDUAL)):
        if found := part.search(rest):
            said[name] = found[1]
            rest = " ".join(f"{rest[: found.start()]} {rest[found.end() :]}".split())
    match = _SHORT.fullmatch(re.sub(r"\bType\b|\bCurve\b", lambda m: m[0].lower(), rest))
    if match is None:
        entry.fault(
            "device",
            "This cannot be read as a device.",
            '"B32", "BS EN 60898 B32", "BS 3036 30", "BS 88-3 gG 80" or single keys',
            short(typed),
        )
        return base
    kind = re.sub(r"^(type|curve)\s+", "", match["type"] or match["type2"] or "")
    kind = kind.upper() if len(kind) == 1 else {"gg": "gG", "gm": "gM"}.get(kind, kind)
    rating = match["rating"] or match["rating2"]
    standard = said.get("standard") or said.get("word", "").upper()
    for key, value in (("type", kind), ("rating_a", rating), ("standard", standard), ("rcd_ma", said.get("rcd_ma"))):
        if value and entry.has(key):
            entry.fault(key, "The device is given twice.", f"either device or {key}", "both")
    return evolve(
        base,
        standard=standard or base.standard,
        # A standard of its own without a type has no type: the usual one belongs to the usual standard.
        type=kind or ("" if standard else base.type),
        rating_a=float(rating),
        rcd_ma=float(said["rcd_ma"]) if "rcd_ma" in said else base.rcd_ma,
    )


def _keys(entry: Entry, base: Device) -> Device:
    device = Device(**values(entry, Device, base))
    device = evolve(device, rcd_delay=device.rcd_delay.replace(NONE, ""))
    if device.rcd_type == NONE:
        for key in RCD_KEYS[1:]:
            if entry.has(key) and entry.raw(key) != NONE:
                entry.fault(key, "There is said to be no residual current function.", "no " + key, "one")
        return evolve(device, rcd_type="", rcd_ma=None, rcd_delay="", rcd_standard="", rcd_rating_a=None)
    if device.rcd_standard == NONE:
        # One device does both here, although a separate one may be usual.
        if entry.has("rcd_rating_a"):
            entry.fault("rcd_rating_a", "There is said to be no separate device.", "no rcd_rating_a", "one")
        return evolve(device, rcd_standard="", rcd_rating_a=None)
    return device
