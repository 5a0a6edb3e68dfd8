"""Templates into pages."""

from __future__ import annotations

import gzip
import hashlib
from functools import lru_cache
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from ..base.oneline import hides, one_line
from .address import part_of_address
from .boardline import address_of
from .signs import sign, tone
from .words import first_sentence, label_of, say, say_or, title_of

STATIC_TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".txt": "text/plain"}


@lru_cache(maxsize=1)
def templates() -> Environment:
    """The templates; everything that goes into them is escaped, and a name that is not there is an error."""
    env = Environment(
        loader=PackageLoader("earthwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        finalize=_seen,
    )
    env.filters["part_of_address"] = part_of_address
    env.globals.update(
        t=say,
        t_or=say_or,
        label=label_of,
        test_title=title_of,
        sign=sign,
        tone=tone,
        static=static_address,
        address_of=address_of,
        first_sentence=first_sentence,
    )
    return env


def _seen(value: object) -> object:
    """What goes into a page: a journal may hold text that came in by no door of ours, with marks that turn a line round."""
    return one_line(value) if isinstance(value, str) and not isinstance(value, Markup) and hides(value) else value


def page(request: Request, template: str, status: int = 200, **values: object) -> HTMLResponse:
    """A page from its template."""
    text = (
        templates()
        .get_template(template)
        .render(
            path=request.url.path,
            visit=values.pop("visit", None),
            uid=new_uid(),
            signed_in=getattr(request.state, "person", None),
            **values,
        )
    )
    return HTMLResponse(text, status)


def drawn(svg: str) -> Markup:
    """A drawing of our own (its texts are escaped where it is made) to stand in a page."""
    return Markup(svg)


def see_other(where: str) -> Response:
    """After a post: look there."""
    return RedirectResponse(where, 303)


def new_uid() -> str:
    """An id for an entry that is about to be written; the same form sent twice carries the same one."""
    import uuid

    return uuid.uuid4().hex


@lru_cache(maxsize=32)
def static_address(name: str) -> str:
    """Address of a file of ours that changes with what is in it, so that no phone keeps an old one after an upgrade."""
    found = static_bytes(name)
    assert found is not None, name  # the templates name only files that are there
    return f"/static/{name}?{hashlib.sha256(found[0]).hexdigest()[:12]}"


@lru_cache(maxsize=32)
def static_bytes(name: str) -> tuple[bytes, str] | None:
    """A file of ours and its type; None if there is no such file."""
    if "/" in name or "\\" in name or name.startswith("."):
        return None
    kind = next((v for k, v in STATIC_TYPES.items() if name.endswith(k)), None)
    file = resources.files(__package__) / "static" / name
    if kind is None or not file.is_file():
        return None
    return file.read_bytes(), kind


@lru_cache(maxsize=32)
def static_packed(name: str) -> bytes:
    """The bytes of a file of ours that is there, packed for the way."""
    found = static_bytes(name)
    return gzip.compress(found[0], mtime=0) if found else b""
