"""The command line: ``earthwright judge VISIT`` and its companions."""

from .main import main

__all__ = ["main"]
