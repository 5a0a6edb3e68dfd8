"""What a new circuit's form begins with: as the one before, or as such a circuit usually is. Proposals, seen before saved."""

from __future__ import annotations

import re

from attrs import frozen

from .specs import SPECS, value_of
from .work import Opened, plain_body


@frozen
class Preset:
    """A circuit as it usually is (common practice, no source): name, kind, use, type and rating of device, sizes [mm²]."""

    name: str
    kind: str
    use: str
    device: str
    line_mm2: str
    cpc_mm2: str


PRESETS = (
    Preset("Lights", "radial", "lighting", "B6", "1.5", "1.0"),
    Preset("Sockets, ring", "ring", "sockets", "B32", "2.5", "1.5"),
    Preset("Sockets, radial", "radial", "sockets", "B20", "2.5", "1.5"),
    Preset("Cooker", "radial", "cooker", "B32", "6", "2.5"),
    Preset("Shower", "radial", "shower", "B40", "10", "4"),
    Preset("Fixed load", "radial", "fixed", "B16", "2.5", "1.5"),
    Preset("Smoke alarms", "radial", "fixed", "B6", "1.5", "1.0"),
)
# What differs from circuit to circuit and is never taken from the one before.
OWN = ("id", "name", "length_m", "length_tol_m", "points", "spurs", "note", "location", "line", "design_a")
STANDARDS = ("BS EN 61009", "BS EN 60898", "BS 88-3", "BS 1361", "BS 3036", "BS 3871")
TYPES = ("B", "C", "D")
RATINGS = ("6", "10", "16", "20", "32", "40", "50")
DEVICE_PARTS = (("standard", STANDARDS), ("type", TYPES), ("rating", RATINGS))


def like(found: Opened, other: str, preset: str) -> dict[str, str]:
    """The fields of a new circuit: as another one, or the last; then as the preset of that name says."""
    entries = [e for e in found.kept.entries if e.kind == "circuit" and e.struck is None]
    mine = [e for e in entries if e.body.get("id") == other] or entries[-1:]
    base = plain_body(mine[0]) if mine else {}
    values = {s.key: value_of(s, base) for s in SPECS["circuit"] if s.key not in OWN and value_of(s, base)}
    chosen = next((p for p in PRESETS if p.name == preset), None)
    return values | as_preset(chosen, values.get("device", "")) if chosen else values


def as_preset(preset: Preset, device: str) -> dict[str, str]:
    """The fields that a preset fills; the standard of the device stays that of the circuit before."""
    standard = re.sub(r"\s*\b[BCD]?\d{1,2}$", "", device) or STANDARDS[0]
    return {
        "name": preset.name.split(",")[0],
        "kind": preset.kind,
        "use": preset.use,
        "device": f"{standard} {preset.device}",
        "line_mm2": preset.line_mm2,
        "cpc_mm2": preset.cpc_mm2,
    }
