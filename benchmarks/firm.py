"""Fifty people at a firm's server over PostgreSQL: mixed work, and nothing lost when server and database are killed.

    ./run bench firm [--visits 200] [--seconds 120] [--pause 6] [--kill] [--folder F]

An inspector is at one visit and enters into it, and goes on to another of theirs after fifty pages or so (at six seconds a page
five minutes: a day's work pressed into an hour). Supervisors look at visits, the office searches. Each waits about
``--pause`` seconds between two pages. Prints errors, p50, p99 and the worst answer [ms]; then whether every
entry that was acknowledged is in the journal. Also how long list and search take over ``--visits`` visits. ``--folder``
keeps the database with its visits for the next run.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import re
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import httpx

sys.path += [str(Path(__file__).parent), str(Path(__file__).parent / "helpers")]
from argon2 import PasswordHasher
from cluster import Cluster
from invented.estate import estate

from earthwright.base.errors import VisitBookError
from earthwright.desk import Desk
from earthwright.firm import Firm, Person
from earthwright.firm.index import matching
from earthwright.firm.tables import make

PAGES_AT_ONE = 50  # pages that an inspector looks at before going on to another visit
PEOPLE = {"inspector": 40, "qualified supervisor": 4, "office": 6}


def firm_at(url: str, visits: int) -> tuple[Firm, list[tuple[Person, str]], dict[str, list[str]]]:
    """A firm with invented visits, its people signed in, and the visits of each."""
    desk = Desk(url)
    make(desk.store)
    firm = Firm(desk, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    people, n = [], 0
    for role, count in PEOPLE.items():
        for _ in range(count):
            n += 1
            key = firm.people.invite(f"Person {n:02d}", role, "bench")
            person = firm.people.join(key, f"p{n}", "x")
            people.append((person, firm.people.begin(person)))
    own: dict[str, list[str]] = {}
    inspectors = [p for p, _ in people if p.role == "inspector"]
    boss = next(p for p, _ in people if p.role == "office")
    for n, text in enumerate(list(estate(visits).books.values())[:visits]):
        person = inspectors[n % len(inspectors)]
        try:
            visit = desk.take_in(text, by=person.name, visit_id=f"visit-{n:06d}")
        except VisitBookError:
            continue  # planted: a book that cannot be read
        firm.give(visit, person, boss)
        own.setdefault(person.id, []).append(visit)
    return firm, people, own


def begun(cluster: Cluster, visits: int) -> tuple[str, Firm, list[tuple[Person, str]], dict[str, list[str]]]:
    """A firm in a new database, or the one that an earlier run left in its folder, everybody signed in anew."""
    left = cluster.folder / "firm-url"
    if not left.is_file():
        url = cluster.fresh()
        made = firm_at(url, visits)
        left.write_text(url)
        return url, *made
    url = left.read_text()
    firm = Firm(Desk(url))
    people = sorted(firm.people.all(), key=lambda p: int(p.login[1:]))
    own: dict[str, list[str]] = {}
    for visit, person in sorted(firm.owners().items()):
        own.setdefault(person, []).append(visit)
    return url, firm, [(p, firm.people.begin(p)) for p in people], own


def port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


def served(url: str, number: int) -> subprocess.Popen[bytes]:
    """The pages, answered by a process of their own."""
    command = [
        sys.executable,
        "-m",
        "earthwright",
        "serve",
        "--journal",
        url,
        "--port",
        str(number),
        "--name",
        "visits.example",
    ]
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    for _ in range(300):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{number}/health", timeout=5).close()
            break
        except OSError:
            time.sleep(0.2)
    return server


def kind_of(method: str, path: str) -> str:
    """What kind of work a request is."""
    if method == "POST":
        return "entry"
    return "search" if path.startswith("/office") else "list" if path == "/" else "visit"


class Worker:
    """One of them at work."""

    def __init__(self, person: Person, key: str, own: list[str], base: str, pause: float) -> None:
        self.person, self.own, self.pause = person, own, pause
        headers = {"x-forwarded-for": f"192.0.2.{int(person.login[1:])}", "x-forwarded-proto": "https", "host": "visits.example",
                   "cookie": f"__Host-earthwright={key}"}  # fmt: skip
        self.http = httpx.AsyncClient(base_url=base, headers=headers, timeout=60)
        self.times: list[tuple[str, float]] = []  # what was asked, and how long it took [ms]
        self.wrong: list[str] = []
        self.again = 0  # pages asked for once more
        self.acknowledged: list[tuple[str, str]] = []
        self.draw = random.Random(person.login)
        self.at = self.draw.choice(own) if own else ""

    async def ask(self, method: str, path: str, data: dict[str, str] | None = None) -> httpx.Response | None:
        """One page, timed. As a browser does, a connection that was closed meanwhile is opened anew for a page, never for a form."""
        began = time.perf_counter()
        try:
            answer = await self.http.request(method, path, data=data)
        except (httpx.ReadError, httpx.RemoteProtocolError) as error:
            if method != "GET" or not self.times:
                self._failed(path, error)
                return None
            self.again += 1
            try:
                answer = await self.http.request(method, path)
            except httpx.HTTPError as second:
                self._failed(path, second)
                return None
        except httpx.HTTPError as error:
            self._failed(path, error)
            return None
        self.times.append((kind_of(method, path), 1e3 * (time.perf_counter() - began)))
        if answer.status_code not in (200, 303):
            self.wrong.append(f"{path}: {answer.status_code}")
        return answer

    def _failed(self, path: str, error: httpx.HTTPError) -> None:
        self.wrong.append(f"{path}: {type(error).__name__}")

    async def work(self, until: float) -> None:
        """Page after page until the time is over."""
        await asyncio.sleep(self.draw.random() * self.pause)
        while time.monotonic() < until:
            await (self.measure() if self.own else self.look())
            await asyncio.sleep(self.draw.uniform(0.5, 1.5) * self.pause)
        await self.http.aclose()

    async def measure(self) -> None:
        """An inspector opens a visit and writes something down."""
        if self.draw.random() < 1 / PAGES_AT_ONE:
            self.at = self.draw.choice(self.own)
        visit = self.at
        page = self.draw.choice(
            ("/", f"/v/{visit}/", f"/v/{visit}/circuits", f"/v/{visit}/findings", f"/v/{visit}/leads")
        )
        await self.ask("GET", page)
        uid = f"{self.draw.getrandbits(80):020x}"
        form = {"uid": uid, "do": "check", "leads": "long", "kind": "shorted", "shown": "0.00", "key": "digits"}
        if self.draw.random() < 0.5:
            form = {"uid": uid, "what": "Noted", "where": "hall", "code": "C3"}
            answer = await self.ask("POST", f"/v/{visit}/add/observation", form)
            if answer is not None and answer.status_code == 303:
                self.acknowledged.append((visit, uid))
                await self.ask("GET", answer.headers["location"])

    async def look(self) -> None:
        """The office searches, a supervisor looks at a visit."""
        word = self.draw.choice(("lane", "C2", "gas", "person 07", "sallow", "2024"))
        answer = await self.ask("GET", f"/office?find={word}")
        found = re.findall(r"/v/(visit-\d+)/check", answer.text) if answer is not None else []
        if found and self.person.role == "qualified supervisor":
            await self.ask("GET", f"/v/{self.draw.choice(found)}/check")


def used(*roots: int) -> float:
    """Processor time of processes and all their children [s]."""
    of: dict[int, tuple[int, float]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        of[int(stat.parent.name)] = int(fields[1]), (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    family = set(roots)
    for _ in range(4):
        family |= {pid for pid, (parent, _) in of.items() if parent in family}
    return sum(of[pid][1] for pid in family if pid in of)


async def day(people: list[Worker], seconds: float, upset: object = None) -> None:
    """Everybody works at once; ``upset`` is called in the middle."""
    until = time.monotonic() + seconds
    jobs = [asyncio.create_task(p.work(until)) for p in people]
    if callable(upset):
        await asyncio.sleep(seconds / 2)
        upset()  # in this thread: the database ends with the thread that started it
    await asyncio.gather(*jobs)


def main() -> int:
    """Measure and print."""
    asked = argparse.ArgumentParser()
    for name, value in (("visits", 200), ("seconds", 120), ("pause", 6)):
        asked.add_argument(f"--{name}", type=int, default=value)
    asked.add_argument("--kill", action="store_true")
    asked.add_argument("--folder", type=Path)
    chosen = asked.parse_args()
    cluster = Cluster(chosen.folder)
    url, firm, people, own = begun(cluster, chosen.visits)
    timed = []
    for _ in range(2):
        began = time.perf_counter()
        firm.stages(), firm.owners()
        timed.append(1e3 * (time.perf_counter() - began))
    began = time.perf_counter()
    for word in ("lane", "c2 gas", "person 07", "nothing there"):
        matching(firm.index.lines(), word, {}), firm.stages()
    search = 1e3 * (time.perf_counter() - began) / 4
    print(f"{chosen.visits} visits: first look {timed[0]:.0f} ms, again {timed[1]:.1f} ms, search {search:.1f} ms")
    number = port()
    server = served(url, number)
    servers = [server]

    def upset() -> None:
        servers[-1].kill()
        cluster.kill()
        cluster.start()
        servers.append(served(url, number))

    all_ = [Worker(p, key, own.get(p.id, []), f"http://127.0.0.1:{number}", chosen.pause) for p, key in people]
    warm = [Worker(p, key, own.get(p.id, []), f"http://127.0.0.1:{number}", 1) for p, key in people[:6] + people[-6:]]
    asyncio.run(day(warm, 10))  # each process reads the journal once
    before = used(servers[-1].pid), used(cluster.server.pid)
    asyncio.run(day(all_, chosen.seconds, upset if chosen.kill else None))
    pages, base = used(servers[-1].pid) - before[0], used(cluster.server.pid) - before[1]
    firm.store.engine.dispose()  # its connections were cut when the database was killed
    times = sorted(t for p in all_ for _, t in p.times)
    unread = {
        v
        for v in {w.split("/")[2] for p in all_ for w in p.wrong if w.endswith("409")}
        if firm.desk.read(v).book.visit is None
    }
    # A visit of the estate that was planted so that nothing can be judged: to say so is the right answer.
    wrong = [w for p in all_ for w in p.wrong if not (w.endswith("409") and w.split("/")[2] in unread)]
    kept = {e.id.split(".")[0] for v in {v for p in all_ for v, _ in p.acknowledged} for e in firm.desk.read(v).events}
    lost = [uid for p in all_ for _, uid in p.acknowledged if uid not in kept]
    p99 = times[int(0.99 * (len(times) - 1))]
    print(
        f"{len(all_)} people, {chosen.seconds} s: {len(times)} answers, {len(wrong)} errors, {sum(p.again for p in all_)} asked again, p50 {statistics.median(times):.0f}, "
        f"p99 {p99:.0f}, max {times[-1]:.0f} ms; {sum(len(p.acknowledged) for p in all_)} acknowledged, {len(lost)} lost"
        f"{'; server and database killed once' if chosen.kill else ''}; journal whole: {firm.desk.verify().whole}"
    )
    for kind in ("list", "search", "visit", "entry"):
        these = sorted(t for p in all_ for k, t in p.times if k == kind)
        print(
            f"  {kind:<6} {len(these):>5}: p50 {statistics.median(these):.0f}, p99 {these[int(0.99 * (len(these) - 1))]:.0f} ms"
        )
    load = os.getloadavg()[0]
    if not chosen.kill:
        print(
            f"processor for each answer: pages {1e3 * pages / len(times):.0f} ms, database {1e3 * base / len(times):.0f} ms; load of the machine {load:.0f}"
        )
    print("\n".join(sorted(set(wrong))[:8]))
    servers[-1].terminate()
    firm.desk.close()
    cluster.stop()
    return 1 if lost or (wrong and not chosen.kill) else 0


if __name__ == "__main__":
    sys.exit(main())
