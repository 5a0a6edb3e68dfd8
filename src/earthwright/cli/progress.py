"""How far a long job is: a bar on a terminal, a line now and then where there is none."""

from __future__ import annotations

import sys
import time

import click

EVERY_S = 15.0  # between two lines where there is no terminal


class Progress:
    """Told how many of how many are done; says so on the error channel, with the time that is left."""

    def __init__(self, what: str) -> None:
        self.what = what
        self._began = self._said = time.monotonic()
        self._first = 0
        self._bar = sys.stderr.isatty()

    def __call__(self, done: int, of: int) -> None:
        """So many of so many are done."""
        now = time.monotonic()
        last = done >= of > 0
        if not self._bar and not (now - self._said >= EVERY_S or (last and now - self._began >= EVERY_S)):
            return
        if self._bar and not last and now - self._said < 0.2:
            return
        self._said = now
        line = f"{self.what}: {done:,} of {of:,}{'' if last or not done else ', ' + left(now - self._began, done, of)}"
        click.echo(f"\r\x1b[K{line}" if self._bar else line, err=True, nl=not self._bar or last)


def left(taken_s: float, done: int, of: int) -> str:
    """The time that is left, in words, if the rest takes as long as what is done."""
    seconds = taken_s / done * (of - done)
    if seconds < 90:
        return f"about {max(1, round(seconds))} s left"
    if seconds < 90 * 60:
        return f"about {round(seconds / 60)} min left"
    return f"about {seconds / 3600:.1f} h left"
