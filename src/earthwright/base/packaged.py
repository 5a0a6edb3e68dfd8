"""Data that lie beside a module, in a folder or inside a zip."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


def beside(module: str, package: str, name: str) -> Traversable:
    """A file or folder beside a module, given ``__file__`` and ``__package__``. Python's own reader of packages knows
    zips as well and takes a twentieth of a command's time to load, so it is asked only where there is no such folder."""
    folder = Path(module).parent
    if folder.is_dir():
        return folder / name
    from importlib.resources import files

    return files(package) / name
