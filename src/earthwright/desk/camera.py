"""A picture from a camera made ready to be kept and printed: turned upright, smaller, and without what the camera wrote in it.

A browser does the same before it sends a picture (``static/pictures.js``); then nothing is left to do here.
"""

from __future__ import annotations

import io

from ..base.jpeg import LARGEST, LONGEST, unfit
from ..paper.photographs import CHANGED
from ..records.store import Store
from ..records.trouble import JournalError, NoSuch
from ..site.visit import Visit

MOST_PIXELS = 120_000_000  # of a picture that is unpacked; cameras of phones have up to 108 million
_QUALITIES = (82, 74, 66, 58, 50, 40, 30)


class CannotShow(ValueError):
    """What was given cannot be made a photograph; the words say why."""


def made_ready(content: bytes) -> bytes:
    """The picture as a plain JPEG that may be printed and passed on; as it is where it is one already. Raises CannotShow."""
    why = unfit(content)
    if not why:
        return content
    try:
        from PIL import Image, ImageOps, UnidentifiedImageError
    except ModuleNotFoundError as error:
        raise CannotShow(
            f"This picture cannot be used as it is: {why}. Making it ready needs a browser that runs scripts, or the extra 'photo'."
        ) from error
    try:
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise CannotShow(f"This picture has {opened.width} by {opened.height} pixels; that is too many.")
            opened.draft("RGB", (2 * LONGEST, 2 * LONGEST))
            upright = ImageOps.exif_transpose(opened).convert("RGBA")
    except CannotShow:
        raise
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise CannotShow("This picture cannot be read. Take it again, or save it as JPEG or PNG.") from error
    picture = Image.new("RGB", upright.size, "white")
    picture.paste(upright, mask=upright.getchannel("A"))
    picture.thumbnail((LONGEST, LONGEST))
    for quality in _QUALITIES:
        made = io.BytesIO()
        picture.save(made, "JPEG", quality=quality, optimize=True)
        if len(made.getvalue()) <= LARGEST:
            return made.getvalue()
    raise CannotShow("This picture holds too much to be made small enough.")


def kept_photos(store: Store, visit: Visit | None) -> dict[str, bytes | str]:
    """The files of the photographs that a visit prints, by hash; a word for one that was changed. What was erased is not among them."""
    found: dict[str, bytes | str] = {}
    for p in visit.paperwork.pictures if visit else ():
        try:
            found[p.hash] = store.content(p.hash)
        except NoSuch:
            continue
        except JournalError:
            found[p.hash] = CHANGED
    return found
