"""Boards from a template of one's own: one tap saves a board with its circuits, one tap begins such a board at another visit."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...desk.templates import begun_from, template_file, templates_of
from ...records.event import FILE
from ..forms import Typed
from ..render import page, see_other
from ..words import say
from ..work import Opened
from .common import base, desk, form_of, opened, uid_of, whose_memory, write


async def templates_post(request: Request) -> Response:
    """POST: save a board as a template (``save``), begin one from it (``use``), or take a template out (``drop``)."""
    found = opened(request)
    form, _ = await form_of(request)
    who = whose_memory(request, found)
    known = {t.id: t for t in templates_of(desk(request), who)}
    refused, then = None, "add/board"
    if any(e.id.startswith(uid_of(form)) for e in found.kept.events):
        pass  # sent twice
    elif form.get("save"):
        refused, then = _save(request, found, form), f"circuits?kept={quote(form['save'])}"
    elif form.get("use") in known:
        taken = [str(e.body.get("id", "")) for e in found.kept.entries]
        refused, then = write(request, found, form, begun_from(known[form["use"]], taken)), "circuits"
    elif form.get("drop") in known:
        desk(request).strike(form["drop"], say("template.dropped"), who)
    else:
        raise HTTPException(404)
    return _not_kept(request, refused) if refused else see_other(f"{base(found)}/{then}")


def _save(request: Request, found: Opened, form: Mapping[str, str]) -> Typed | None:
    made = template_file(found.kept, form["save"], partial(say, "template.name"))
    if made is None:
        raise HTTPException(404)
    said, content = made
    return write(request, found, form, [(FILE, said)], [content])


def _not_kept(request: Request, refused: Typed) -> Response:
    """What the journal says when it is full, busy or damaged."""
    return page(request, "error.html", 503, what=say("wrong.journal"), do=" ".join(refused.wrong("")))
