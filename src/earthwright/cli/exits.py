"""Exit codes, declared once. docs/commands.md prints the same table, and a test holds it to this one."""

from __future__ import annotations

from enum import IntEnum

import click


class Exit(IntEnum):
    """What a command says to whatever called it."""

    DONE = 0
    FOUND = 1
    USAGE = 2  # click's own
    UNREAD = 3
    NOT_OURS = 4
    JOURNAL = 5
    REFUSED = 6
    FILE = 7
    UNCHECKED = 8
    STOPPED = 130  # as a shell says it


MEANS: dict[Exit, str] = {
    Exit.DONE: "done: what was asked for was answered or written, whatever it says: an unsatisfactory report is no error",
    Exit.FOUND: "`judge`, `many`: something was disproved, fails its rule, must go back or is danger now; `verify`: something "
    "differs; `keep check`: the journal is not whole",
    Exit.USAGE: "the command was used wrongly, or what it would write is there already and `--replace` was not given",
    Exit.UNREAD: "entries could not be read; the rest was done, unless it is said that nothing was written",
    Exit.NOT_OURS: "the file is no visit book, or not a record of ours",
    Exit.JOURNAL: "the journal refused, and nothing was changed",
    Exit.REFUSED: "a document was not issued or not signed; why, and what to do about it, is listed",
    Exit.FILE: "a file could not be read or written, or a part of the program is not installed; nothing was half written",
    Exit.UNCHECKED: "`verify`: the document cannot be checked here, which is no agreement; why is said",
    Exit.STOPPED: "stopped from outside; nothing was half written",
}


class Refused(click.ClickException):
    """Something was not issued or not signed."""

    exit_code = Exit.REFUSED


class FileTrouble(click.ClickException):
    """A file cannot be read or written, or a library is not there."""

    exit_code = Exit.FILE


class Stopped(click.ClickException):
    """The person at the keyboard stopped it."""

    exit_code = Exit.STOPPED


def table() -> str:
    """The table as docs/commands.md prints it."""
    rows = [f"| {int(code)} | {means} |" for code, means in MEANS.items()]
    return "\n".join(("| code | means |", "| --- | --- |", *rows))
