"""How long another visitor waits while the heaviest visit that is taken is judged: p50, p99 and the ratio to a quiet server.

    python benchmarks/neighbours.py [SECONDS]

Prints and asserts nothing: on a machine that does other work as well, the figures are those of that work.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

import anyio
import httpx

from earthwright.cli.workers import Choices, Workers, open_once
from earthwright.desk import Desk
from earthwright.web.settings import Settings
from earthwright.web.views.visits import DEMO

HEAD = '[visit]\nplace="x"\ndate=2026-11-20\n[supply]\nsystem="TN-C-S"\npme=true\n[[instrument]]\nid="m"\n[[leads]]\nid="L"\nnull_ohm=0.03\nallowed="nulled"\n'


def heavy(count: int = 10) -> str:
    """As many bonds tied together as are weighed at all."""
    text = HEAD
    for i in range(count):
        text += f'[[part]]\nid="p{i}"\nkind="water"\n[[bond]]\nid="b{i}"\npart="p{i}"\ncsa_mm2=10\nlength_m=20\n'
    for i in range(count - 1):
        text += f'[[link]]\nid="l{i}"\nbetween=["p{i}","p{i + 1}"]\nlow_ohm=0.01\nhigh_ohm=0.05\n'
    return text + "".join(f'[[step]]\nread="together"\nbond="b{i}"\nshown="0.04"\n' for i in range(count))


async def pages(client: httpx.AsyncClient, seconds: float) -> list[float]:
    """Times of one visitor who looks at page after page [ms]."""
    found, end = [], time.perf_counter() + seconds
    while time.perf_counter() < end:
        for path in (f"/v/{DEMO}/", f"/v/{DEMO}/bond/gas", f"/v/{DEMO}/steps"):
            began = time.perf_counter()
            assert (await client.get(path)).status_code == 200
            found.append(1000 * (time.perf_counter() - began))
            await anyio.sleep(0.02)
    return found


def said(name: str, times: list[float]) -> str:
    """One line."""
    p99 = sorted(times)[max(0, round(0.99 * len(times)) - 1)]
    return f"{name:<28} {len(times):>5} pages, p50 {statistics.median(times):6.1f} ms, p99 {p99:6.1f} ms, worst {max(times):6.1f} ms"


async def main(seconds: float) -> None:
    """Quiet, then beside the heavy visit."""
    with tempfile.TemporaryDirectory() as folder:
        choices = Choices(str(Path(folder) / "journal.sqlite"))
        open_once(choices, demo=True)
        desk = Desk(choices.journal)
        desk.take_in(heavy(), visit_id="heavy-visit")
        desk.close()
        app = Workers(choices, Settings())
        await app.warm()
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost", timeout=120) as client:
            await pages(client, 2)
            print(f"load of the machine before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
            print(said("nobody else", await pages(client, seconds)))
            beside: list[float] = []
            began = time.perf_counter()
            async with anyio.create_task_group() as group:

                async def worst() -> None:
                    for n in range(50):  # a new address each time, so that nothing is remembered
                        await client.get(f"/v/heavy-visit/?n={n}")
                        if time.perf_counter() - began > seconds:
                            return

                group.start_soon(worst)
                beside += await pages(client, seconds)
            print(said("beside the heaviest visit", beside))
        app.close()


if __name__ == "__main__":
    anyio.run(main, float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)
