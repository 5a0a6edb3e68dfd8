"""Whatever a document lacks, its page has the field: every lack is followed to its form, and documents are filled by pages alone."""

from __future__ import annotations

import html
import re
from pathlib import Path

from asked import Site, attr, text_of

from earthwright.desk import Desk
from earthwright.paper.kinds import DOCUMENTS
from earthwright.paper.requirements import missing_fields
from earthwright.site.inspection import INITIAL_ITEMS
from earthwright.web.lacks import lacks, link_for
from earthwright.web.work import Opened

VISITS = sorted((Path(__file__).parents[1] / "visits").glob("*.toml"))
HEAD = '[visit]\nplace = "1 Test Row, Nowhere"\ndate = 2026-11-20\nkind = "initial"\n'
FED = '[[board]]\nid = "db1"\n[[circuit]]\nid = "c1"\nboard = "db1"\n'
# What each lack that no kept visit has comes from.
ODD = {
    "nothing": HEAD,
    "tt": HEAD + '[supply]\nsystem = "TT"\n[origin]\nearthing = "electrode"\n' + FED,
    "electrodes": HEAD + '[origin]\nearthing = "electrode"\n[[electrode]]\nid = "a"\n[[electrode]]\nid = "b"\nkind = "plate"\n' + FED,
    "shared rcd": HEAD + FED.replace("[[circuit]]", '[board.rcd]\nrcd_type = "A"\n[board.switch]\nkind = "residual current device"\n[[circuit]]'),
    "rcd at the origin": HEAD + '[origin]\nswitch_rcd_type = "A"\n' + FED,
    "three phases": HEAD + FED.replace('id = "db1"\n', 'id = "db1"\nphases = 3\nspd_type = "2"\n', 1),
    "direct current": HEAD + FED.replace('id = "db1"\n', 'id = "db1"\ncurrent = "DC"\n', 1),
    "afdd, ring, rcd": HEAD + FED + 'kind = "ring"\nafdd = true\nrcd_type = "AC"\ndevice = "BS EN 61009 B32"\n',
    "ids": HEAD + FED.replace("db1", "DB 1/A").replace("c1", "1/L1"),
    "two circuits": HEAD + FED + '[[circuit]]\nid = "c2"\nboard = "db1"\n[report]\ncircuit = "c2"\n',
    "off": HEAD + '[[part]]\nid = "gas"\nkind = "gas"\n[[bond]]\npart = "gas"\ncsa_mm2 = 10\n[[step]]\noff = "gas"\n' + FED,
    "instrument": HEAD + '[[instrument]]\nid = "t"\n' + FED,
    "observations": HEAD.replace("initial", "periodic") + '[[observation]]\nid = "1"\nwhat = "cracked"\n[[observation]]\nid = "2"\ncode = "none"\nwhat = "x"\n[inspected]\nintake-tails = "C2"\n',
    "stages": HEAD.replace("initial", "periodic") + '[[part]]\nid = "gas"\nkind = "gas"\n[[bond]]\npart = "gas"\ncsa_mm2 = 10\nlength_m = 9\n[[step]]\nid = "r1"\nread = "together"\nbond = "gas"\nshown = "0.02"\n'
    '[[observation]]\nid = "1"\nabout = "gas"\nwhat = "open"\ncode = "C2"\nwhere = "hall"\n[[observation.then]]\nstage = "remedied"\non = 2026-11-20\n[[observation.then]]\nstage = "confirmed"\non = 2026-11-20\nreading = "r1"\n',
    "broken": HEAD + '[supply]\nu0_v = "many"\n[[circuit]]\nid = "c9"\nboard = "db1"\nlength_m = "long"\n[[step]]\nread = "zs"\nof = "c1"\nshown = "true"\n' + FED,
}  # fmt: skip


def shape(what: str, where: str) -> tuple[str, str]:
    """A lack without the names of one visit, so that each kind is followed once and not a thousand times."""
    return what.rpartition(": ")[2][:40], re.sub(r"[^\[\]a-z ]", "", where)[:60]


def fields_at(site: Site, link: str, held: dict[str, str]) -> tuple[set[str], str]:
    address = link.partition("#")[0]
    if address not in held:
        answer = site.get(address)
        assert answer.status_code == 200, link
        held[address] = answer.text
    posted = re.findall(r'<form method="post".*?</form>|<form [^>]*method="post".*?</form>', held[address], re.S)
    return {html.unescape(x) for form in posted for x in re.findall(r'\bid="([^"]*)"', form)}, held[address]


def follow_all(site: Site, visit: str, done: set[tuple[str, str]]) -> list[str]:
    """Every lack of every document of a visit whose link leads to no field of a form."""
    a = site.desk.record(visit)
    if a is None:
        return []
    found = Opened(site.desk.read(visit), a)
    wrong, held = [], {}
    for document in DOCUMENTS:
        # How a thing is written in a visit book is told in the terminal; on a page one taps.
        wrong += [f"{document}: {x.words}" for x in lacks(found, a, document) if re.search(r'\[\[|"| = ', x.words)]
        for m in missing_fields(a, document):
            if shape(m.what, m.at.said()) in done:
                continue
            done.add(shape(m.what, m.at.said()))
            link = link_for(found, a, m.at)
            if link.startswith("#"):
                link = f"/v/{visit}/paper/{document.replace(' ', '-')}{link}"
            ids, page = fields_at(site, link, held)
            field = html.unescape(link.partition("#")[2])
            ends_in_form = re.search(r"/bond/[^/]+/conductor$|/inspected$", link) and 'method="post"' in page
            if not (field in ids if field else ends_in_form):
                wrong.append(f"{document}: {m.what} ({m.at.said()}) -> {link}")
    return wrong


def test_every_lack_that_a_kept_or_odd_visit_has_leads_to_its_field(desk: Desk) -> None:
    site, done, wrong = Site(desk), set[tuple[str, str]](), list[str]()
    for text in (*ODD.values(), *(p.read_text(encoding="utf-8") for p in VISITS)):
        wrong += follow_all(site, desk.take_in(text), done)
    assert len(done) > 120
    assert wrong == [], "\n".join(wrong)


def test_a_blank_of_a_thing_that_is_entered_leads_to_its_entry_and_its_reading_to_its_cell(desk: Desk) -> None:
    visit = desk.take_in(ODD["electrodes"] + ODD["ids"].removeprefix(HEAD))
    a = desk.record(visit)
    assert a is not None
    found = Opened(desk.read(visit), a)
    links = {
        m.what: link_for(found, a, m.at).partition(visit)[2] for m in missing_fields(a, "installation certificate")
    }
    first, circuit = found.of("electrode", "a"), found.of("circuit", "1/L1")
    assert links["Installation at its origin: Electrode, place"] == f"/entry/{first}#f-where"
    assert links["Installation at its origin: Electrode, resistance"] == "/circuits/a#f-c.a.electrode..rod alone"
    assert links["DB 1/A, circuit 1/L1: points served"] == f"/entry/{circuit}#f-points"
    assert links["DB 1/A, circuit 1/L1: highest permitted Zs"] == f"/entry/{circuit}#f-device"  # no reading gives it
    assert links["DB 1/A, circuit 1/L1: Zs"] == "/circuits/1~2FL1#f-c.1/L1.zs.."


# What is typed where a document lacks it; by the last part of the field's name.
TYPED = {
    "date": "2026-11-20", "issued": "2026-11-20", "completed": "2026-11-19", "next_by": "2031-11-20", "not_present": "oil\nsteel\nlightning\ngas\nwater\nheating\nducting\ntank",
    "departures": "none", "existing": "none", "vulnerable": "none", "system": "TN-S", "ze_how": "enquiry", "fuse_a": "100", "ipf_ka": "1.2", "ze_ohm": "0.31", "live": "L+N", "current": "AC",
    "earthing": "distributor", "earthing_mm2": "16", "earthing_checked": "yes", "demand_a": "60", "polarity": "good", "fuse_standard": "BS 88-3", "fuse_type": "gG", "switch_where": "board db1",
    "switch_standard": "BS EN 61008", "switch_poles": "2", "switch_a": "80", "switch_v": "230", "switch_rcd": "none", "work_kind": "new installation", "spd_type": "none", "switch.kind": "residual current device",
    "rcd.rcd_type": "A", "rcd.rcd_ma": "30", "rcd.rcd_delay": "none", "rcd.standard": "BS EN 61008", "rcd.rating_a": "80", "serial": "SN-1", "wiring": "A", "reference": "C", "points": "4", "line_mm2": "2.5", "cpc_mm2": "1.5",
    "device": "BS EN 60898 B16", "breaking_ka": "6", "circuit": "c1", "code": "none", "overall": "satisfactory", "rented": "no", "premises": "house", "age_years": "20", "limitations": "none", "operational": "none",
    "at": "10:30", "where": "the hall",
}  # fmt: skip
READ = {
    "r1r2": "0.40", "insulation": ">299", "zs": "0.72", "zdb": "0.32", "fault current": "0.9", "rcd": "22", "ze": "0.31",
}  # fmt: skip


def value_for(name: str, kind: str) -> str:
    if name.startswith("c."):
        test = name.removeprefix("c.").split(".", 1)[1].split(".")[0]
        return READ.get(test, "good")
    if name in {i.id for i in INITIAL_ITEMS}:
        return "acceptable"
    return TYPED.get(name, "2026-11-20" if kind == "date" else "said in words")


def fill(site: Site, link: str) -> None:
    """Open the page that a lack leads to, fill in its field (every blank one of a long list), and send the form."""
    address, _, field = link.partition("#")
    page = site.get(address)
    for form in re.findall(r"<form [^>]*method=\"post\".*?</form>|<form method=\"post\".*?</form>", page.text, re.S):
        if f'id="{html.escape(field)}"' not in form:
            continue
        name = field.removeprefix("f-")
        typed: dict[str, object] = {}
        every = {html.unescape(n) for n in re.findall(r'<(?:input|select|textarea)[^>]*\bname="([^"]*)"', form)}
        kinds = {attr(t, "name"): attr(t, "type") for t in re.findall(r"<input([^>]*)>", form)}
        wanted = {n for n in every if n in {i.id for i in INITIAL_ITEMS}} if address.endswith("/inspected") else {name}
        typed |= {n: value_for(n, kinds.get(n, "")) for n in wanted}
        if "why" in every:
            typed["why"] = "filled in"
        if "reason" in every:
            typed["reason"] = "said in words"
            typed |= {"by": "J. Example"} if "by" in every else {}
        do = {"do": "sign"} if 'value="sign"' in form else {"do": "correct"} if 'value="correct"' in form else {}
        answer = site.send(page, attr(form[: form.index(">")], "action"), **typed, **do)
        assert answer.status_code == 303, (link, typed, text_of(answer)[:1500])
        return
    raise AssertionError(f"no form with {field} at {address}")


def lacking(site: Site, visit: str, document: str) -> list[tuple[str, str]]:
    a = site.desk.record(visit)
    assert a is not None
    found = Opened(site.desk.read(visit), a)
    base = f"/v/{visit}/paper/{document.replace(' ', '-')}"
    return [(m.what, re.sub("^#", f"{base}#", link_for(found, a, m.at))) for m in missing_fields(a, document)]


def test_a_board_with_one_shared_device_gets_its_certificate_from_the_pages_alone(site: Site) -> None:
    begun = site.send(site.get("/new"), "/new", place="1 Test Row, Nowhere", kind="initial", inspector="J. Example")
    visit = begun.headers["location"].strip("/").split("/")[1]
    for table, typed in (
        ("board", {"id": "db1", "where": "hall", "rcd.rcd_type": "A", "rcd.rcd_ma": "30", "switch.kind": "residual current device", "switch.poles": "2", "switch.rated_v": "230"}),
        ("circuit", {"id": "c1", "board": "db1", "name": "Sockets", "device": "BS EN 60898 B16", "use": "sockets", "length_m": "12"}),
    ):  # fmt: skip
        path = f"/v/{visit}/add/{table}"
        assert site.send(site.get(path), path, **typed).status_code == 303
    before: list[tuple[str, str]] = []
    for _ in range(140):
        now = lacking(site, visit, "installation certificate")
        unsigned = [x for x in now if not x[0].startswith("Signature") and "/add/part" not in x[1]]  # no metal comes in
        if not now:
            break
        what, link = (unsigned or now)[0]
        assert (what, link) not in before[-1:], f"filled in and still missing: {what} at {link}"
        before.append((what, link))
        if what.startswith("Signature"):
            path = link.partition("#")[0]
            role = what.removeprefix("Signature: ")
            assert site.send(site.get(path), path, do="sign", role=role, name="J. Example").status_code == 303
        else:
            fill(site, link)
    assert lacking(site, visit, "installation certificate") == []
    assert {"c.db1.rcd..x1", "c.db1.rcd button.."} <= {link.partition("#f-")[2] for _, link in before}
    path = f"/v/{visit}/paper/installation-certificate"
    assert site.send(site.get(path), path, do="issue").status_code == 303


def test_what_became_of_an_observation_is_written_and_corrected_on_its_page(site: Site, demo: str) -> None:
    path = f"{demo}/add/observation"
    first = {"what": "No label", "where": "hall", "code": "C3", "then.0.stage": "remedied", "then.0.on": "2026-11-20"}
    assert site.send(site.get(path), path, **first).status_code == 303
    entry = site.desk.read("demo-visit").event_of("observation", "1")
    page = f"{demo}/entry/{entry}"
    typed = {"then.1.stage": "confirmed", "then.1.on": "2026-11-20", "why": "looked"}
    refused = site.send(site.get(page), page, do="correct", **typed)
    assert refused.status_code == 422
    assert re.search(r'id="f-then\.1\.[a-z]+-wrong"', refused.text)
    site.follow(site.send(refused, page, do="correct", **{"then.1.seen": "label is there"}))
    a = site.desk.assess("demo-visit")
    assert a is not None
    stages = a.visit.paperwork.observations[0].stages
    assert [(s.stage, s.seen) for s in stages] == [("remedied", ""), ("confirmed", "label is there")]
    gone = {"then.1.stage": "", "then.1.on": "", "then.1.seen": "", "why": "wrong one"}
    site.follow(site.send(site.get(page), page, do="correct", **gone))
    a = site.desk.assess("demo-visit")
    assert a is not None
    assert len(a.visit.paperwork.observations[0].stages) == 1
