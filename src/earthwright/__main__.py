"""``python -m earthwright``."""

from .cli import run

if __name__ == "__main__":  # processes that answer for this one load it as well
    run()
