"""Every journal test runs on each database that this machine has: SQLite always, PostgreSQL where it is installed."""

from __future__ import annotations

import glob
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from earthwright.desk import Desk
from earthwright.records import Store

BINARIES = sorted(glob.glob("/usr/lib/postgresql/*/bin"))
BACKENDS = ["sqlite", *(["postgresql"] if BINARIES else [])]
_numbers = itertools.count(1)


class Cluster:
    """A throw-away PostgreSQL server: its own folder, a socket there and no port."""

    def __init__(self) -> None:
        self.bin = Path(BINARIES[-1])
        self.folder = Path(tempfile.mkdtemp(prefix="ew-pg-"))
        self.user = "postgres" if os.geteuid() == 0 else None  # the server refuses to run as root
        if self.user:
            entry = pwd.getpwnam(self.user)
            os.chown(self.folder, entry.pw_uid, entry.pw_gid)
        self.run("initdb", "-D", "data", "-U", "keeper", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
        self.start()

    def run(self, program: str, *arguments: str) -> str:
        """Run one of the server's programs in its folder, as its user."""
        done = subprocess.run(
            [str(self.bin / program), *arguments],
            cwd=self.folder,
            user=self.user,
            group=self.user,
            extra_groups=[] if self.user else None,
            capture_output=True,
            text=True,
            timeout=120,
            env={"PATH": os.environ.get("PATH", ""), "LC_ALL": "C"},
        )
        assert done.returncode == 0, f"{program}: {done.stdout}{done.stderr}"
        return done.stdout

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-k {self.folder} -c listen_addresses='' -c max_connections=60"
        self.run("pg_ctl", "-D", "data", "-l", "log", "-w", "-t", "60", "-o", options, "start")

    def stop(self) -> None:
        """Stop the server and take its folder away."""
        self.run("pg_ctl", "-D", "data", "-m", "immediate", "stop")
        shutil.rmtree(self.folder)

    def fresh(self) -> str:
        """Address of a new, empty place for a journal: a schema of its own."""
        name = f"journal{next(_numbers)}"
        with psycopg.connect(f"host={self.folder} user=keeper dbname=postgres", autocommit=True) as connection:
            connection.execute(f"CREATE SCHEMA {name}")  # type: ignore[arg-type]
        return f"postgresql://keeper@/postgres?host={self.folder}&options=-csearch_path%3D{name}"


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
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
