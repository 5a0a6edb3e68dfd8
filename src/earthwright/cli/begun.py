"""A long job that goes on where it was stopped: what is done is written down, line by line, beside what it will become."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import Any

from attrs import field, frozen

from ..base.build import build_mark


@frozen
class InJournal:
    """A visit of a journal by its id; ``head``: hash of its last event."""

    journal: str = field(repr=False)  # an address may hold a pass phrase
    name: str
    head: str


class Begun:
    """Results by name and stamp in ``.NAME.begun`` beside the file that is to come; gone once that is written.

    A result counts only for the same file by the same build of the program. A line that was cut is done again.
    """

    def __init__(self, output: Path | None) -> None:
        self.path = None if output is None else output.with_name(f".{output.name}.begun")
        self.done: dict[str, Any] = {}
        if self.path is not None and self.path.is_file():
            for line in self.path.read_text(encoding="utf-8", errors="replace").splitlines():
                with contextlib.suppress(ValueError, TypeError, KeyError):
                    said = json.loads(line)
                    self.done[said["stamp"]] = said["result"]

    @staticmethod
    def stamp(file: Path | InJournal) -> str:
        """What tells a file or a kept visit and its state from any other."""
        if isinstance(file, InJournal):
            return f"{file.name} {file.head} {build_mark()}"
        said = file.stat()
        return f"{file.resolve()} {said.st_size} {said.st_mtime_ns} {build_mark()}"

    def of(self, file: Path | InJournal) -> Any:
        """The result for a file; None when it is not done, or the file cannot be looked at."""
        with contextlib.suppress(OSError):
            return self.done.get(self.stamp(file))
        return None

    def keep(self, file: Path | InJournal, result: object) -> None:
        """Write one result down."""
        if self.path is None:
            return
        with contextlib.suppress(OSError), self.path.open("a", encoding="utf-8") as out:
            out.write(json.dumps({"stamp": self.stamp(file), "result": result}, ensure_ascii=False) + "\n")

    def end(self) -> None:
        """All is done and written."""
        if self.path is not None:
            self.path.unlink(missing_ok=True)
