"""The address for a phone as a QR code (ISO/IEC 18004), drawn by segno (extra ``web``)."""

from __future__ import annotations

from functools import lru_cache

from markupsafe import Markup

from .render import drawn
from .words import say


@lru_cache(maxsize=4)
def code_of(address: str) -> Markup | None:
    """The code as a drawing, dark on white in both schemes, with the quiet zone a camera needs; None for no address or no segno."""
    try:
        import segno
    except ModuleNotFoundError:
        return None
    if not address:
        return None
    code = segno.make(address, error="m", micro=False)
    said = code.svg_inline(
        scale=4, border=4, dark="#000", light="#fff", title=say("visits.phone_code", address=address), omitsize=True
    )
    return drawn(said.replace("<svg", '<svg role="img"', 1))
