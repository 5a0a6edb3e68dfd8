"""Readings from a file of an instrument: told what its columns hold, looked at, kept with where they came from; nothing guessed."""

from __future__ import annotations

import hashlib
import json

import pytest
from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.records.event import FILE
from earthwright.report.record import to_json
from earthwright.schedule.saved import Columns, columns_from, read_saved, take
from earthwright.site.source import taken_in

BOOK = """
[visit]
place = "1 Invented Row"
date = 2026-11-20
inspector = "J. Example"
kind = "periodic"
[supply]
system = "TN-S"
[[instrument]]
id = "tester"
[[leads]]
id = "long"
allowed = "nulled"
[[board]]
id = "db1"
[[circuit]]
id = "c1"
name = "Sockets"
board = "db1"
[[circuit]]
id = "c2"
name = "Cooker"
board = "db1"
""" + "".join(
    f"""
[[step]]
isolated = "{stage}"
pairs = "L-N L-E N-E"
"""
    for stage in ("locked", "tester proved", "dead", "tester proved again")
)
# Not the format of any maker: two lines of heading, a column for each thing that an instrument knows.
FILE_1 = (
    "my tester,serial 0000\r\n"
    "No,Way,Job,Result,In,Clock\r\n"
    "1,1,CONT,0.47,Ohm,20/11/2026 10:18:20\r\n"
    "2,1,INS L-E,>299,MΩ,20/11/2026 10:20:00\r\n"
    "3,2,CONT,OL,Ohm,20/11/2026 10:25:05\r\n"
    "4,2,HUM,51,Hz,20/11/2026 10:26:05\r\n"
    "5,2,CONT,,Ohm,20/11/2026 10:27:05\r\n"
).encode()
HOW = {
    "columns": {"Way": "of", "Job": "test", "Result": "value", "In": "unit", "Clock": "time"},
    "tests": {"CONT": "r1r2", "INS L-E": "insulation L-E", "HUM": "leave out"},
    "things": {"1": "c1", "2": "c2"},
    "ahead_s": 200,
    "leads": "long",
}


def test_saved_readings_keep_digits_time_and_source(desk: Desk) -> None:
    visit = desk.take_in(BOOK)
    read = desk.read(visit).book.visit
    assert read is not None
    saved = read_saved(FILE_1, r"C:\jobs\day.csv")
    taken = take(saved, columns_from(HOW), read)
    assert taken.good
    assert taken.left_out == 2, [f.sentence() for f in taken.findings]
    digest = hashlib.sha256(FILE_1).hexdigest()
    assert [(r.body["of"], r.body["read"], r.body["shown"], r.body["at"]) for r in taken.rows] == [
        ("c1", "r1r2", "0.47 Ohm", "10:15:00"),
        ("c1", "insulation", ">299 MΩ", "10:16:40"),
        ("c2", "r1r2", "OL", "10:21:45"),
    ]
    assert taken.rows[0].body["source"] == f"day.csv, row 3, sha256 {digest}"
    # Everything at once, and of each word once: an unknown circuit, an unknown test, another day, no unit, a broken clock.
    bad = FILE_1.replace(b"3,2,CONT", b"3,9,WIND").replace(b"20/11/2026 10:20:00", b"19/11/2026 10:20:00")
    bad = bad.replace(b"10:27:05", b"teatime").replace(b"CONT,,", b"CONT,1.20,").replace(b"OL", b"3.0")
    faults = {
        f.where: f.what
        for f in take(
            read_saved(bad, "day.csv"), columns_from({**HOW, "columns": {**HOW["columns"], "In": ""}}), read
        ).findings
    }
    assert set(faults) == {"B5 (Way)", "C5 (Job)", "F4 (Clock)", "F7 (Clock)", "D3 (Result)"}, faults
    # Month before day is another day; it is not guessed.
    assert not take(saved, columns_from({**HOW, "days": "month first"}), read).good
    for columns in ({}, {"Way": "of"}, {"Way": "of", "Nowhere": "test"}, {"Way": "of", "Job": "of"}):
        assert not take(saved, Columns(columns=columns), read).good
    with pytest.raises(ValueError, match=r"days.*") as wrong:
        columns_from({"columns": {"A": "nothing known"}, "days": "x", "ahead_s": "1", "more": 1})
    assert all(word in str(wrong.value) for word in ("columns: A", "days", "ahead_s", "more"))
    for nothing in (b"", b"\xff\xfea", b"a,b\r\n", b'"a', b"a," * 100 + b"\r\n1,2\r\n", b"x" * 600_000):
        assert not take(read_saved(nothing, ""), columns_from(HOW), read).good


def test_saved_readings_on_the_pages(site: Site) -> None:
    visit = site.desk.take_in(BOOK)
    to = f"/v/{visit}/readings"
    uid = {"uid": "a" * 32, "head": site.desk.read(visit).head}
    before = site.events(visit)
    page = site.post(to, uid, files={"file": ("day.csv", FILE_1, "text/csv")})
    assert "my tester" not in text_of(page)
    assert site.events(visit) == before
    columns = {"col.1": "of", "col.2": "test", "col.3": "value", "col.4": "unit", "col.5": "time"}
    page = site.send(page, to, **columns, do="look")
    assert "Which test is this?" in text_of(page)
    assert "Save 3 readings" not in text_of(page)
    words = {"t.CONT": "r1r2", "t.INS L-E": "insulation L-E", "t.HUM": "leave out", "o.1": "c1", "o.2": "c2"}
    page = site.send(page, to, **words, shows="10:03:20", true="10:00", leads="long", do="look")
    assert "Save 3 readings" in text_of(page), text_of(page)
    assert "0.47 Ohm" in text_of(page)
    assert site.events(visit) == before
    answer = site.send(page, to, do="keep")
    assert "3 readings saved" in text_of(site.follow(answer))
    assert site.events(visit) == before + 5  # the file, how it is read, three readings
    a = site.desk.assess(visit)
    assert a is not None
    said = taken_in(a.visit.events)
    assert said == [f"day.csv (sha256 {hashlib.sha256(FILE_1).hexdigest()[:16]}…): r1 row 3, r2 row 4, r3 row 5"]
    record = json.dumps(to_json(a), ensure_ascii=False)
    assert f"day.csv, row 3, sha256 {hashlib.sha256(FILE_1).hexdigest()}" in record
    # The same file again: refused row by row, nothing kept. The next file with these columns is read as the last one was.
    page = site.post(to, {"uid": "b" * 32}, files={"file": ("day.csv", FILE_1, "text/csv")})
    page = site.send(
        page, to, **{k: v for k, v in words.items() if k[0] == "o"}, shows="10:03:20", true="10:00", do="keep"
    )
    assert text_of(page).count("taken in before") == 3
    assert site.events(visit) == before + 5
    files = [e for e in site.desk.read(visit).events if e.kind == FILE and e.body["media"] == "text/csv"]
    assert site.desk.content(str(files[0].body["hash"])) == FILE_1
