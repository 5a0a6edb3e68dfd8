"""How to connect a test, drawn from the state: which end is off, where the probes go, which leads, what stays on."""

from .bond import bond_drawing
from .circuit import circuit_drawing

__all__ = ["bond_drawing", "circuit_drawing"]
