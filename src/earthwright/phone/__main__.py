"""``./run phone --out FOLDER``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..records.trouble import JournalError
from ..sync.carried import address_of
from .build import build
from .parts import NotBuilt

ROOT = Path(__file__).parents[3]


@click.command()
@click.option(
    "--out", required=True, type=click.Path(file_okay=False, path_type=Path), help="Folder to make; it is made anew."
)
@click.option(
    "--cache",
    type=click.Path(file_okay=False, path_type=Path),
    default=ROOT / ".phone",
    help="Where downloads are kept.",
)
@click.option(
    "--office", default="", help="Address of an office elsewhere that its phones may go with, if not their own."
)
def phone(out: Path, cache: Path, office: str) -> None:
    """Make the folder of files that a phone opens once and then has for ever, without any network."""
    try:
        sizes = build(out, cache, ROOT / "requirements", office=address_of(office) if office else "")
    except (NotBuilt, JournalError) as error:
        click.echo(str(error), err=True)
        sys.exit(1)
    for name, size in sizes.items():
        if size > 100_000:
            click.echo(f"{size / 1e6:6.1f} MB  {name}")
    click.echo(f"{out}: {len(sizes)} files, {sum(sizes.values()) / 1e6:.1f} MB.")


if __name__ == "__main__":
    phone(prog_name="./run phone")
