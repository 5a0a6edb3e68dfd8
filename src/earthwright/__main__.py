"""``python -m earthwright``."""

from .cli import run

run()
