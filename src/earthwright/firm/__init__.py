"""A firm at one journal: who may act, who acted, to whom a visit was given, and what was handed to a client."""

from .firm import Firm
from .rights import Person
from .tables import is_there

__all__ = ["Firm", "Person", "is_there"]
