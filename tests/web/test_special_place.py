"""What a special location asks for is answered by a tap on the page of any of its circuits."""

from __future__ import annotations

from asked import Site, forms_of, text_of

from earthwright.desk import Desk

BOOK = """
[visit]
place = "4 Test Row"
date = 2026-11-20
kind = "periodic"
inspector = "J. Example"
[supply]
system = "TN-C-S"
pme = true
[[board]]
id = "db1"
[usual]
device = "BS EN 61009 B32"
rcd_ma = 30
rcd_type = "A"
location = "bathroom"
[[circuit]]
id = "sh"
use = "shower"
[[circuit]]
id = "fan"
use = "fixed"
"""


def tap(site: Site, base: str, what: str, holds: str) -> int:
    """One of the three buttons beside a requirement on the page of the shower."""
    page = site.get(f"{base}/circuits/sh")
    fields = next(f["fields"] for f in forms_of(page.text) if f["fields"].get("look") == f"bathroom: {what}")
    return site.post(f"{base}/steps", {**fields, "holds": holds}).status_code


def test_one_tap_answers_for_every_circuit_of_the_place(site: Site, desk: Desk) -> None:
    base = f"/v/{desk.take_in(BOOK)}"
    said = text_of(site.get(f"{base}/circuits/sh"))
    assert said.index("not stated: zone 0") < said.index("not stated: socket-outlets") < said.index("supplementary")
    for holds, outcome in (("no", "fails"), ("yes", "meets"), ("open", "not decided")):
        assert tap(site, base, "zone 0", holds) in (200, 303)
        for circuit in ("sh", "fan"):
            said = text_of(site.get(f"{base}/circuits/{circuit}"))
            assert f"{outcome}: zone 0" in said
            assert "not stated: socket-outlets" in said
        if holds == "no":
            assert "bathroom: zone 0 found a fault" in text_of(site.get(f"{base}/findings"))
