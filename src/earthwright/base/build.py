"""Which build this is: a digest of the program's own files, so that two builds of one version are told apart.

A paper printed by another build may come out otherwise without anybody having changed it. The pages in the browser print
nothing, so they do not count; nor does anything that is made while the program runs.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

_KINDS = (".py", ".toml", ".typ", ".ttf")
_APART = ("web", "phone", "__pycache__")


@cache
def build_mark() -> str:
    """Twelve digits of the SHA-256 over names and bytes of the files that judge and print, in the order of their names."""
    told = files(__package__) / "build.txt"  # where only compiled files are, the mark of what they were made from
    if told.is_file():
        return told.read_text(encoding="utf-8")
    seen = hashlib.sha256()
    for name, file in sorted(_files(files(__package__.partition(".")[0]), "")):
        content = file.read_bytes()
        seen.update(f"{name} {len(content)}\n".encode() + content)
    return seen.hexdigest()[:12]


def _files(folder: Traversable, before: str) -> Iterator[tuple[str, Traversable]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            if entry.name not in _APART:
                yield from _files(entry, f"{before}{entry.name}/")
        elif entry.name.endswith(_KINDS):
            yield before + entry.name, entry
