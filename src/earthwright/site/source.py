"""Where a reading was taken in from: a file of an instrument, its row, and the digest of its bytes. Written and read here alone."""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import frozen

from .events import Event, Reading

_WRITTEN = re.compile(r"(?P<file>.+), row (?P<row>[0-9]+), sha256 (?P<digest>[0-9a-f]{64})")
SHORT = 16  # digits of a digest in print; the record holds all


@frozen
class Source:
    """A row of a file. ``digest``: SHA-256 of its bytes."""

    file: str
    row: int
    digest: str

    def __str__(self) -> str:
        return f"{self.file}, row {self.row}, sha256 {self.digest}"


def source_of(text: str) -> Source | None:
    """What :class:`Source` wrote; None for anything else."""
    found = _WRITTEN.fullmatch(text)
    return Source(found["file"], int(found["row"]), found["digest"]) if found else None


def taken_in(events: Iterable[Event]) -> list[str]:
    """In words, each file once: its name, its digest, and which reading came from which row."""
    files: dict[tuple[str, str], list[str]] = {}
    for e in events:
        source = source_of(e.source) if isinstance(e, Reading) else None
        if source is not None and isinstance(e, Reading):
            files.setdefault((source.file, source.digest), []).append(f"{e.id} row {source.row}")
    return [f"{file} (sha256 {digest[:SHORT]}…): {', '.join(rows)}" for (file, digest), rows in files.items()]
