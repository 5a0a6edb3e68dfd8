"""What stands in the phone for the PDF writer: it takes the same call, and has another worker make the pages.

The writer itself is large, so it is fetched when the first paper is asked for and let go of after the last.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from pathlib import Path
from typing import Any

from ..base.elsewhere import Elsewhere

KEPT = 8  # papers held, so that a page and its pictures are made once
PRESS = "press"
done: OrderedDict[str, object] = OrderedDict()


class NoPress(ImportError):
    """The writer could not be fetched."""

    later = True  # it may be there the next time


def compile(input: str, *, root: str, font_paths: list[str], **options: Any) -> object:
    """The pages of a file below ``root``. Raises Elsewhere until they have been made, NoPress when they cannot be."""
    files = {str(p.relative_to(root)): p.read_bytes() for p in sorted(Path(root).rglob("*")) if p.is_file()}
    work = {"files": files, "main": str(Path(input).relative_to(root)), "options": options}
    told = json.dumps([work["main"], options, {k: hashlib.sha256(v).hexdigest() for k, v in files.items()}])
    key = hashlib.sha256(told.encode()).hexdigest()
    if key not in done:
        raise Elsewhere(PRESS, key, work)
    made = done[key]
    if isinstance(made, NoPress):
        del done[key]  # the next time it may be there
        raise made
    return made


def keep(key: str, made: object) -> None:
    """What was made for a key."""
    done[key] = made
    while len(done) > KEPT:
        done.popitem(last=False)
