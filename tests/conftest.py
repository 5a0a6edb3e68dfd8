"""What holds for every test."""

from __future__ import annotations

from hypothesis import settings

# A busy machine is no fault of the program: how long one example takes is never a verdict.
settings.register_profile("house", deadline=None)
settings.load_profile("house")
