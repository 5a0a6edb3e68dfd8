"""What a person at the screen or the command line does with kept visits."""

from .desk import Desk
from .visit_list import VisitLine

__all__ = ["Desk", "VisitLine"]
