"""Every address of a firm's own pages."""

from __future__ import annotations

from starlette.routing import Route

from . import people


def routes() -> list[Route]:
    """What is added where people sign in; what each asks for stands in :mod:`earthwright.firm.rights`."""
    get, post = ["GET"], ["POST"]
    return [
        Route("/sign-in", people.sign_in_page, methods=get),
        Route("/sign-in", people.sign_in_post, methods=post),
        Route("/sign-out", people.sign_out_post, methods=post),
        Route("/join/{key}", people.join_page, methods=get, name="join"),
        Route("/join/{key}", people.join_post, methods=post),
        Route("/me", people.me_page, methods=get),
        Route("/me", people.me_post, methods=post),
        Route("/people", people.people_page, methods=get),
        Route("/people", people.people_post, methods=post),
    ]
