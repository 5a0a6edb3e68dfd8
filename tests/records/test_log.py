"""The write-ahead log beside an SQLite journal: sound, cut in its last commit, flipped."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from earthwright.records import Damaged, Store
from earthwright.records.log import commits_dropped
from earthwright.records.verify import verify

ROOT = Path(__file__).parents[2]


def with_log(file: Path, count: int) -> bytes:
    """A journal whose newest events stand in the log, as after a kill; the bytes of the log."""
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(file), str(count)],
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )
    assert done.returncode == -9, done.stderr
    return file.with_name(file.name + "-wal").read_bytes()


KILLED = """
import os, signal, sys
from earthwright.records import Draft, Store
store = Store(sys.argv[1])
for number in range(int(sys.argv[2])):
    store.append([Draft("visit-0001", "step", {"note": f"number {number}"}, "J. Example")])
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_a_sound_log_is_taken_over_after_a_kill(tmp_path: Path) -> None:
    file = tmp_path / "j.sqlite"
    assert len(with_log(file, 12)) > 12 * 4096
    assert commits_dropped(file) == 0
    store = Store(file)
    assert len(store.events()) == 12
    store.close()


def test_a_log_cut_in_its_last_commit_loses_only_what_was_never_acknowledged(tmp_path: Path) -> None:
    file = tmp_path / "j.sqlite"
    whole = with_log(file, 12)
    log = file.with_name(file.name + "-wal")
    log.write_bytes(whole[:-2000])
    assert commits_dropped(file) == 0
    store = Store(file)
    assert len(store.events()) == 11
    assert verify(store).whole
    store.close()


def test_a_flipped_byte_in_the_log_never_drops_acknowledged_events_in_silence(tmp_path: Path) -> None:
    """The journal is not opened, both files stay as they are. The very last commit cannot be told from one being written."""
    file = tmp_path / "j.sqlite"
    whole = with_log(file, 12)
    main = file.read_bytes()
    log = file.with_name(file.name + "-wal")
    chance = random.Random(3)
    refused = 0
    for place in [0, 9, 17, 25, 40, *(chance.randrange(len(whole)) for _ in range(25))]:
        raw = bytearray(whole)
        raw[place] ^= chance.randrange(1, 256)
        log.write_bytes(raw)
        file.write_bytes(main)
        file.with_name(file.name + "-shm").unlink(missing_ok=True)
        if commits_dropped(file):
            with pytest.raises(Damaged, match="acknowledged commits behind the damage"):
                Store(file)
            assert (log.read_bytes(), file.read_bytes()) == (bytes(raw), main)
            refused += 1
            continue
        store = Store(file)
        assert len(store.events()) >= 11, place
        assert verify(store).whole
        store.close()
    assert refused >= 20
