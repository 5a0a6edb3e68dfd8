"""One function that judges a visit: all of it, kept together with its evidence."""

from .visit import assess

__all__ = ["assess"]
