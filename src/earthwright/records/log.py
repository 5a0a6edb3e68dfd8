"""The write-ahead log beside an SQLite journal: was something in it that would be dropped without a word?

After a crash SQLite reads the log up to the first frame that does not fit and forgets the rest. That is right for a
commit that was being written, since it was never acknowledged. But when *further* commits stand behind the frame that
does not fit, they had been acknowledged, and the frame was damaged later. Then the journal is not opened: SQLite would
write over what could still be saved.

Layout: "Database File Format", section 4, The Write-Ahead Log (sqlite.org): a header of 32 bytes; frames of 24 bytes
and a page; salts tell frames of this log from older ones; checksums run on from frame to frame.
"""

from __future__ import annotations

import struct
import time
from pathlib import Path

HEADER, FRAME = 32, 24
MAGIC = 0x377F0682  # the last bit says in which order the checksum takes its bytes
TRIES, PAUSE_S = 3, 0.05


def commits_dropped(file: Path) -> int:
    """How many whole commits stand in the log behind a damaged frame; 0 when the log is sound or there is none.

    A log that another program is writing at this moment may look odd once; it is looked at again before it counts.
    """
    log = file.with_name(file.name + "-wal")
    found = 0
    for attempt in range(TRIES):
        if attempt:
            time.sleep(PAUSE_S)
        try:
            raw = log.read_bytes()
            with file.open("rb") as journal:
                (page,) = struct.unpack(">16xH", journal.read(18))
        except (OSError, struct.error):
            return 0
        found = _dropped(raw, {0: 4096, 1: 65536}.get(page, page))
        if not found:
            return 0
    return found


def _dropped(raw: bytes, page: int) -> int:
    if len(raw) < HEADER + FRAME:
        return 0
    magic, _, _, _, *salts, first, second = struct.unpack(">8I", raw[:HEADER])
    order = ">" if magic & 1 else "<"
    sums = _checksum(raw[:24], order, (0, 0))
    good = magic & ~1 == MAGIC and sums == (first, second)
    if not good:  # then the frames themselves say which log they belong to
        salts = list(struct.unpack(">2I", raw[HEADER + 8 : HEADER + 16]))
    commits = 0
    for start in range(HEADER, len(raw) - FRAME - page + 1, FRAME + page):
        _, size, *own, a, b = struct.unpack(">6I", raw[start : start + FRAME])
        if good:
            # The next frame's sum runs on from this one, so nothing behind a damaged frame fits any more.
            sums = _checksum(raw[start : start + 8], order, sums)
            sums = _checksum(raw[start + FRAME : start + FRAME + page], order, sums)
            good = own == salts and sums == (a, b)
        if not good and own == salts and size:
            commits += 1
    # The first commit behind the damage may be the one that was being written when the program was ended.
    return max(0, commits - 1)


def _checksum(data: bytes, order: str, sums: tuple[int, int]) -> tuple[int, int]:
    a, b = sums
    for first, second in struct.iter_unpack(f"{order}II", data):
        a = (a + first + b) & 0xFFFFFFFF
        b = (b + second + a) & 0xFFFFFFFF
    return a, b
