"""Every address of a firm's own pages."""

from __future__ import annotations

from starlette.routing import Route

from . import handed, people, tools, work


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
        Route("/office", work.office_page, methods=get),
        Route("/plan", work.plan_page, methods=get),
        Route("/plan", work.plan_post, methods=post),
        Route("/v/{visit}/check", work.check_page, methods=get),
        Route("/v/{visit}/check", work.check_post, methods=post),
        Route("/v/{visit}/give", work.give_post, methods=post),
        Route("/v/{visit}/handed", handed.handed_page, methods=get),
        Route("/v/{visit}/handed", handed.handed_post, methods=post),
        Route("/tools", tools.tools_page, methods=get),
        Route("/tools/{serial:thing}", tools.tool_page, methods=get),
        Route("/tools/{serial:thing}", tools.tool_post, methods=post),
        Route("/calendar/{key}.ics", tools.calendar, methods=get, name="feed"),
        Route("/health", tools.health, methods=get),
        Route("/metrics", tools.metrics, methods=get),
        Route("/erase", tools.erase_page, methods=get),
        Route("/erase", tools.erase_post, methods=post),
        Route("/h/{key}", handed.link_page, methods=get, name="by_link"),
        Route("/h/{key}/{hash}.pdf", handed.link_pdf, methods=get),
        Route("/handed", handed.client_page, methods=get),
        Route("/handed/{visit}/{hash}.pdf", handed.client_pdf, methods=get),
    ]
