"""The earth network: terminals, boards, circuits, bonds and known metal as one graph, and what it says about a test."""

from .build import earth_network, point_name
from .model import EARTH, EarthNetwork, EarthNetworkError, Node, Piece
from .reach import Break, Reach, Standing, lost, touching

__all__ = [
    "EARTH",
    "Break",
    "EarthNetwork",
    "EarthNetworkError",
    "Node",
    "Piece",
    "Reach",
    "Standing",
    "earth_network",
    "lost",
    "point_name",
    "touching",
]
