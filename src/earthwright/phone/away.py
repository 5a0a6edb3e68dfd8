"""What the other workers of a phone do: make pages of a paper, or one batch of draws. Bytes in, bytes out."""

from __future__ import annotations

import pickle
import tempfile
from pathlib import Path
from typing import Any

from ..evidence.network.network import Net
from ..evidence.network.proposal import Outlook
from ..evidence.network.sampler import batch

FONTS = "/press/fonts"
_ready: dict[bytes, tuple[Net, Outlook]] = {}


def press(work: bytes | memoryview) -> bytes:
    """Pages of a paper by the PDF writer, as the same call made them elsewhere."""
    import typst

    asked: dict[str, Any] = pickle.loads(work)  # from our own engine, never from outside
    with tempfile.TemporaryDirectory() as folder:
        for name, content in asked["files"].items():
            (Path(folder) / name).write_bytes(content)
        made: object = typst.compile(
            str(Path(folder) / asked["main"]), root=folder, font_paths=[FONTS], **asked["options"]
        )
    return pickle.dumps(made)


def weigh(work: bytes | memoryview, number: int) -> bytes:
    """One batch of draws of a network, by its number."""
    work = bytes(work)
    if work not in _ready:
        _ready.clear()
        net = Net(*pickle.loads(work))
        _ready[work] = net, Outlook(net)
    return pickle.dumps(batch(*_ready[work], number))
