"""What stands before the pages when they are served: one visit keeps nobody waiting, and no connection is held for ever."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import anyio
import httpx
import pytest
import uvicorn
from asked import Site

from earthwright.cli.listener import careful
from earthwright.cli.serve import _listen
from earthwright.cli.weighing import InThread
from earthwright.cli.workers import Choices, Workers, open_once
from earthwright.desk import Desk
from earthwright.evidence.network import sampler
from earthwright.web.settings import Settings
from earthwright.web.views import steps
from earthwright.web.views.visits import DEMO

HEAD = '[visit]\nplace="x"\ndate=2026-11-20\nkind="periodic"\n[supply]\nsystem="TN-C-S"\npme=true\n[[instrument]]\nid="m"\n'


def heavy(count: int = 7) -> str:
    """As many bonds tied together as are weighed at all: some seconds of work."""
    text = HEAD + '[[leads]]\nid="L"\nnull_ohm=0.03\nallowed="nulled"\n'
    for i in range(count):
        text += f'[[part]]\nid="p{i}"\nkind="water"\n[[bond]]\nid="b{i}"\npart="p{i}"\ncsa_mm2=10\nlength_m=20\n'
    for i in range(count - 1):
        text += f'[[link]]\nid="l{i}"\nbetween=["p{i}","p{i + 1}"]\nlow_ohm=0.01\nhigh_ohm=0.05\n'
    return text + "".join(f'[[step]]\nread="together"\nbond="b{i}"\nshown="0.04"\n' for i in range(count))


@pytest.fixture
def journal(tmp_path: Path) -> str:
    path = str(tmp_path / "journal.sqlite")
    open_once(Choices(path), demo=True)
    desk = Desk(path)
    desk.take_in(heavy(), visit_id="heavy-visit")
    desk.close()
    return path


HEAVY = "/v/heavy-visit/paper/bonding-record.pdf"  # a paper waits until all bonds are weighed together; a page does not


async def ask(app: Workers, path: str) -> tuple[int, float]:
    began = time.perf_counter()
    transport = httpx.ASGITransport(app)
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        answer = await client.get(path, timeout=120)
    return answer.status_code, time.perf_counter() - began


def test_while_the_heaviest_visit_is_judged_another_visitor_is_answered(journal: str) -> None:
    """In one process every page waited until the heavy visit was judged."""

    async def go() -> None:
        with closing(Workers(Choices(journal), Settings())) as app:
            await ask(app, f"/v/{DEMO}/")
            async with anyio.create_task_group() as group:
                done: list[tuple[int, float]] = []

                async def long() -> None:
                    done.append(await ask(app, HEAVY))

                group.start_soon(long)
                await asyncio.sleep(0.5)
                answered = [await ask(app, f"/v/{DEMO}/") for _ in range(3)]
                assert not done, "the heavy visit was not heavy enough for this test"
                assert [status for status, _ in answered] == [200] * 3
            assert done[0][0] == 200
            assert done[0][1] > sum(t for _, t in answered[1:]) / 2

    anyio.run(go)


def test_a_page_is_there_before_all_bonds_are_weighed_together(journal: str) -> None:
    async def go() -> None:
        with closing(Workers(Choices(journal), Settings())) as app:
            async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://localhost") as client:
                page = await client.get("/v/heavy-visit/", timeout=60)
                assert "All bonds are being weighed together" in page.text
                assert "parts are done" in (await client.get("/v/heavy-visit/weighed", timeout=60)).text
                stopped = await client.post("/v/heavy-visit/weighed", timeout=60)
                assert stopped.status_code == 200

    anyio.run(go)


def test_while_bonds_are_weighed_the_line_that_counts_does_not_judge_the_visit_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sampler, "made_by", None)  # given back afterwards
    weighing = InThread()
    weighing.visit, weighing.begun, weighing.of, weighing.done["k"] = "v1", "k", 16, []
    monkeypatch.setattr(InThread, "busy", lambda self: True)
    monkeypatch.setattr(
        steps, "opened", lambda request: pytest.fail("the visit was judged for a line that only counts")
    )
    site = Site(Desk(":memory:"), Settings(weighing=weighing))
    assert "0 of 16 parts are done" in site.get("/v/v1/weighed").text


def test_what_takes_too_long_is_ended_and_said(journal: str) -> None:
    async def go() -> None:
        with closing(Workers(Choices(journal), Settings(), longest_s=1.0)) as app:
            async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://localhost") as client:
                answer = await client.get(HEAVY, timeout=60)
            assert answer.status_code == 503
            assert "longer than 1 s" in answer.text
            app.longest_s = 60.0
            assert (await ask(app, "/"))[0] == 200

    anyio.run(go)


def test_the_processes_write_as_the_pages_do(journal: str) -> None:
    async def go() -> None:
        with closing(Workers(Choices(journal), Settings())) as app:
            async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://localhost") as client:
                refused = await client.post("/demo", headers={"origin": "http://elsewhere"})
                assert refused.status_code == 403
                assert "content-security-policy" in refused.headers
                answer = await client.post("/demo")
                assert (answer.status_code, answer.headers["location"]) == (303, f"/v/{DEMO}/")
                large = await client.post("/new", content=b"x" * 300_000, headers={"content-type": "text/plain"})
                assert large.status_code == 413

    anyio.run(go)


# ---- connections ----


async def plain(scope, receive, send) -> None:  # type: ignore[no-untyped-def]
    if scope["type"] == "http":
        while (await receive()).get("more_body"):
            pass
        await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
        await send({"type": "http.response.body", "body": b"ok"})


@contextmanager
def listener(**times: float) -> Iterator[int]:
    protocol = careful(frozenset())
    for name, value in {"head_s": 0.5, "pause_s": 0.5, "body_s": 2.0, **times}.items():
        setattr(protocol, name, value)
    with socket.create_server(("127.0.0.1", 0)) as opened:
        config = uvicorn.Config(plain, http=protocol, log_level="error", lifespan="off", ws="none")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [opened]})
        thread.start()
        try:
            yield opened.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join(20)


def until_cut(talk: Callable[[socket.socket], None], port: int) -> float:
    """Seconds until the other end closes, while ``talk`` is asked for more every tenth of a second."""
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", port)) as one:
        one.settimeout(0.1)
        while time.monotonic() - began < 15:
            try:
                talk(one)
                if one.recv(1000) == b"":
                    break
            except TimeoutError:
                continue
            except OSError:
                break
        return time.monotonic() - began


def drip(text: bytes) -> Callable[[socket.socket], None]:
    left = iter(text)

    def one_more(to: socket.socket) -> None:
        to.sendall(bytes([next(left, ord("x"))]))

    return one_more


def once(text: bytes) -> Callable[[socket.socket], None]:
    left = [text]
    return lambda to: to.sendall(left.pop()) if left else None


POST = b"POST / HTTP/1.1\r\nhost: x\r\ncontent-length: 100000\r\n\r\n"


@pytest.mark.parametrize(
    ("talk", "least", "most"),
    [
        (once(b""), 0.4, 5),
        (once(b"GET / HTT"), 0.4, 5),
        (drip(b"GET / HTTP/1.1\r\n" + b"a: b\r\n" * 1000), 0.4, 5),
        (once(POST + b"half"), 0.4, 5),
        (drip(POST), 0.4, 5),
    ],
    ids=["says nothing", "half a line", "a head letter by letter", "half a body", "slow"],
)
def test_a_connection_that_owes_something_is_cut(
    talk: Callable[[socket.socket], None], least: float, most: float
) -> None:
    with listener() as port:
        assert least < until_cut(talk, port) < most
        assert httpx.get(f"http://127.0.0.1:{port}/").text == "ok"


def test_a_body_that_never_ends_is_cut_though_it_never_stops() -> None:
    begun = [False]

    def talk(to: socket.socket) -> None:
        to.sendall(b"x" if begun[0] else POST)
        begun[0] = True

    with listener() as port:
        assert 1.5 < until_cut(talk, port) < 8


def test_one_address_has_its_bound_of_connections_and_gets_them_back() -> None:
    with listener(most=3, head_s=30.0) as port:
        held = [socket.create_connection(("127.0.0.1", port)) for _ in range(3)]
        time.sleep(0.3)
        with pytest.raises(httpx.TransportError):
            httpx.get(f"http://127.0.0.1:{port}/")
        for one in held:
            one.close()
        time.sleep(0.3)
        assert httpx.get(f"http://127.0.0.1:{port}/").text == "ok"


def asked_on(one: socket.socket) -> bytes:
    """What comes for one more request on a connection; empty when it was closed."""
    came = b""
    try:
        one.sendall(b"GET / HTTP/1.1\r\nhost: x\r\n\r\n")
        while not came.endswith(b"ok") and (more := one.recv(1000)):
            came += more
    except OSError:
        return b""
    return came


def test_a_connection_that_only_waits_makes_room_for_one_that_asks() -> None:
    with listener(most=3, head_s=30.0) as port:
        held = [socket.create_connection(("127.0.0.1", port)) for _ in range(3)]
        assert all(asked_on(one).endswith(b"ok") for one in held)
        assert httpx.get(f"http://127.0.0.1:{port}/").text == "ok"
        assert asked_on(held[0]) == b"", "the one that waited longest"
        assert all(asked_on(one).endswith(b"ok") for one in held[1:])
        for one in held:
            one.close()


def test_a_connection_outlives_the_pause_between_two_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Closed sooner than a proxy closes it, it would be closed while a form is on its way, and nobody could tell whether it was kept."""
    given: dict[str, object] = {}
    monkeypatch.setattr(
        uvicorn, "Server", lambda config: type("Server", (), {"run": lambda self: given.update(vars(config))})()
    )
    _listen(plain, host="127.0.0.1", port=1, names=("visits.example",))
    assert given["timeout_keep_alive"] > 120  # what proxies keep by default is 60 to 120 s
