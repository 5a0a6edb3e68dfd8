"""The tool in the hand: pages for a phone on site, served from this machine. Handlers are async and hold no state."""

from .app import make_app

__all__ = ["make_app"]
