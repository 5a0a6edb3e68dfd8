"""The program in a phone's browser: speed, kills, two tabs, a full disk, an update, a newer journal.

    ./run phone --out FOLDER && python benchmarks/phone.py FOLDER [KIND …]      KIND: times kills tabs full update newer

Chromium at 360 px, offline after the first visit. With EARTHWRIGHT_SHARE=0.25 (Linux, root, cgroup v1) each of the engine's
threads is held to a quarter of a core, and the page is throttled as much by the browser, which does not slow a worker by itself.
With EARTHWRIGHT_CORES=4 the program is told of so many cores, because a phone has more than a small machine: it weighs on
one fewer. A quarter of which core is told by the yardstick before each kind: a million additions of Python held to the same share, 98 ms
where it is a quarter of the core that the aims of docs/phone.md were set on. Prints what was measured; a loss is an error.
"""

from __future__ import annotations

import datetime as dt
import glob
import hashlib
import io
import os
import random
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from playwright.sync_api import BrowserContext, Error, Frame, Page, Playwright, sync_playwright

sys.path.insert(0, str(Path(__file__).parent))
from web import visit_book

from earthwright.paper.verify import verify

CHROMIUM = next(p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p)
SHARE = float(os.environ.get("EARTHWRIGHT_SHARE", "1"))
CORES = os.environ.get("EARTHWRIGHT_CORES", "")
HELD = Path(f"/sys/fs/cgroup/cpu/earthwright-{os.getpid()}") if SHARE < 1 else None
PERIOD_US = 20_000
ADDITIONS = """import os, statistics, sys, time
open(sys.argv[1], "w").write(str(os.getpid()))
def once():
    began, total = time.perf_counter(), 0
    for n in range(1_000_000):
        total += n
    return time.perf_counter() - began
print(round(statistics.median(once() for _ in range(7)) * 1000))"""
KILLS, POSTS = int(os.environ.get("EARTHWRIGHT_KILLS", "60")), 100
POST = """async ([address, name, digits, uid]) => {
    const page = await (await fetch(address)).text(), form = new DOMParser().parseFromString(page, "text/html").querySelector("input.big").form;
    const sent = new URLSearchParams(new FormData(form));
    form.querySelectorAll("input.big").forEach((f) => sent.set(f.name, digits));
    if (uid) sent.set("uid", uid);
    const began = performance.now(), answer = await fetch(form.getAttribute("action"), { method: "POST", body: sent });
    await answer.text();
    return [answer.status, performance.now() - began, Number(answer.headers.get("x-flushes"))];
}"""
WRITE = """async ([visit, n]) => {
    const uid = n.toString(16).padStart(32, "0");
    const answer = await fetch("/written", { method: "POST", body: new URLSearchParams({ uid, visit, digits: String(n), what: "kill", at: "10:00:00" }) });
    return answer.ok;
}"""

# Painted, and what is written is kept.
USABLE = (
    "Math.max(...['usable', 'first-contentful-paint'].map((n) => performance.getEntriesByName(n)[0].startTime)) / 1000"
)


def six_tied() -> str:
    """An invented site of six bonds that known links tie together, all read together."""
    text = '[visit]\nplace = "Tied, Test Row"\ndate = 2026-11-20\nkind = "bonding"\ninspector = "J. Example"\n[supply]\nsystem = "TN-C-S"\npme = true\n[[instrument]]\nid = "m"\n[[leads]]\nid = "L"\nnull_ohm = 0.03\nallowed = "nulled"\n'
    for i in range(6):
        text += f'[[part]]\nid="p{i}"\nkind="water"\n[[bond]]\nid="b{i}"\npart="p{i}"\ncsa_mm2=10\nlength_m=20\n'
    text += "".join(
        f'[[link]]\nid="l{i}"\nbetween=["p{i}","p{i + 1}"]\nlow_ohm=0.01\nhigh_ohm=0.05\n' for i in range(5)
    )
    return text + "".join(f'[[step]]\nread="together"\nbond="b{i}"\nshown="0.04"\n' for i in range(6))


class Phone:
    """A browser with a profile of its own, at the folder that is handed out."""

    def __init__(self, play: Playwright, folder: Path) -> None:
        self.play, self.profile = play, tempfile.mkdtemp()
        self.folder = Path(shutil.copytree(folder, Path(self.profile) / "handed-out"))
        if CORES:
            engine, router = self.folder / "phone" / "engine.mjs", self.folder / "sw.js"
            told = engine.read_text().replace("(navigator.hardwareConcurrency || 2)", CORES)
            before, after = hashlib.sha256(engine.read_bytes()), hashlib.sha256(told.encode())
            engine.write_text(told)
            router.write_text(router.read_text().replace(before.hexdigest(), after.hexdigest()))
        command = [sys.executable, "-u", "-m", "http.server", "0", "--bind", "127.0.0.1", "-d", str(self.folder)]
        self.server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        assert self.server.stdout
        self.address = f"http://localhost:{self.server.stdout.readline().split(b' port ')[1].split()[0].decode()}"
        self.begin()

    def begin(self) -> None:
        """Open the browser on the profile."""
        self.context: BrowserContext = self.play.chromium.launch_persistent_context(
            self.profile, executable_path=CHROMIUM, args=["--no-sandbox"], viewport={"width": 360, "height": 740}
        )
        self.page: Page = self.context.pages[0]
        self.page.on("pageerror", lambda e: print("error:", e))

    def go(self, path: str = "/", what: str = "main", page: Page | None = None) -> tuple[Frame, float]:
        """Open an address of the pages; the frame that shows it, and the seconds it took."""
        page, began = page or self.page, time.perf_counter()
        if HELD:
            self.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 1 / SHARE})
        page.goto(self.address + path)
        return frame(page, what), time.perf_counter() - began

    def take_in(self, text: str) -> str:
        """Take a visit book in; the address of the visit."""
        said = frame(self.page, "main").evaluate(
            """async (text) => { const form = new FormData(); form.append("uid", crypto.randomUUID().replaceAll("-", ""));
            form.append("book", new File([text], "v.toml")); return (await fetch("/book", { method: "POST", body: form })).url; }""",
            text,
        )
        return str(said.removeprefix(self.address))

    def close(self) -> None:
        """End it all."""
        with suppress(Error):
            self.context.close()
        self.server.terminate()
        shutil.rmtree(self.profile, ignore_errors=True)

    def processes(self, kind: str) -> list[int]:
        """The browser's processes of this profile: ``browser`` or ``renderer``."""
        listed = subprocess.run(["ps", "-eo", "pid,ppid,args"], capture_output=True, text=True).stdout.splitlines()[1:]
        every = {int(pid): (int(parent), args) for pid, parent, args in (line.split(None, 2) for line in listed)}
        own = {
            p
            for p, (_, args) in every.items()
            if self.profile in args and "--type=" not in args and "crashpad" not in args
        }
        if kind == "browser":
            return sorted(own)
        for _ in range(4):
            own |= {p for p, (parent, _) in every.items() if parent in own}
        return sorted(p for p in own if "--type=renderer" in every[p][1])


def frame(page: Page, what: str, seconds: float = 120) -> Frame:
    """The frame of the pages, once it shows this."""
    until = time.perf_counter() + seconds
    while time.perf_counter() < until:
        for one in page.frames[1:]:
            with suppress(Error):
                if one.evaluate("w => document.querySelector(w) !== null", what):
                    return one
        page.wait_for_timeout(20)  # a frame that comes is heard of here only
    raise AssertionError(f"{what} never came: {page.inner_text('#state')}")


@contextmanager
def held() -> Iterator[None]:
    """Hold every worker thread of the browsers to the share of a core, each for itself, as a phone has several."""
    if HELD is None:
        yield
        return
    over = threading.Event()
    group(".", quota="-1")
    group("rest", quota="-1")

    def catch() -> None:
        placed: dict[str, str] = {}
        while not over.is_set():
            for own in descendants():
                for comm in glob.glob(f"/proc/{own}/task/[0-9]*/comm"):
                    thread = comm.split("/")[4]
                    with suppress(OSError):
                        where = thread if Path(comm).read_text().startswith("DedicatedWorker") else "rest"
                        if placed.get(thread) != where:
                            group(where, thread)
                            placed[thread] = where
            time.sleep(0.05)

    thread = threading.Thread(target=catch)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
        for left in (*HELD.glob("*/"), HELD):
            with suppress(OSError):  # a browser that was killed is not gone yet
                left.rmdir()


def group(name: str, thread: str = "", quota: str = str(int(SHARE * PERIOD_US))) -> None:
    """A group of threads that gets what it may have before anybody else on the machine. quota [µs] of each period."""
    there = HELD / name  # type: ignore[operator]
    if not thread or not there.exists():
        there.mkdir(parents=True, exist_ok=True)
        (there / "cpu.cfs_period_us").write_text(str(PERIOD_US))
        (there / "cpu.cfs_quota_us").write_text(quota)
        (there / "cpu.shares").write_text("262144")
    if thread:
        (there / "tasks").write_text(thread)


def yardstick() -> str:
    """What a million additions of Python take [ms], held as a worker is."""
    if HELD:
        group("yardstick")
    tasks = str(HELD / "yardstick" / "tasks") if HELD else os.devnull
    return subprocess.run(
        [sys.executable, "-c", ADDITIONS, tasks], capture_output=True, text=True, check=True
    ).stdout.strip()


def descendants() -> set[str]:
    """All processes that this one began, the browsers' among them."""
    parent = {}
    for pid in filter(str.isdigit, os.listdir("/proc")):
        with suppress(OSError):
            parent[pid] = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[1]
    own = {str(os.getpid())}
    while more := {pid for pid, of in parent.items() if of in own} - own:
        own |= more
    return own


def memory_mb(phone: Phone) -> int:
    """The largest renderer [MB], as its own share of what is in memory."""

    def pss(pid: int) -> int:
        return (
            sum(int(x) for x in re.findall(r"^Pss: +(\d+)", Path(f"/proc/{pid}/smaps_rollup").read_text(), re.M))
            // 1024
        )

    return max(map(pss, phone.processes("renderer")))


def written(phone: Phone) -> list[int]:
    """The numbers that stand in the journal, one for each event, by the visit handed over."""
    here, _ = phone.go("/v/demo-visit/", "nav.jobs")
    content = here.evaluate(
        "fetch('/v/demo-visit/hand-over').then(r => r.arrayBuffer()).then(b => [...new Uint8Array(b)])"
    )
    with zipfile.ZipFile(io.BytesIO(bytes(content))) as archive:
        return [int(n) for n in re.findall(r"awake: (\d+), kill", archive.read("events.jsonl").decode())]


def times(phone: Phone) -> None:
    """What a person waits for."""
    _, first = phone.go("/")
    print(f"first start                       {first:6.2f} s")
    phone.server.terminate()
    phone.context.set_offline(True)
    phone.context.close()
    phone.begin()
    phone.context.set_offline(True)
    phone.go("/")
    usable = [phone.page.evaluate(USABLE)]
    while len(usable) < 4:
        phone.go("/")
        usable.append(phone.page.evaluate(USABLE))
    print(
        f"capture page usable, offline      {statistics.median(usable[1:]):6.2f} s   the first with the browser's own start {usable[0]:.2f}"
    )
    visit, tied = phone.take_in(visit_book()), phone.take_in(six_tied())
    waits = [phone.go(visit, "nav.jobs")[1] for _ in range(3)]
    print(f"warm start to Now, offline        {statistics.median(waits):6.2f} s   {[round(w, 2) for w in waits]}")
    here = frame(phone.page, "nav.jobs")
    posts = [here.evaluate(POST, [f"{visit}bond/gas/together", "", f"0.0{n % 9 + 1}", ""]) for n in range(20)]
    print(
        f"post to verdict, 60 circuits      {statistics.median(p[1] for p in posts[2:]) / 1000:6.3f} s   statuses {sorted({p[0] for p in posts})}"
    )
    print(f"flushes a post                    {(posts[-1][2] - posts[0][2]) / (len(posts) - 1):6.2f}")
    here, now = phone.go(tied, ".weighed")
    began, during = time.perf_counter(), []
    while "have been weighed" not in here.inner_text(".weighed") and time.perf_counter() - began < 150:
        if len(during) < 15:
            during.append(here.evaluate(POST, [f"{visit}bond/gas/together", "", f"0.0{len(during) % 9 + 1}", ""])[1])
        time.sleep(0.1)
    print(
        f"six tied bonds weighed            {time.perf_counter() - began:6.2f} s, its page there in {now:.2f} s (with a start)"
    )
    print(f"post while weighing               {statistics.median(during) / 1000:6.3f} s")
    print(f"memory of the page before a paper {memory_mb(phone):6d} MB")


def papers(phone: Phone) -> None:
    """The PDF writer: first, next, and its memory given back."""
    here, _ = phone.go("/")
    here.click('form[action="/demo"] button')
    here = frame(phone.page, "nav.jobs")
    pdf = "async (a) => { const began = performance.now(), r = await fetch(a); await r.arrayBuffer(); return [r.status, (performance.now() - began) / 1000]; }"
    print("PDF first (with its download)    ", here.evaluate(pdf, "/v/demo-visit/paper/bonding-record.pdf"))
    made = bytes(
        here.evaluate(
            "fetch('/v/demo-visit/paper/bonding-record.pdf').then(r => r.arrayBuffer()).then(b => [...new Uint8Array(b)])"
        )
    )
    print("verified at the desk             ", verify(made, dt.date.today()).answer)
    print("PDF of another kind              ", here.evaluate(pdf, "/v/demo-visit/paper/evidence-sheet.pdf"))
    print(f"memory while the writer is there  {memory_mb(phone):6d} MB")
    time.sleep(22)
    print(f"memory after it was closed        {memory_mb(phone):6d} MB")


def kills(phone: Phone) -> None:
    """The browser or its renderer killed in the middle of writing: what was acknowledged is there."""
    here, _ = phone.go("/")
    here.click('form[action="/demo"] button')
    frame(phone.page, "nav.jobs")
    phone.server.terminate()
    acknowledged, number, dice = set[int](), 1, random.Random(7)
    for turn in range(KILLS):
        here, _ = phone.go("/v/demo-visit/", "nav.jobs")
        until = time.perf_counter() + dice.uniform(0.1, 2.5)
        victims = phone.processes("browser" if turn % 2 else "renderer")
        timer = threading.Timer(until - time.perf_counter(), lambda v=victims: [os.kill(p, signal.SIGKILL) for p in v])
        timer.start()
        with suppress(Error):
            while True:
                if here.evaluate(WRITE, ["demo-visit", number]):
                    acknowledged.add(number)
                number += 1
        timer.join()
        with suppress(Error):
            phone.context.close()
        phone.begin()
    there = written(phone)
    lost = sorted(acknowledged - set(there))
    assert len(there) == len(set(there))
    print(f"{KILLS} kills: {len(acknowledged)} acknowledged, {len(lost)} lost")
    assert not lost


def tabs(phone: Phone) -> None:
    """Two tabs write, the same form twice, the leader is closed."""
    here, _ = phone.go("/")
    here.click('form[action="/demo"] button')
    here = frame(phone.page, "nav.jobs")
    second = phone.context.new_page()
    second_frame, _ = phone.go("/v/demo-visit/", "nav.jobs", second)
    for n in range(1, POSTS + 1):
        assert (here, second_frame)[n % 2].evaluate(WRITE, ["demo-visit", n])
        if n % 10 == 0:
            assert second_frame.evaluate(WRITE, ["demo-visit", n])
    phone.page.close()
    began = time.perf_counter()
    assert second_frame.evaluate(WRITE, ["demo-visit", POSTS + 1])
    print(f"leader closed: answer after       {time.perf_counter() - began:6.2f} s")
    phone.page = second
    there = written(phone)
    counts = [there.count(n) for n in range(1, POSTS + 2)]
    print(f"two tabs: {sum(c > 0 for c in counts)} of {POSTS + 1} kept, at most {max(counts)} event each")
    assert set(counts) == {1}


def full(phone: Phone) -> None:
    """No room: said, nothing lost, and the same form succeeds when there is room again."""
    here, _ = phone.go("/")
    here.click('form[action="/demo"] button')
    here = frame(phone.page, "nav.jobs")
    session = phone.context.new_cdp_session(phone.page)
    used = here.evaluate("navigator.storage.estimate().then(e => e.usage)")
    session.send("Storage.overrideQuotaForOrigin", {"origin": phone.address, "quotaSize": used + 20_000})
    ask = WRITE.replace("return answer.ok;", "return [answer.status, await answer.text()];")
    said, kept = "", 0
    for n in range(1, 400):
        status, said = here.evaluate(ask, ["demo-visit", n])
        if status != 200:
            break
        kept = n
    print(f"full after {kept} more: {status} {said}")
    session.send("Storage.overrideQuotaForOrigin", {"origin": phone.address})
    print("the same again, with room:", here.evaluate(ask, ["demo-visit", kept + 1]))
    assert written(phone) == list(range(1, kept + 2))


def update(phone: Phone) -> None:
    """A newer version waits until the next start; the visit goes on in it."""
    here, _ = phone.go("/")
    here.click('form[action="/demo"] button')
    here = frame(phone.page, "nav.jobs")
    router = phone.folder / "sw.js"
    old = router.read_text()
    version = re.search(r'const VERSION = "(\w+)"', old)
    assert version
    router.write_text(old.replace(version[1], "newer0000000"))
    phone.page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")
    phone.page.get_by_text("A newer version is here").wait_for(timeout=60_000)
    print("told:", phone.page.inner_text("#bar").replace("\n", " | "))
    assert here.evaluate(WRITE, ["demo-visit", 1])  # the visit goes on in the old one
    if picture := os.environ.get("EARTHWRIGHT_PICTURE"):
        phone.page.screenshot(path=picture)
    caches = "caches.keys()"
    print("before the next start:", phone.page.evaluate(caches))
    phone.context.close()
    phone.begin()
    phone.go("/v/demo-visit/", "nav.jobs")
    phone.page.wait_for_timeout(1000)
    print("after it:            ", phone.page.evaluate(caches))
    assert written(phone) == [1]
    print("the entry made before it is in the journal")


def newer(phone: Phone) -> None:
    """A journal of a later program is refused with words, and its file can be saved."""
    import sqlite3

    phone.go("/")
    path = Path(tempfile.mkdtemp()) / "journal.sqlite"
    from earthwright.records import Store

    Store(path).close()
    with sqlite3.connect(path) as made:
        made.execute("UPDATE alembic_version SET version_num = '99'")
    made.close()
    content = list(path.read_bytes())
    phone.page.close()  # its engine holds the files
    shell = phone.context.new_page()
    shell.add_init_script("window.Worker = class { postMessage() {} }")
    shell.goto(phone.address)
    shell.evaluate(
        """async (bytes) => { const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle("journal", { create: true });
        for (const [name, content] of [["journal.sqlite", new Uint8Array(bytes)], ["journal.sqlite-wal", new Uint8Array()]]) {
            const out = await (await folder.getFileHandle(name, { create: true })).createWritable(); await out.write(content); await out.close(); } }""",
        content,
    )
    shell.close()
    phone.page = phone.context.new_page()
    phone.page.goto(phone.address)
    for _ in range(600):  # the page's policy forbids what playwright's own waiting does
        if "cannot start" in phone.page.inner_text("#state"):
            break
        time.sleep(0.1)
    print(phone.page.inner_text("#state"))
    print(phone.page.inner_text("#bar").replace("\n", " | "))


KINDS: dict[str, Callable[..., None]] = {
    "times": times, "papers": papers, "kills": kills, "tabs": tabs, "full": full, "update": update, "newer": newer,
}  # fmt: skip


def main() -> None:
    """Whatever was asked for, each with a browser and a profile of its own."""
    folder, *kinds = sys.argv[1:]
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; share of a core: {SHARE}")
    with sync_playwright() as play, held():
        for kind in kinds or KINDS:
            phone = Phone(play, Path(folder))
            print(f"-- {kind}; a million additions {yardstick()} ms, load {os.getloadavg()[0]:.1f}", flush=True)
            try:
                KINDS[kind](phone)
            finally:
                phone.close()


if __name__ == "__main__":
    main()
