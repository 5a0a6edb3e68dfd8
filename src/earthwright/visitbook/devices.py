"""Protective devices in a visit book: short texts such as ``B32``, or one key for each property."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from attrs import evolve

from ..base.errors import Severity
from ..site.circuit import NONE, Device
from .fields import Entry, short
from .values import values

# The parts of a device in one text, as far as each stands for itself; they may come in any order people write them in.
_TYPE = r"[BCDKZbcdkz]|g[GLMRgm]|aM"
_NAMED = rf"(?:type|curve|T)\s*[1-4BCD]|[BCD]\s+(?:type|curve)|{_TYPE}"
_STANDARD = re.compile(
    r"(?<![\w.])((?:(?:BS|EN|IEC|HD)[ -]*)+[0-9]{2,5}(?:-[0-9]{1,2})*"
    r"|(?:60898|61009|60269|60947|3036|1361|1362|3871)(?:-[0-9]{1,2})*)(?![\w.])",
    re.IGNORECASE,
)
_RCD = r"(?:type\s*)?(AC|A|F)(?:\s*type)?(?!\w)"
_PARTS = {
    "standard": _STANDARD,
    "word": re.compile(r"(?<!\w)(MCB|RCBO|MCCB)s?(?!\w)", re.IGNORECASE),
    "rcd_ma": re.compile(rf"(?<![\w.])([0-9]{{1,4}})\s*mA(?!\w)(?:[\s,]*{_RCD})?", re.IGNORECASE),
    # A curve is never A, AC or F, so these can only be the type of the residual current function.
    "rcd_type": re.compile(r"(?<!\w)(?:(?:RCD\s*)?type\s*(AC|A|F)|(AC|A|F)\s*type|(AC))(?!\w)", re.IGNORECASE),
    "breaking_ka": re.compile(r"(?<![\w.])([0-9]{1,3}(?:\.[0-9])?)\s*kA(?!\w)", re.IGNORECASE),
    "poles": re.compile(
        r"(?<!\w)(?:([SDTF1-4])P(?:\s*[+&]?\s*N)?|(single|double|triple|[1-4])[ -]?pole)(?!\w)", re.IGNORECASE
    ),
    "afdd": re.compile(r"(?<!\w)(AFDD)(?!\w)", re.IGNORECASE),
    "fuse": re.compile(
        r"(?<!\w)((?:semi[ -]?enclosed\s+)?rewire?able|semi[ -]?enclosed|FCU|fuse)(?!\w)", re.IGNORECASE
    ),
}
_POLES = {"s": 1, "d": 2, "t": 3, "f": 4, "single": 1, "double": 2, "triple": 3}
# What a word says of the standard where none is given.
_MEANS = {"MCCB": "BS EN 60947-2", "FCU": "BS 1362"}
_SHORT_WORD = re.compile(r"type|curve|amps?|gG|gL|gM|gR|aM", re.IGNORECASE)
# Not overcurrent devices, or not there.
_OTHER = {
    "sw",
    "switch",
    "isolator",
    "disconnector",
    "rcd",
    "rccb",
    "spd",
    "spare",
    "blank",
    "contactor",
    "timer",
    "relay",
}
_NOTHING = {"n/a", "none", "-", "–", "—", "--"}
_HARMLESS = {"cartridge", "hrc", "circuit", "breaker", "device", "i", "ii"}
_RATING = r"[0-9]{1,4}(?:\.[0-9])?"
_SHORT = re.compile(
    rf"(?:(?P<type>{_NAMED})\s*)?(?P<rating>{_RATING})\s*(?:A|amps?)?"
    rf"|(?P<rating2>{_RATING})\s*(?:A|amps?)?\s*(?P<type2>{_NAMED})",
    re.IGNORECASE,
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
    text = " ".join(typed.split()) if isinstance(typed, str) else ""
    if text.casefold() in _NOTHING:
        entry.fault("device", "Understood as no device entered.", "type and rating", text, severity=Severity.NOTE)
        return Device()
    said, rest = _parts(text)
    match, left_out = _type_and_rating(rest)
    if match is not None and left_out and not (match["type"] or match["type2"] or "standard" in said):
        match = None  # the word may be the type
    if match is None:
        words = _OTHER & set(re.findall(r"[a-z]+", text.casefold()))
        do = "A switch or an RCD alone is no overcurrent device; enter it with the board." if words else ""
        entry.fault(
            "device",
            "This cannot be read as a device.",
            '"B32", "BS EN 60898 B32", "RCBO B32 30 mA type A", "BS 3036 30", "BS 88-3 gG 80" or single keys',
            short(typed),
            do,
        )
        return base
    kind = re.sub(r"^(type|curve|T)\s*(?=.$)|\s+(type|curve)$", "", match["type"] or match["type2"] or "", flags=re.I)
    kind = (
        kind.upper()
        if len(kind) == 1
        else {"gg": "gG", "gl": "gL", "gm": "gM", "gr": "gR", "am": "aM"}.get(kind.lower(), kind)
    )
    word = said.get("word", "").upper()
    standard = str(said.get("standard") or _MEANS.get(word, word) or _of_fuse(said.get("fuse", "")))
    more = _more(said)
    if left_out:
        what = f"Understood as {standard} {kind} {match['rating'] or match['rating2']} A; the rest of it was not understood."
        entry.fault(
            "device", " ".join(what.split()), "type and rating", short(typed), f"Not used: {left_out}", Severity.NOTE
        )
    rating = match["rating"] or match["rating2"]
    for key, value in (("type", kind), ("rating_a", rating), ("standard", standard), *more.items()):
        if value and entry.has(key):
            entry.fault(key, "The device is given twice.", f"either device or {key}", "both")
    # A standard or a kind of fuse of its own without a type has no type: the usual one belongs to the usual standard.
    own = bool(standard or "fuse" in said)
    return evolve(
        base,
        standard=standard if own else base.standard,
        type=kind or ("" if own else base.type),
        rating_a=float(rating),
        **more,
    )


def _parts(text: str) -> tuple[dict[str, str], str]:
    """What stands for itself in a text, by what it is, and the rest, its marks turned to blanks."""
    said: dict[str, str] = {}
    rest = text
    for name, part in _PARTS.items():
        if found := part.search(rest):
            first, *more = [x for x in found.groups() if x] or [found[0]]
            said[name] = first
            if name == "rcd_ma" and more:
                said["rcd_type"] = more[0]
            rest = f"{rest[: found.start()]} {rest[found.end() :]}"
    if "rcd_ma" in said and (delay := re.search(r"(?<!\w)(?:type\s*)?S(?!\w)", rest)):
        said["rcd_delay"], rest = "S", f"{rest[: delay.start()]} {rest[delay.end() :]}"
    rest = re.sub(r"[()/,;:+&]|(?<=[A-Za-z])[-.](?=[0-9])|(?<=\s)-(?=\s)", " ", rest)
    return said, " ".join(rest.split()).strip("-. ")


def _type_and_rating(rest: str) -> tuple[re.Match[str] | None, str]:
    """Type and rating in what is left, and the words that had to be left out for them to be seen."""
    words = rest.split()
    known = " ".join(w for w in words if w.casefold() not in _HARMLESS)
    match = _SHORT.fullmatch(known)
    if match is not None or _OTHER & {w.casefold().strip(".") for w in words}:
        return match, ""
    strange = [w for w in words if re.fullmatch(r"[A-Za-z]{2,}\.?|M[1-9]", w) and not _SHORT_WORD.fullmatch(w)]
    return _SHORT.fullmatch(" ".join(w for w in known.split() if w not in strange)), " ".join(strange)


def _of_fuse(word: str) -> str:
    """The standard of a fuse that is named by its kind; empty where it may be of several."""
    kind = word.casefold()
    return _MEANS.get(word.upper(), "BS 3036" if "rewir" in kind or "semi" in kind else "")


def _more(said: Mapping[str, str]) -> dict[str, Any]:
    """What a text says beside standard, type and rating."""
    more: dict[str, Any] = {}
    for key in ("rcd_ma", "breaking_ka"):
        if key in said:
            more[key] = float(said[key])
    if "rcd_type" in said:
        more["rcd_type"] = said["rcd_type"].upper()
    if "rcd_delay" in said:
        more["rcd_delay"] = said["rcd_delay"]
    if "poles" in said:
        poles = said["poles"].casefold()
        more["poles"] = _POLES.get(poles) or int(poles)
    if "afdd" in said:
        more["afdd"] = True
    return more


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
