"""``python -m earthwright``."""

from .cli.main import run

run()
