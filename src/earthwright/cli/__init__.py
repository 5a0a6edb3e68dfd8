"""The command line: ``earthwright judge VISIT`` and its companions."""

from .main import main, run

__all__ = ["main", "run"]
