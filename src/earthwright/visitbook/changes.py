"""A circuit whose cable changes along it: the size and length of the circuit as a whole follow from its lengths of cable."""

from __future__ import annotations

import math

from attrs import evolve

from ..evidence.graph.lengths import length_band
from ..site.installation import Circuit
from .fields import Entry


def by_runs(entry: Entry, circuit: Circuit) -> Circuit:
    """The circuit with the smallest of its conductors as its own, and the way to its furthest end as its length.

    What it says itself has to fit: a size that is none of them, or another length, is told.
    """
    runs = circuit.stretches
    if not runs:
        return circuit
    if circuit.kind == "ring":
        entry.fault(
            "runs", "The legs of a ring are judged as of one size.", "runs of a radial, or no such key", circuit.runs
        )
        return evolve(circuit, runs="")
    lines = {s.line_mm2 for s in runs}
    cpcs = {
        s.cpc_mm2 or (circuit.cpc_mm2 if entry.has("cpc_mm2") else None)
        for s in runs
        if (s.cpc or circuit.cpc) == circuit.cpc
    }
    for key, said, known in (("line_mm2", circuit.line_mm2, lines), ("cpc_mm2", circuit.cpc_mm2, cpcs)):
        if entry.has(key) and said is not None and said not in known:
            sizes = ", ".join(f"{x:g}" for x in sorted(x for x in known if x))
            entry.fault(
                key, "None of the lengths of cable has this size.", f"one of {sizes} mm², or no {key}", f"{said:g} mm²"
            )
    length, said = whole_m(circuit), circuit.length_m
    if length is not None and said is not None and entry.has("length_m"):
        low, high = length_band(length, circuit.length_tol_m)
        if not low <= said <= high:
            entry.fault(
                "length_m",
                "The lengths of cable do not add up to this.",
                f"{length:g} m, or no length_m",
                f"{said:g} m",
            )
    cpc = None if None in cpcs or not cpcs else min(x for x in cpcs if x is not None)
    return evolve(circuit, line_mm2=min(lines), cpc_mm2=cpc, length_m=said if length is None else length)


def whole_m(circuit: Circuit) -> float | None:
    """The cable to its furthest end [m]; None where a length, or the place of a spur, is not known."""
    runs = circuit.stretches
    if any(s.length_m is None or (s.spur and s.at_m is None) for s in runs):
        return None
    ends = [math.fsum(s.length_m or 0.0 for s in runs if not s.spur)]
    ends += [(s.at_m or 0.0) + (s.length_m or 0.0) for s in runs if s.spur]
    return max(ends)
