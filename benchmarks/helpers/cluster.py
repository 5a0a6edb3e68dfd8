"""A throw-away PostgreSQL server for checks and timings, from the programs that are installed."""

from __future__ import annotations

import contextlib
import ctypes
import glob
import itertools
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

import psycopg

BINARIES = sorted(glob.glob("/usr/lib/postgresql/*/bin"))
_numbers = itertools.count(1)


class Cluster:
    """A throw-away PostgreSQL server: its own folder, a socket there and no port. ``folder``: one that is kept, for the next run."""

    def __init__(self, folder: Path | None = None) -> None:
        self.bin = Path(BINARIES[-1])
        self.kept = folder is not None
        self.folder = folder.absolute() if folder else Path(tempfile.mkdtemp(prefix="ew-pg-"))
        self.user = "postgres" if os.geteuid() == 0 else None  # the server refuses to run as root
        if (self.folder / "data" / "PG_VERSION").is_file():
            self.start()
            return
        self.folder.mkdir(exist_ok=True)
        if self.user:
            entry = pwd.getpwnam(self.user)
            os.chown(self.folder, entry.pw_uid, entry.pw_gid)
        self.run("initdb", "-D", "data", "-U", "keeper", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
        self.start()

    def _as_user(self) -> dict[str, Any]:
        """How its programs are started: in its folder, as its user, with nothing of our surroundings."""
        groups: dict[str, Any] = {"user": self.user, "group": self.user, "extra_groups": []} if self.user else {}
        return {"cwd": self.folder, "env": {"PATH": os.environ.get("PATH", ""), "LC_ALL": "C"}, **groups}

    def run(self, program: str, *arguments: str) -> str:
        """Run one of the server's programs to its end."""
        command = [str(self.bin / program), *arguments]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120, **self._as_user())
        assert done.returncode == 0, f"{program}: {done.stdout}{done.stderr}"
        return done.stdout

    def start(self) -> None:
        """Start the server and wait until it answers. It ends when whoever started it ends, however that comes."""
        settings = ("listen_addresses=", f"unix_socket_directories={self.folder}", "max_connections=60")
        command = [str(self.bin / "postgres"), "-D", "data", *(x for s in settings for x in ("-c", s))]
        with (self.folder / "log").open("ab") as log:
            self.server = subprocess.Popen(command, stdout=log, stderr=log, preexec_fn=_die_too, **self._as_user())
        for _ in range(600):
            with contextlib.suppress(psycopg.OperationalError):
                psycopg.connect(f"host={self.folder} user=keeper dbname=postgres").close()
                return
            if self.server.poll() is not None:
                break
            time.sleep(0.1)
        raise AssertionError((self.folder / "log").read_text()[-2000:])

    def stop(self) -> None:
        """Stop the server and take its folder away, unless it is kept."""
        self.server.send_signal(signal.SIGINT if self.kept else signal.SIGQUIT)
        self.server.wait(60)
        if not self.kept:
            shutil.rmtree(self.folder)

    def fresh(self) -> str:
        """Address of a new, empty place for a journal: a schema of its own."""
        name = f"journal{next(_numbers)}"
        with psycopg.connect(f"host={self.folder} user=keeper dbname=postgres", autocommit=True) as connection:
            connection.execute(f"CREATE SCHEMA {name}")  # type: ignore[arg-type]
        return f"postgresql://keeper@/postgres?host={self.folder}&options=-csearch_path%3D{name}"

    def kill(self) -> None:
        """End the server and all its processes at once, as a power cut would, with no chance to tidy up."""
        first = int((self.folder / "data" / "postmaster.pid").read_text().split()[0])
        family = [first]
        for stat in glob.glob("/proc/[0-9]*/stat"):
            try:
                fields = Path(stat).read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            if int(fields[1]) == first:
                family.append(int(stat.split("/")[2]))
        for pid in family:
            os.kill(pid, signal.SIGKILL)
        self.server.wait(60)
        while any(_runs(pid) for pid in family):
            time.sleep(0.01)
        # Where nobody collects dead processes the server would take its own remains for a running one.
        for left in (self.folder / "data" / "postmaster.pid", *self.folder.glob(".s.PGSQL.*")):
            left.unlink(missing_ok=True)


def _die_too() -> None:
    """Ask the kernel (Linux) to end this process when its parent ends."""
    ctypes.CDLL(None).prctl(1, signal.SIGQUIT)


def _runs(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
