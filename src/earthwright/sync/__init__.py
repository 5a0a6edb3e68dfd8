"""Journals that go together: a phone's, which keeps what it has not sent, and the office's, whose order counts."""

from .device import Outcome, exchange, waiting
from .line import Ask, Refused

__all__ = ["Ask", "Outcome", "Refused", "exchange", "waiting"]
