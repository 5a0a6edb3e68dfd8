"""Files that commands write: whole or not at all, and never over something that is there unless that is asked for."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

import click

from ..base.oneline import one_line
from .exits import FileTrouble

OUT = click.option("-o", "--output", "output", type=click.Path(path_type=Path), required=True, help="File to write.")
REPLACE = click.option("--replace", is_flag=True, help="Write over what is there.")


def free(path: Path, *, replace: bool) -> None:
    """Stop before any work when a file would be written over that nobody said may be."""
    if os.path.lexists(path) and not replace:
        raise click.UsageError(
            f"{one_line(str(path))} already exists and is not overwritten. Name another file, or add --replace."
        )


def write(path: Path, content: bytes, *, replace: bool = False) -> None:
    """Write a file whole or not at all, and say so. What is there stays unless ``replace``; the same bytes are no change."""
    write_all({path: content}, replace=replace)
    click.echo(f"{one_line(str(path))} ({len(content):,} bytes)".replace(",", " "))


def write_all(made: Mapping[Path, bytes], *, replace: bool = False) -> None:
    """Write several files; when one of them may not be written over, none is."""
    for path, content in made.items():
        if not _holds(path, content):
            free(path, replace=replace)
    for path, content in made.items():
        if not _holds(path, content):
            _put(path, content)


def _holds(path: Path, content: bytes) -> bool:
    try:
        return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content
    except OSError:
        return False


def _put(path: Path, content: bytes) -> None:
    """By way of a file beside it that nobody else has, so that nothing else is lost."""
    partial = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        if path.is_dir():
            raise IsADirectoryError(0, "it is a folder")
        with partial.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except OSError as error:
        raise FileTrouble(f"{one_line(str(path))} cannot be written: {error.strerror}. Nothing was changed.") from error
    finally:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)


def read_bytes(path: Path, most: int) -> bytes:
    """The bytes of a file, at most so many. Stops when it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(most)
    except OSError as error:
        raise FileTrouble(f"{one_line(str(path))} cannot be read: {error.strerror}.") from error
