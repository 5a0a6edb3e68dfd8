"""earthwright judges what measurements on an electrical installation prove."""

__version__ = "0.2.0"
