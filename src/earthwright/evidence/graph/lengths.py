"""How much cable lies between a board and a point of one of its circuits, and what its connections may add."""

from __future__ import annotations

from ...site.assumptions import LENGTH_TOLERANCE
from ...site.installation import Circuit

# Protective conductors whose resistance follows from their size.
WIRES = ("core", "separate")
# What connections along a circuit may add beyond the conductors themselves [Ω]: terminals, probes, a few accessories.
CONNECTIONS_OHM = 0.05
# Cable to a socket that hangs on a spur; only its order of size matters for the upper edge of a ring's R1+R2.
SPUR_M = 12.0


def slack_m(length_m: float, stated_m: float | None = None) -> float:
    """How far out a length may be [m]: as stated, else by the tolerance of one that was paced or read off a plan."""
    return LENGTH_TOLERANCE * length_m if stated_m is None else stated_m


def length_band(length_m: float, stated_m: float | None = None) -> tuple[float, float]:
    """Least and most that a length may be [m]."""
    slack = slack_m(length_m, stated_m)
    return max(0.0, length_m - slack), length_m + slack


def length_to(circuit: Circuit, point: str) -> tuple[float, float, str] | None:
    """Shortest and longest length to a point [m] and what was assumed; None when nothing is entered.

    A point without a place may lie anywhere on the cable; without a point the furthest is meant.
    """
    whole, tolerance = circuit.length_m, circuit.length_tol_m
    if circuit.kind == "ring":
        return _on_ring(circuit, point)
    place = dict(circuit.points).get(point) if point else None
    if place is not None:
        low, high = around(circuit, place)
        return low, high, f"{point} at {place:g} ± {high - place:.2g} m"
    if whole is None:
        return None
    slack = slack_m(whole, tolerance)
    said = f"{whole:g} ± {slack:.2g} m" + ("" if tolerance is not None else ", tolerance not stated, a tenth taken")
    if point and len(circuit.points) > 1 and point != circuit.points[-1][0]:
        return 0.0, whole + slack, f"{point} anywhere within {whole + slack:g} m"
    return max(0.0, whole - slack), whole + slack, f"{said} to the furthest point"


def around(circuit: Circuit, place_m: float) -> tuple[float, float]:
    """Shortest and longest cable to a place along it [m]: the share of the whole length's tolerance, a metre at least."""
    whole, tolerance = circuit.length_m, circuit.length_tol_m
    slack = max(1.0, (tolerance / whole if tolerance is not None and whole else LENGTH_TOLERANCE) * place_m)
    return max(0.0, place_m - slack), place_m + slack


def _on_ring(circuit: Circuit, point: str) -> tuple[float, float, str] | None:
    """Length of single cable that a place on a ring is like: both ways side by side, a quarter of the ring at most."""
    if circuit.length_m is None:
        return None
    slack = slack_m(circuit.length_m, circuit.length_tol_m)
    low = 0.0 if point else (circuit.length_m - slack) / 4.0
    high = (circuit.length_m + slack) / 4.0 + (SPUR_M if circuit.spurs else 0.0)
    spur = f" and a spur of up to {SPUR_M:g} m" if circuit.spurs else ""
    return max(0.0, low), high, f"a ring of {circuit.length_m:g} ± {slack:.2g} m, a quarter of it at most{spur}"
