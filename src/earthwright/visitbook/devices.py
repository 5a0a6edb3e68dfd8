"""Protective devices in a visit book: short texts such as ``B32``, or one key for each property."""

from __future__ import annotations

import re
from itertools import pairwise

from attrs import evolve

from ..installation import RCD_TYPES, Device
from .fields import Entry, short

_STANDARD = r"(?P<standard>(?:(?:BS|EN|IEC|HD)\s+)+[0-9][0-9-]*|(?:BS|EN|IEC|HD)[0-9][0-9-]*)"
_TYPE = r"(?P<type>[BCDKZ]|g[GLMR]|aM|type\s+[1-4BCD])"
_SHORT = re.compile(rf"(?:{_STANDARD}\s+)?(?:{_TYPE}\s*)?(?P<rating>[0-9]{{1,4}}(?:\.[0-9])?)\s*A?")
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
    match = _SHORT.fullmatch(typed.strip()) if isinstance(typed, str) else None
    if match is None:
        entry.fault(
            "device",
            "This cannot be read as a device.",
            '"B32", "BS EN 60898 B32", "BS 3036 30", "BS 88-3 gG 80" or single keys',
            short(typed),
        )
        return base
    for key, group in (("type", "type"), ("rating_a", "rating"), ("standard", "standard")):
        if match[group] and entry.has(key):
            entry.fault(key, "The device is given twice.", f"either device or {key}", "both")
    kind = re.sub(r"^type\s+", "", match["type"] or "")
    return evolve(
        base,
        standard=" ".join(match["standard"].split()) if match["standard"] else base.standard,
        # A standard of its own without a type has no type: the usual one belongs to the usual standard.
        type=kind or ("" if match["standard"] else base.type),
        rating_a=float(match["rating"]),
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
