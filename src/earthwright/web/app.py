"""The application: its addresses, its guard, and what is answered when something goes wrong."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartParser
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from ..desk import Desk
from ..records import JournalError
from . import address  # noqa: F401  (it makes the kind of address part known that the routes name)
from .guard import LARGEST_UPLOAD, Guard, TooLarge
from .render import page, static_bytes, static_packed
from .settings import Settings
from .views import (
    along,
    between,
    bonds,
    chosen,
    circuits,
    details,
    fill,
    findings,
    leads,
    map,
    network,
    now,
    paper,
    portfolio,
    remedy,
    saved,
    steps,
    sums,
    templates,
    things,
    together,
    visits,
    written,
)
from .views.common import anew
from .words import say

# An upload stays in memory: a spool file would roll over in a thread, and there are none in a phone's browser.
MultiPartParser.spool_max_size = LARGEST_UPLOAD


def make_app(desk: Desk, settings: Settings | None = None) -> Starlette:
    """The pages over the kept visits of a desk."""
    chosen = settings or Settings()
    app = Starlette(
        routes=routes() if chosen.firm is None else firm_routes(),
        middleware=[
            Middleware(
                Guard,
                pass_phrase=chosen.pass_phrase,
                hosts=chosen.hosts,
                framed=chosen.framed,
                origins=chosen.origins,
            )
        ],
        exception_handlers={
            HTTPException: refused,
            TooLarge: too_large,
            JournalError: not_kept,
            ImportError: no_press,
            Exception: broke,
        },
    )
    app.state.desk, app.state.settings = desk, chosen
    return app


def firm_routes() -> list[Route]:
    """Every address where people sign in: each asks first who it is."""
    from .gate import guarded
    from .views.office.routes import routes as more

    return [guarded(route) for route in (*more(), *routes())]


def routes() -> list[Route]:
    """Every address, in one place."""
    get, post = ["GET"], ["POST"]
    return [
        Route("/", visits.visits_page, methods=get),
        Route("/demo", anew(visits.demo_post), methods=post),
        Route("/static/{name}", static, methods=get),
        Route("/new", visits.new_page, methods=get),
        Route("/new", anew(visits.new_post), methods=post),
        Route("/book", anew(visits.book_post), methods=post),
        Route("/kept", visits.kept_page, methods=get),
        Route("/sync/{name:path}", together.asked, methods=post),
        Route("/together", together.together_page, methods=get),
        Route("/together", together.together_post, methods=post),
        Route("/v/{visit}/chosen", chosen.chosen_page, methods=get),
        Route("/v/{visit}/chosen", anew(chosen.chosen_post), methods=post),
        Route("/written", anew(written.written_post), methods=post),
        Route("/portfolio/", portfolio.portfolio_page, methods=get),
        Route("/portfolio/answer/{question}.csv", portfolio.answer_csv, methods=get),
        Route("/portfolio/table/{table}.csv", portfolio.table_csv, methods=get),
        Route("/portfolio/{name}", portfolio.section_page, methods=get),
        Route("/sums", sums.sums_page, methods=get),
        Route("/sums/{name}", sums.sum_page, methods=get),
        Route("/v/{visit}/", now.now_page, methods=get),
        Route("/v/{visit}/written", anew(written.placed_post), methods=post),
        Route("/v/{visit}/hand-over", visits.hand_over, methods=get),
        Route("/v/{visit}/map", map.map_page, methods=get),
        Route("/v/{visit}/map.svg", map.map_svg, methods=get),
        Route("/v/{visit}/between", between.between_page, methods=get),
        Route("/v/{visit}/network", network.network_page, methods=get),
        Route("/v/{visit}/network", anew(network.network_post), methods=post),
        Route("/v/{visit}/leads", leads.leads_page, methods=get),
        Route("/v/{visit}/leads", anew(leads.leads_post), methods=post),
        Route("/v/{visit}/steps", steps.steps_page, methods=get),
        Route("/v/{visit}/steps", anew(steps.steps_post), methods=post),
        Route("/v/{visit}/since", steps.since_page, methods=get),
        Route("/v/{visit}/weighed", steps.weighed_page, methods=get),
        Route("/v/{visit}/weighed", steps.weighed_post, methods=post),
        Route("/v/{visit}/circuits", circuits.circuits_page, methods=get),
        Route("/v/{visit}/circuits/{of:thing}", circuits.row_page, methods=get),
        Route("/v/{visit}/circuits/{of:thing}", anew(circuits.row_post), methods=post),
        Route("/v/{visit}/along/{key}", along.along_page, methods=get),
        Route("/v/{visit}/along/{key}", anew(along.along_post), methods=post),
        Route("/v/{visit}/readings", saved.saved_page, methods=get),
        Route("/v/{visit}/readings", anew(saved.saved_post), methods=post),
        Route("/v/{visit}/details", details.details_page, methods=get),
        Route("/v/{visit}/compare", visits.compare_page, methods=get),
        Route("/v/{visit}/findings", findings.findings_page, methods=get),
        Route("/v/{visit}/findings/{key}", findings.observe_page, methods=get),
        Route("/v/{visit}/findings/{key}", anew(findings.observe_post), methods=post),
        Route("/v/{visit}/paper", paper.papers_page, methods=get),
        Route("/v/{visit}/paper/{document}.pdf", paper.paper_pdf, methods=get),
        Route("/v/{visit}/paper/{document}/{number:int}.png", paper.paper_picture, methods=get),
        Route("/v/{visit}/paper/{document}", paper.paper_page, methods=get),
        Route("/v/{visit}/paper/{document}", anew(paper.paper_post), methods=post),
        Route("/v/{visit}/issued/{hash}.pdf", paper.issued_pdf, methods=get),
        Route("/v/{visit}/inspected", paper.inspected_page, methods=get),
        Route("/v/{visit}/inspected", anew(paper.inspected_post), methods=post),
        Route("/v/{visit}/fill/{document}", fill.fill_page, methods=get),
        Route("/v/{visit}/fill/{document}", anew(fill.fill_post), methods=post),
        Route("/v/{visit}/remedy/{observation:thing}", remedy.remedy_page, methods=get),
        Route("/v/{visit}/remedy/{observation:thing}", anew(remedy.remedy_post), methods=post),
        Route("/v/{visit}/photos", findings.photos_page, methods=get),
        Route("/v/{visit}/photos", anew(findings.photos_post), methods=post),
        Route("/v/{visit}/photo/{hash}", findings.photo, methods=get),
        Route("/v/{visit}/templates", anew(templates.templates_post), methods=post),
        Route("/v/{visit}/add/{table}", things.add_page, methods=get),
        Route("/v/{visit}/add/{table}", anew(things.add_post), methods=post),
        Route("/v/{visit}/entry/{entry}", things.entry_page, methods=get),
        Route("/v/{visit}/entry/{entry}", anew(things.entry_post), methods=post),
        Route("/v/{visit}/bond/{bond:thing}", bonds.bond_page, methods=get),
        Route("/v/{visit}/bond/{bond:thing}/{test}", bonds.test_page, methods=get),
        Route("/v/{visit}/bond/{bond:thing}/{test}", anew(bonds.test_post), methods=post),
    ]


async def static(request: Request) -> Response:
    """GET one of our own files; bytes from memory, no thread."""
    found = static_bytes(request.path_params["name"])
    if found is None:
        raise HTTPException(404)
    content, kind = found
    # With its hash behind the question mark it never changes; without, it is asked for again soon.
    kept = "max-age=31536000, immutable" if request.url.query else "max-age=3600"
    headers = {"cache-control": kept, "vary": "accept-encoding"}
    # These are the same for everybody. Pages are never packed: the length of what is packed tells what is in it.
    if "gzip" in request.headers.get("accept-encoding", ""):
        content, headers["content-encoding"] = static_packed(request.path_params["name"]), "gzip"
    return Response(content, media_type=kind, headers=headers)


async def refused(request: Request, error: Exception) -> Response:
    """What is answered when an address is not there or a form cannot be read."""
    assert isinstance(error, HTTPException)
    names = {404: "wrong.gone", 400: "wrong.unread", 409: "wrong.no_visit"}
    name = names.get(error.status_code, "wrong.unread")
    return page(
        request,
        "error.html",
        error.status_code,
        what=say(name),
        do=say("wrong.gone_do" if error.status_code == 404 else "wrong.all"),
    )


async def too_large(request: Request, error: Exception) -> Response:
    """What is answered to a body that is too large."""
    return page(request, "error.html", 413, what=say("guard.large"), do=say("wrong.all"))


async def not_kept(request: Request, error: Exception) -> Response:
    """What is answered when the journal is full, busy or damaged: its own words, nothing half written."""
    return page(request, "error.html", 503, what=say("wrong.journal"), do=str(error))


async def no_press(request: Request, error: Exception) -> Response:
    """What is answered where papers cannot be set, as in a phone's browser."""
    do = say("wrong.press_later") if getattr(error, "later", False) else say("wrong.all")
    return page(request, "error.html", 503, what=say("wrong.no_press"), do=do)


async def broke(request: Request, error: Exception) -> Response:
    """What is answered when we are wrong: never an empty page."""
    return page(request, "error.html", 500, what=say("wrong.broke"), do=say("wrong.all"))
