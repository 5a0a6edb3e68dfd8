"""Form post to new verdict on a visit of 60 circuits, as a ratio to the post of an empty Starlette form.

    ./run bench web

The whole request is timed inside one process, without a network: form in, entry kept on the disk, 303, and the page with
the new verdict. Then fifty people type at once on one server. Prints milliseconds, ratios, bytes and errors.
"""

from __future__ import annotations

import asyncio
import re
import statistics
import sys
import tempfile
import time
from pathlib import Path

import httpx
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from earthwright.desk import Desk
from earthwright.web import make_app

CIRCUITS = 60
POSTS = 200
PEOPLE = 50
PARTS = ("water", "gas", "oil", "heating", "steel", "ducting")


def visit_book() -> str:
    """An invented works: one board, sixty circuits, six bonds, everything read but one test."""
    lines = [
        '[visit]\nplace = "Works, Test Row"\ndate = 2026-11-20\nkind = "periodic"\ninspector = "J. Example"\ntemp_c = 15',
        '[supply]\nsystem = "TN-C-S"\npme = true\nneutral_at_most_mm2 = 35\nearthing_mm2 = 16\nfuse_a = 80',
        '[[instrument]]\nid = "tester"\ncontinuity = { pct = 3, digits = 2, step = 0.01, top = 99.99 }',
        '[[leads]]\nid = "long"\nallowed = "nulled"\nnull_ohm = 0.21',
        '[[board]]\nid = "db1"',
    ]
    for n, kind in enumerate(PARTS):
        lines.append(f'[[part]]\nid = "{kind}"\nkind = "{kind}"')
        lines.append(f'[[bond]]\npart = "{kind}"\ncsa_mm2 = 10\nlength_m = {12 + n}\nlength_tol_m = 1')
    for n in range(1, CIRCUITS + 1):
        lines.append(
            f'[[circuit]]\nid = "c{n}"\nboard = "db1"\ndevice = "BS EN 61009 B16"\nrcd_type = "A"\nrcd_ma = 30\n'
            f"line_mm2 = 2.5\ncpc_mm2 = 1.5\nlength_m = {10 + n % 25}"
        )
    lines += ['[[step]]\nisolated = "locked"'] + [
        f'[[step]]\nisolated = "{s}"' for s in ("tester proved", "dead", "tester proved again")
    ]
    lines.append('[[step]]\ncheck = "shorted"\nshown = 0.00')
    for kind in PARTS:
        lines.append(f'[[step]]\nread = "together"\nbond = "{kind}"\nshown = 0.03')
    for n in range(1, CIRCUITS + 1):
        ohm = (10 + n % 25) * (7.41 + 12.1) / 1000
        lines.append(
            f'[[step]]\nof = "c{n}"\ntest_v = 500\ntests = {{ r1r2 = "{ohm:.2f}", "insulation L-E" = ">299", polarity = "good" }}'
        )
    return "\n\n".join(lines) + "\n"


async def empty_form(request: Request) -> Response:
    """The least that a form post can be."""
    await request.form()
    return RedirectResponse("/", 303)


async def nothing(request: Request) -> Response:
    """An empty page."""
    return Response("ok")


def client(app: object) -> httpx.AsyncClient:
    """A client that asks an application directly."""
    return httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://here")  # type: ignore[arg-type]


def spread(times: list[float]) -> str:
    """Median, 99th percentile and worst [ms]."""
    ordered = sorted(times)
    return f"p50 {statistics.median(ordered):6.1f}  p99 {ordered[int(0.99 * (len(ordered) - 1))]:6.1f}  max {ordered[-1]:6.1f} ms"


async def posts(
    http: httpx.AsyncClient, where: str, body: object, *, follow: bool
) -> tuple[list[float], list[float], int]:
    """Time form posts: until 303, and until the page that follows; the number of wrong answers."""
    to_303, to_page, wrong = [], [], 0
    for n in range(POSTS):
        began = time.perf_counter()
        answer = await http.post(where, data=body(n))  # type: ignore[operator]
        to_303.append(1e3 * (time.perf_counter() - began))
        wrong += answer.status_code != 303
        if follow and answer.status_code == 303:
            wrong += (await http.get(answer.headers["location"])).status_code != 200
        to_page.append(1e3 * (time.perf_counter() - began))
    return to_303, to_page, wrong


async def main() -> int:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder) / "bench.sqlite")
        desk.take_in(visit_book(), visit_id="bench-visit", by="J. Example")
        began = time.perf_counter()
        desk.assess("bench-visit")
        print(f"first judgement of {CIRCUITS} circuits and 6 bonds: {1e3 * (time.perf_counter() - began):.0f} ms")
        base = "/v/bench-visit"
        async with client(Starlette(routes=[Route("/", nothing), Route("/", empty_form, methods=["POST"])])) as http:
            await posts(http, "/", lambda n: {"a": "1"}, follow=True)
            plain, plain_page, _ = await posts(http, "/", lambda n: {"a": "1"}, follow=True)
        print(f"empty form       post {spread(plain)}   with page {spread(plain_page)}")
        bad = 0
        async with client(make_app(desk)) as http:
            for name, where, body in (
                (
                    "circuit, Zs",
                    f"{base}/circuits/c{{}}",
                    lambda n: {f"c.c{1 + n % CIRCUITS}.zs..": f"0.{40 + n % 50}", "uid": f"{n:020d}"},
                ),
                (
                    "bond, joint",
                    f"{base}/bond/{{}}/joint",
                    lambda n: {"do": "read", "shown": f"0.0{n % 5}", "uid": f"9{n:020d}"},
                ),
            ):
                done: list[float] = []
                shown: list[float] = []
                used: list[float] = []
                count = POSTS if "circuits" in where else 60
                for n in range(count):
                    page = where.format(1 + n % CIRCUITS if "circuits" in where else PARTS[n % 6])
                    bad += (await http.get(page)).status_code != 200  # the form is opened before it is sent; not timed
                    t, cpu = time.perf_counter(), time.process_time()
                    answer = await http.post(page, data=body(n))
                    done.append(1e3 * (time.perf_counter() - t))
                    bad += answer.status_code != 303
                    if answer.status_code == 303:
                        bad += (await http.get(answer.headers["location"])).status_code != 200
                    shown.append(1e3 * (time.perf_counter() - t))
                    used.append(1e3 * (time.process_time() - cpu))
                ratio = statistics.median(shown) / statistics.median(plain_page)
                print(f"{name:<16} post {spread(done)}   with page {spread(shown)}   {ratio:.0f} times the empty form")
                print(f"{'':<16} processor, post and page: {spread(used)}")
            began = time.perf_counter()

            async def person(who: int) -> int:
                wrong = 0
                for n in range(4):
                    c = 1 + (who + n) % CIRCUITS
                    answer = await http.post(
                        f"{base}/circuits/c{c}", data={f"c.c{c}.r1r2..": "0.31", "uid": f"7{who:010d}{n:010d}"}
                    )
                    wrong += answer.status_code != 303
                return wrong

            errors = sum(await asyncio.gather(*(person(w) for w in range(PEOPLE))))
            print(f"{PEOPLE} people, 4 entries each: {time.perf_counter() - began:.1f} s, errors {errors}")
            first = await http.get(f"{base}/")
            named = re.findall(r'(?:src|href)="(/static/[^"]+)"', first.text)
            answers = [first] + [await http.get(address) for address in named]
            plain_size = sum(len(answer.content) for answer in answers)
            sent = sum(int(answer.headers["content-length"]) for answer in answers)
            print(f"first load: {sent} bytes in {len(answers)} requests, {plain_size} when unpacked")
        desk.close()
    return 1 if bad or errors else 0


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
