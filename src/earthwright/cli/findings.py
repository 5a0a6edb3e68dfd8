"""What findings mean, from their catalogue."""

from __future__ import annotations

import click

from ..base.catalogue import families
from .main import main
from .screen import paragraph


@main.command()
@click.argument("name", default="")
def findings(name: str) -> None:
    """What findings mean, how loudly they speak, and what to do first: all, one by NAME, or those that begin with it."""
    every = families().values()
    some = [f for f in every if f.name == name] or [f for f in every if f.name.startswith(name)]
    if not some:
        raise click.BadParameter(f"no finding is called '{name}'; without a name all are listed")
    for f in some:
        click.secho(f"{f.name}  ({', '.join(w.value for w in f.weights)})", bold=True)
        paragraph(f"{f.means} First: {f.first[0].lower()}{f.first[1:]}")
