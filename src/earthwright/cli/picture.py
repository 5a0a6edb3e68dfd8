"""A photograph beside a visit book: made ready, kept by its hash, named in the book."""

from __future__ import annotations

import datetime as dt
import hashlib
from pathlib import Path

import click

from ..base import limits
from ..desk.camera import CannotShow, made_ready
from ..site.visit import Visit
from ..visitbook.write import toml_text
from .files import write
from .main import main
from .visits import VISIT, needed


@main.command()
@VISIT
@click.argument("picture", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--caption", required=True, help="What it shows.")
@click.option(
    "--of", default="", help="What it was taken of: bond gas, circuit c1, board db1, observation 1; else the place."
)
@click.option("--sketch", is_flag=True, help="It is a sketch of where things are.")
@click.option("--taken", default="", help="Day, or day and time (2026-11-20T10:15); else that of the file.")
def picture(visit: Path, picture: Path, caption: str, of: str, sketch: bool, taken: str) -> None:
    """Put a photograph or a sketch into a visit: a smaller copy without place and device, beside the visit book."""
    needed(visit)
    content = picture.read_bytes()
    if limits.PHOTO.refuses(len(content)):
        raise click.UsageError(f"{picture.name}: {limits.PHOTO.said(len(content))}.")
    try:
        ready = made_ready(content)
    except CannotShow as error:
        raise click.UsageError(f"{picture.name}: {error}") from error
    hash_ = hashlib.sha256(ready).hexdigest()
    taken = taken or dt.datetime.fromtimestamp(picture.stat().st_mtime).isoformat(timespec="minutes")
    folder = _folder(visit)
    folder.mkdir(exist_ok=True)
    write(folder / _name(hash_), ready)
    said = {"hash": hash_, "caption": caption, "of": of, "taken": taken}
    lines = [f"{key} = {toml_text(value)}" for key, value in said.items() if value]
    entry = "\n".join(["", "[[picture]]", *lines, *(["sketch = true"] if sketch else [])]) + "\n"
    with visit.open("a", encoding="utf-8") as book:
        book.write(entry)
    needed(visit)  # what the entry says wrong is told at once
    click.echo("The visit book names it. The original stays where it is.")


def photos_beside(visit_book: Path, visit: Visit) -> dict[str, bytes]:
    """The files of the photographs that a visit book names, by hash; those that are not there are left out."""
    found = {}
    for p in visit.paperwork.pictures:
        path = _folder(visit_book) / _name(p.hash)
        if path.is_file() and not limits.PHOTO.refuses(path.stat().st_size):
            found[p.hash] = path.read_bytes()
    return found


def _folder(visit_book: Path) -> Path:
    return visit_book.with_name(f"{visit_book.stem}-photos")


def _name(hash_: str) -> str:
    return f"{hash_[:16]}.jpg"
