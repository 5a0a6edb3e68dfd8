"""An invented visit with a Zs that fails, as a visit book: found, put right, read again."""

from __future__ import annotations

from pathlib import Path

from earthwright.site.events import Reading
from earthwright.visitbook import read_text

COMPLETE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
FOUND = """
[[observation]]
id = "3"
about = "1"
answers = "test.zs"
what = "The socket by the window is not disconnected in time."
where = "Main board, circuit 1"
code = "C2"
"""
DONE = """
[[observation.then]]
stage = "remedied"
on = 2026-12-01
by = "P. Fitter, Example Electrical"
what = "Loose earth wire at the socket remade"
"""
CHECKED = """
[[observation.then]]
stage = "confirmed"
on = 2026-12-02
by = "J. Example"
reading = "{id}"
"""
REPAIR = """
[[step]]
repair = "1:cpc"
remade = "earth wire at the socket by the window"
at = 2026-12-01T10:00:00
[[step]]
read = "zs"
of = "1"
point = "far end"
at = 2026-12-02T09:30:00
shown = {after}
"""


def visit(observation: str = FOUND, after: str = "") -> str:
    """The whole job with a Zs too high on circuit 1, and what became of it."""
    first, _, rest = COMPLETE.partition("[[instrument]]")
    text = first + observation + "\n[[instrument]]" + rest.replace("shown = 0.60", "shown = 3.60")
    text = text.replace('overall = "satisfactory"', 'overall = "unsatisfactory"')
    if not after:
        return text
    text += REPAIR.format(after=after)
    read = read_text(text.replace("{id}", "r1"))
    assert read.visit is not None
    last = read.visit.events[-1]
    assert isinstance(last, Reading)
    return text.replace("{id}", last.id)
