"""Every journal test runs on each database that this machine has: SQLite always, PostgreSQL where it is installed."""

from __future__ import annotations

import importlib.util
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from earthwright.desk import Desk
from earthwright.records import Store


def _helper(name: str) -> ModuleType:
    """A module of benchmarks/helpers, which timings and checks share."""
    path = Path(__file__).parents[2] / "benchmarks" / "helpers" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(f"helpers_{name}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


helper = _helper("cluster")
Cluster = helper.Cluster
BACKENDS = ["sqlite", *(["postgresql"] if helper.BINARIES else [])]
_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def cluster() -> Iterator[Any]:
    made = Cluster()
    yield made
    made.stop()


@pytest.fixture(params=BACKENDS)
def new_url(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Gives the address of a new journal at each call, on each database in turn."""
    if request.param == "postgresql":
        return request.getfixturevalue("cluster").fresh  # type: ignore[no-any-return]
    return lambda: str(tmp_path / f"journal{next(_numbers)}.sqlite")


@pytest.fixture
def url(new_url: Callable[[], str]) -> str:
    """Address of a new journal."""
    return new_url()


@pytest.fixture
def at_desk() -> Iterator[Callable[[str | Path], Desk]]:
    """Opens a desk at an address; all are closed at the end."""
    desks: list[Desk] = []

    def opened(address: str | Path) -> Desk:
        desks.append(Desk(address))
        return desks[-1]

    yield opened
    for desk in desks:
        desk.close()


@pytest.fixture
def desk(url: str, at_desk: Callable[[str], Desk]) -> Desk:
    """A desk at a new journal."""
    return at_desk(url)


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    """A new journal."""
    made = Store(url)
    yield made
    made.close()


@pytest.fixture
def cluster_url(request: pytest.FixtureRequest) -> str:
    """Address of a new journal in PostgreSQL."""
    if "postgresql" not in BACKENDS:
        pytest.skip("PostgreSQL is not installed")
    return str(request.getfixturevalue("cluster").fresh())
