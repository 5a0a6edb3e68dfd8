"""Forty kinds of bad input, through the forms of a page and posted raw: no 500, nothing written, nothing typed is lost."""

from __future__ import annotations

import html
import re

import pytest
from asked import Site, text_of

READ = "/v/demo-visit/bond/gas/joint"
# What a person may type where the digits of a display belong, and none of which is one.
DIGITS = [
    "", " ", "1,234", "0,05,", "abc", "0.4 kV", "1e-3", "NaN", "info", "--0.05", "0", "0.0.1", "0x10", "½", "0..3", "0.03 Ω Ω",
    "<5", ">0.1", "true", "None", "0.03; drop table event", "<script>alert(1)</script>", "{{ 7*7 }}", "{0}", "%s%n", "../../etc/passwd",
    "=1+1", "0" * 40, "9" * 5000, "\x00", "0.03\x000.04", "nought", "O.O3", "0.03\n0.04\n", "null", "[]", "0.03 V",
]  # fmt: skip


@pytest.mark.parametrize("typed", DIGITS)
def test_what_is_no_display_is_refused_with_a_reason_and_stays_typed(shared: Site, typed: str) -> None:
    site = shared
    page = site.get(READ)
    before = site.events("demo-visit")
    answer = site.send(page, READ, shown=typed, note="a remark that must not be lost")
    assert answer.status_code == 422, typed
    assert site.events("demo-visit") == before
    assert 'aria-invalid="true"' in answer.text
    kept = re.search(r'name="shown" type="text" value="([^"]*)"', answer.text)
    assert kept
    plain = "".join(c for c in typed if c.isprintable()).strip()
    assert "".join(html.unescape(kept[1]).split()) == "".join(plain.split())
    assert "a remark that must not be lost" in html.unescape(answer.text)
    assert "<script>alert" not in answer.text


@pytest.mark.parametrize(
    "typed",
    [
        "0.03",
        "0.03 Ω",
        "0.03Ω",
        "0.03 ohm",
        "0.03 \u2126",
        "30 mΩ",
        ".03",
        "over-range",
        "OL",
        ">99.9",
        "<0.01",
        "-0.01",
        "\x000.03",
    ],
)
def test_what_is_a_display_is_taken(shared: Site, typed: str) -> None:
    site = shared
    assert site.send(site.get(READ), READ, shown=typed).status_code == 303


# Forms with something wrong in several fields at once: address, what is typed, fields that must be marked.
FORMS = [
    ("/new", {"place": "", "date": "31.12.2026"}, {"place", "date"}),
    ("/new", {"place": "x", "date": "2026-02-30", "temp_c": "warm"}, {"date", "temp_c"}),
    ("/new", {"place": "x", "date": "2026-11-20", "kind": "wedding"}, {"kind"}),
    ("/v/demo-visit/add/part", {"kind": "ghost", "plastic_section_m": "-1"}, {"kind", "plastic_section_m"}),
    ("/v/demo-visit/add/bond", {"part": "", "csa_mm2": "ten", "length_m": ""}, {"part", "csa_mm2", "length_m"}),
    ("/v/demo-visit/add/bond", {"part": "nowhere", "csa_mm2": "0", "length_m": "1e9"}, {"part", "csa_mm2", "length_m"}),
    ("/v/demo-visit/add/bond", {"part": "gas", "csa_mm2": "10", "length_m": "5", "length_tol_m": "6"}, {"length_tol_m"}),
    ("/v/demo-visit/add/leads", {"id": "", "allowed": "hoped", "null_ohm": "a"}, {"id", "allowed", "null_ohm"}),
    ("/v/demo-visit/add/instrument", {"id": "tester", "valid_until": "soon"}, {"id", "valid_until"}),
    ("/v/demo-visit/add/board", {"id": "db1"}, {"id"}),
    ("/v/demo-visit/add/circuit", {"id": "9", "board": "db9", "kind": "square", "device": "B"}, {"board", "kind", "device"}),
    ("/v/demo-visit/add/circuit", {"id": "9", "board": "db1", "line_mm2": "2,5", "rcd_ma": "x"}, {"line_mm2", "rcd_ma"}),
    ("/v/demo-visit/add/electrode", {"id": "rod", "kind": "spoon", "length_m": "long"}, {"kind", "length_m"}),
    ("/v/demo-visit/add/supply", {"system": "TN-X", "phases": "2", "fuse_a": "-3"}, {"system", "phases", "fuse_a"}),
    ("/v/demo-visit/add/report", {"previous": "last year", "age_years": "old", "country": "Atlantis"}, {"previous", "age_years", "country"}),
    ("/v/demo-visit/add/observation", {"what": "", "code": "C9"}, {"code"}),
    ("/v/demo-visit/leads", {"check": "shaken", "shown": "x"}, {"check", "shown"}),
    ("/v/demo-visit/leads", {"check": "known", "shown": "0.50", "nominal_ohm": ""}, {"nominal_ohm"}),
    ("/v/demo-visit/steps", {"do": "clamp", "clamp": "moon", "shown": ""}, {"clamp", "shown"}),
    ("/v/demo-visit/steps", {"do": "look", "look": "", "seen": ""}, {"look", "seen"}),
    ("/v/demo-visit/steps", {"do": "volts", "volts": "", "shown": "high"}, {"volts", "shown"}),
    ("/v/demo-visit/steps", {"do": "isolated", "isolated": "perhaps"}, {"isolated"}),
    ("/v/demo-visit/photos", {"caption": ""}, {"caption", "photo"}),
    ("/v/demo-visit/circuits/1", {"c.1.zs..": "1,234", "c.1.r1r2..": "x"}, {"c.1.zs..", "c.1.r1r2.."}),
    ("/v/demo-visit/circuits/2", {"p.7.point": "", "p.7.ln": "0.2x"}, {"p.7.ln", "p.7.point"}),
]  # fmt: skip


@pytest.mark.parametrize(("path", "typed", "marked"), FORMS, ids=[f"{p}-{n}" for n, (p, _, _) in enumerate(FORMS)])
def test_every_fault_of_a_form_is_told_at_its_field_at_once(
    shared: Site, path: str, typed: dict[str, str], marked: set[str]
) -> None:
    site = shared
    page = site.get(path)
    before = len(site.desk.store.events())
    answer = site.send(page, path, **typed)
    assert answer.status_code == 422, text_of(answer)
    assert len(site.desk.store.events()) == before
    wrong = set()
    for tag in re.findall(r"<(?:input|select|textarea)\b[^>]*aria-invalid[^>]*>", answer.text):
        name = re.search(r'\bname="([^"]*)"', tag)
        assert name
        wrong.add(html.unescape(name[1]))
    assert marked <= wrong, (marked, wrong, text_of(answer)[:900])
    for value in typed.values():
        if value and value not in (
            "shaken",
            "ghost",
            "hoped",
            "nowhere",
            "db9",
            "square",
            "spoon",
            "TN-X",
            "2",
            "C9",
            "wedding",
            "perhaps",
            "Atlantis",
        ):
            assert html.escape(value, quote=True).replace("&#x27;", "&#39;") in answer.text


def test_what_is_posted_raw_never_breaks_a_page(site: Site, demo: str) -> None:
    """Every address that takes a form, with bodies that no form of ours would send."""
    from earthwright.web.app import routes

    bodies: list[tuple[bytes, str]] = [
        (b"", ""),
        (b"", "application/x-www-form-urlencoded"),
        (b"\xff\xfe\x00=\x80&&&=%%%", "application/x-www-form-urlencoded"),
        (b"do=read&do=off&shown=1&shown=2", "application/x-www-form-urlencoded"),
        (b"a=1&" * 3000, "application/x-www-form-urlencoded"),
        (b'{"shown": false}', "application/json"),
        (b"--x\r\nnot a part at all", "multipart/form-data; boundary=x"),
        (b"--x--", "multipart/form-data"),
        (b"--x\r\nContent-Disposition: form-data; name=\"shown\"; filename=\"../../x\"\r\n\r\nabc\r\n--x--\r\n", "multipart/form-data; boundary=x"),
        (b"do=undo&uid=%00%00", "application/x-www-form-urlencoded"),
        (b"<xml/>", "text/xml"),
    ]  # fmt: skip
    before = len(site.desk.store.events())
    for route in routes():
        if route.methods != {"POST"} or route.path == "/demo" or route.path.startswith("/sync/"):
            continue  # what a device sends is no form: tests/sync/test_over_http.py
        path = route.path
        for name, value in {
            "{visit}": "demo-visit", "{bond}": "gas", "{test}": "joint", "{of}": "1", "{key}": "zs||", "{table}": "part",
            "{entry}": site.desk.read("demo-visit").entries[5].id, "{document}": "condition-report",
        }.items():  # fmt: skip
            path = path.replace(name, value)
        for body, kind in bodies:
            answer = site.ask("POST", path, content=body, headers={"content-type": kind} if kind else {})
            asks = route.path.endswith("/weighed")  # it shows how far the weighing is, and writes nothing
            assert answer.status_code in ((200, 404) if asks else (303, 400, 404, 422)), (
                path,
                body,
                answer.status_code,
                text_of(answer),
            )
    written = site.desk.store.events()[before:]
    assert {e.kind for e in written} <= {"strike"}, [e.kind for e in written]  # only the undo that was asked for


@pytest.mark.parametrize(
    "path",
    [
        "/v/nothing/", "/v/demo-visit/bond/moon", "/v/demo-visit/bond/gas/licking", "/v/demo-visit/add/moon", "/v/demo-visit/entry/x",
        "/v/demo-visit/circuits/99", "/v/demo-visit/along/zs", "/v/demo-visit/along/a|b|c", "/v/demo-visit/paper/novel",
        "/v/demo-visit/paper/letter/99.png", "/v/demo-visit/paper/letter/0.png", "/v/demo-visit/issued/00.pdf", "/v/demo-visit/photo/00",
        "/v/demo-visit/findings/zz", "/static/../app.py", "/static/nothing.css", "/sums/nothing", "/v/%00/", "/v/..%2f..%2fetc/", "/%ff", "/nothing",
    ],
)  # fmt: skip
def test_what_is_not_there_says_so(shared: Site, path: str) -> None:
    answer = shared.get(path)
    assert answer.status_code == 404
    assert "content-security-policy" in answer.headers


@pytest.mark.parametrize(
    "query", ["?said=%00", "?find=%ff%fe", "?wrote=<b>", "?after=../x", "?head=%27", "?with=%00", "?" + "a=1&" * 500]
)
@pytest.mark.parametrize(
    "path", ["/", "/new", "/v/demo-visit/", "/v/demo-visit/compare", "/v/demo-visit/bond/gas/joint"]
)
def test_an_address_may_hold_anything(shared: Site, path: str, query: str) -> None:
    answer = shared.get(path + query)
    assert answer.status_code == 200


HOSTILE = "<script>alert('x')</script>\"'>&<svg onload=1>{{7*7}}{% raw %}"


def test_what_people_write_is_never_markup(site: Site) -> None:
    answer = site.send(site.get("/new"), "/new", place=HOSTILE, date="2026-11-20", inspector=HOSTILE)
    base = answer.headers["location"].rstrip("/")
    site.send(site.get(f"{base}/add/part"), f"{base}/add/part", kind="water", name=HOSTILE, note=HOSTILE)
    site.send(
        site.get(f"{base}/add/bond?part=water"),
        f"{base}/add/bond",
        csa_mm2="10",
        length_m="16",
        position=HOSTILE,
        note=HOSTILE,
    )
    site.send(site.get(f"{base}/add/leads"), f"{base}/add/leads", id="long", allowed="nulled", note=HOSTILE)
    steps = f"{base}/steps"
    site.send(site.get(steps), steps, do="look", look="water", seen=HOSTILE)
    observe = f"{base}/add/observation"
    site.send(site.get(observe), observe, what=HOSTILE, where=HOSTILE, code="C2")
    for page in (
        "/",
        "/map",
        "/map.svg",
        "/bond/water",
        "/bond/water/conductor",
        "/leads",
        "/steps",
        "/findings",
        "/details",
        "/compare",
        "/paper",
    ):
        text = site.get(base + page).text
        assert "<script>alert" not in text, page
        assert "<svg onload" not in text, page
    assert "{{7*7}}" in html.unescape(site.get(f"{base}/steps").text)
    assert "<script>alert" not in site.get("/").text
    assert site.get(f"{base}/paper/bonding-record").status_code == 200


def listed(page: str) -> dict[str, str]:
    """What the list at the top of a page says is wrong: name as shown there, by field."""
    return {html.unescape(n): html.unescape(w) for n, w in re.findall(r'<li><a href="#f-([^"]*)">([^<]*)</a>: ', page)}


def test_what_is_wrong_in_a_row_or_a_column_is_listed_by_test_and_circuit(shared: Site) -> None:
    row = shared.get("/v/demo-visit/circuits/1")
    answer = shared.send(row, "/v/demo-visit/circuits/1", **{"c.1.zs..": "1,234", "c.1.r1r2..": "x"})
    names = listed(answer.text)
    assert names["c.1.zs.."].startswith("Zs, 1 ")
    assert names["c.1.r1r2.."].startswith("R1+R2, 1 ")
    ring = shared.get("/v/demo-visit/circuits/2")
    names = listed(shared.send(ring, "/v/demo-visit/circuits/2", **{"p.7.point": "", "p.7.ln": "0.2x"}).text)
    assert [names[n].split(",")[0] for n in ("p.7.ln", "p.7.point")] == ["line to neutral", "Point 8"]
    column = shared.get("/v/demo-visit/along/insulation|L-N|")
    answer = shared.send(column, "/v/demo-visit/along/insulation|L-N|", **{"c.2.insulation.L-N.": "x"})
    assert listed(answer.text)["c.2.insulation.L-N."].startswith("Insulation L-N, 2 ")


def test_what_is_no_finite_number_in_a_sum_is_told_by_the_name_of_the_field(shared: Site) -> None:
    answer = shared.get("/sums/zs-limit", params={"device": "BS 3036", "rating": "abc"})
    assert answer.status_code == 422
    assert "Rated current, A : Expected a number, found abc." in text_of(answer)
    for typed in ("nan", "inf", "1e400", "9" * 190):
        answer = shared.get("/sums/earthing-conductor", params={"line": typed})
        assert answer.status_code == 422
        assert listed(answer.text) == {"line": "Line conductors, mm²"}
