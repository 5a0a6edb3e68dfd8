"""What the readings of a ring final circuit say about its wiring: hypotheses weighed by the digits they predict."""

from .fit import fit_ring
from .model import Priors, RingFit, RingTest, SocketRead, SpurFound

__all__ = ["Priors", "RingFit", "RingTest", "SocketRead", "SpurFound", "fit_ring"]
