"""A desk at a new SQLite journal; the databases themselves are tried in tests/records."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from earthwright.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path / "journal.sqlite")
    yield made
    made.close()
