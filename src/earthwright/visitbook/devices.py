"""Protective devices in a visit book: short texts such as ``B32``, or one key for each property."""

from __future__ import annotations

import re
from itertools import pairwise

from attrs import evolve

from ..site.installation import DIRECTIONS, RCD_TYPES, Device
from .fields import Entry, short

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
_NONE = "none"

# The keys of a device, wherever they stand.
RCD_KEYS = ("rcd_type", "rcd_ma", "rcd_delay", "rcd_standard", "rcd_rating_a")
_DELAY = re.compile(r"([1-9][0-9]{0,3}) ?ms")
DELAY_SAID = 'S, none, or a set time such as "150 ms"'


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
    device = Device(
        standard=entry.text("standard", default=base.standard),
        type=entry.text("type", default=base.type),
        rating_a=number(entry, "rating_a", "A", base.rating_a, above=0, most=6300),
        breaking_ka=number(entry, "breaking_ka", "kA", base.breaking_ka, above=0, most=200),
        poles=entry.whole("poles", (1, 2, 3, 4), default=base.poles),
        rcd_type=entry.text("rcd_type", choices=(*RCD_TYPES, _NONE), default=base.rcd_type),
        rcd_ma=number(entry, "rcd_ma", "mA", base.rcd_ma, above=0, most=30000),
        rcd_delay=read_delay(entry, "rcd_delay", base.rcd_delay).replace(_NONE, ""),
        afdd=_flag(entry, "afdd", base.afdd),
        rdc_dd=_flag(entry, "rdc_dd", base.rdc_dd),
        direction=entry.text("direction", choices=DIRECTIONS, default=base.direction),
        coil_ohm=number(entry, "coil_ohm", "Ω", base.coil_ohm, least=0, most=100),
        curve=_curve(entry, base.curve),
        let_through_a2s=number(entry, "let_through_a2s", "A²s", base.let_through_a2s, above=0, most=1e9),
        rcd_standard=entry.text("rcd_standard", default=base.rcd_standard),
        rcd_rating_a=number(entry, "rcd_rating_a", "A", base.rcd_rating_a, above=0, most=6300),
    )
    if device.rcd_type == _NONE:
        for key in RCD_KEYS[1:]:
            if entry.has(key) and entry.raw(key) != _NONE:
                entry.fault(key, "There is said to be no residual current function.", "no " + key, "one")
        return evolve(device, rcd_type="", rcd_ma=None, rcd_delay="", rcd_standard="", rcd_rating_a=None)
    if device.rcd_standard == _NONE:
        # One device does both here, although a separate one may be usual.
        if entry.has("rcd_rating_a"):
            entry.fault("rcd_rating_a", "There is said to be no separate device.", "no rcd_rating_a", "one")
        return evolve(device, rcd_standard="", rcd_rating_a=None)
    return device


def read_delay(entry: Entry, key: str, default: str) -> str:
    """The delay of a residual current device: ``S``, ``none`` or a set time such as ``150 ms``."""
    typed = entry.text(key, default=default)
    if not entry.has(key) or typed in ("S", _NONE):
        return typed
    match = _DELAY.fullmatch(typed)
    if match is None:
        if isinstance(entry.raw(key), str):  # another kind of value was told already
            near = "S" if typed in ("s", "Type S", "type S") else ""
            do = f"Did you mean '{near}'?" if near else ""
            entry.fault(key, "This is not a delay.", DELAY_SAID, short(typed), do)
        return default
    return f"{match[1]} ms"


def number(
    entry: Entry,
    key: str,
    unit: str,
    base: float | None,
    *,
    above: float | None = None,
    least: float | None = None,
    most: float = 1e9,
) -> float | None:
    """A number, or what is usual where the key is not there."""
    found = entry.number(key, unit, above=above, least=least, most=most)
    return found if entry.has(key) else base


def _flag(entry: Entry, key: str, base: bool) -> bool:
    found = entry.flag(key)
    return base if found is None else found


def _curve(entry: Entry, base: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    raw = entry.raw("curve")
    if raw is None:
        return base
    expected = "[[87, 5], [200, 0.4], [350, 0.1]]: amperes rising, seconds falling"
    points: list[tuple[float, float]] = []
    if isinstance(raw, list):
        for pair in raw:
            numbers = [entry.plain(x) for x in pair] if isinstance(pair, list) else []
            if len(numbers) == 2 and numbers[0] is not None and numbers[1] is not None:
                points.append((numbers[0], numbers[1]))
    if not isinstance(raw, list) or not raw or len(points) != len(raw):
        entry.fault("curve", "These are not points of a curve.", expected, short(raw))
        return base
    good = all(0 < a <= 1e6 and 0 < s <= 1e5 for a, s in points)
    if not good or not all(a < c and s > d for (a, s), (c, d) in pairwise(points)):
        entry.fault("curve", "A curve falls from left to right.", expected, str(points)[:80])
        return base
    return tuple(points)
