"""What holds for every test."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from hypothesis import settings

# A busy machine is no fault of the program: how long one example takes is never a verdict. The same examples every time,
# so that a failure is a failure of the change at hand; WIDE=1 looks for new ones.
settings.register_profile("house", deadline=None, derandomize=True)
settings.register_profile("wide", deadline=None, max_examples=1000)
settings.load_profile("wide" if os.environ.get("WIDE") else "house")

sys.path.insert(0, str(Path(__file__).parent))  # drawn.py and edge_cases.py, which the benchmarks use as well
