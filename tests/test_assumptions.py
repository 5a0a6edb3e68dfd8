"""What a visit assumes otherwise than usual reaches every place it is used, keeps its bounds, and is said everywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.evidence.graph.lengths import length_band
from earthwright.evidence.priors import Model
from earthwright.evidence.ring.model import Priors
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import page_of
from earthwright.paper.kinds import DOCUMENTS
from earthwright.report.record import as_text
from earthwright.site.assumptions import LENGTH_TOLERANCE, USUAL, Assumptions
from earthwright.site.fields import Field, fields_of
from earthwright.visitbook import ReadBook, read_text

ROOT = Path(__file__).parents[1]
VISITS = ROOT / "tests" / "visits"
RING, NETWORK = "08-ring-broken-cpc.toml", "30-one-graph.toml"


OPTIONS = fields_of(Assumptions)


def book(name: str, more: str = "") -> ReadBook:
    text = (VISITS / name).read_text(encoding="utf-8")
    return read_text(f"{text}\n[assumptions]\n{more}" if more else text)


def judged(name: str, more: str = "") -> Assessment:
    read = book(name, more)
    assert read.visit is not None
    assert not [f for f in read.findings if f.severity is Severity.ERROR]
    return assess(read.visit, found=read.findings, whole_site=False)


def test_the_usual_ones_are_those_of_the_models() -> None:
    assert Model.of(USUAL) == Model()
    assert Priors.of(USUAL) == Priors()
    assert USUAL.said() == ""
    for o in OPTIONS:
        assert o.least <= o.default <= o.most, o.name
        assert o.label, o.name
        assert o.help, o.name


@pytest.mark.parametrize("option", OPTIONS, ids=lambda o: o.name)
def test_each_keeps_its_bounds_and_says_so(option: Field) -> None:
    for value, good in (
        (option.least, True),
        (option.most, True),
        (option.least / 2, False),
        (option.most * 1.5, False),
    ):
        read = book(RING, f"{option.name} = {value!r}")
        told = [f for f in read.findings if f.severity is Severity.ERROR]
        assert bool(told) != good, value
        assert read.visit is not None
        assert getattr(read.visit.choices.assumptions, option.name) == (value if good else option.default)
        if told:
            assert told[0].where == f"assumptions: {option.name}"
            assert f"{option.least:g}" in told[0].expected or f"{option.most:g}" in told[0].expected
    # What would make proof cheap goes no further than a fifth, and the threshold of a verdict only rises.
    assert next(o for o in OPTIONS if o.name == "decide").least == USUAL.decide
    assert all(o.least >= o.default / 5 for o in OPTIONS if "lead" in o.name or "touch" in o.name or o.name == "slip")


def test_an_unknown_one_is_refused() -> None:
    assert [f for f in book(RING, "make_lo = 0.9").findings if f.severity is Severity.ERROR]


@pytest.mark.parametrize("name", [RING, NETWORK])
def test_the_make_of_conductors_is_the_visits_everywhere(name: str) -> None:
    """Every sum and every band; ``0.93`` stands in none of them any more."""
    usual, moved = as_text(judged(name)), as_text(judged(name, "make_low = 0.88"))
    for form in ("0.93 to 1", "× 0.93"):
        assert form in usual
        assert form not in moved
        assert form.replace("0.93", "0.88") in moved
    low = [
        [b["expected"][0]["copper"]["low"] for b in json.loads(t)["bonds"]]
        + [
            t["expected"]["low"]
            for c in json.loads(t)["boards"][0]["circuits"]
            for t in c["tests"]
            if t.get("expected")
        ]
        for t in (usual, moved)
    ]
    assert all(b == pytest.approx(a * 0.88 / 0.93) or b <= a for a, b in zip(*low, strict=True))
    assert low[0] != low[1]


@pytest.mark.parametrize(
    ("name", "key", "value", "where"),
    [
        (NETWORK, "slip", 0.03, "slip"),
        (NETWORK, "gross", 0.005, "gross"),
        (NETWORK, "no_other_path", 0.2, "path_absent"),
        (NETWORK, "joint_ohm", 0.02, "joint_ohm"),
        (NETWORK, "decide", 3.0, "decide"),
        (NETWORK, "wrong_allowance", 0.02, "wrong_allowance"),
    ],
)
def test_the_chances_are_the_visits_for_bonds_circuits_and_the_network(
    name: str, key: str, value: float, where: str
) -> None:
    a = judged(name, f"{key} = {value}")
    assert getattr(a.model, where) == value
    models = [b.evidence.model for b in a.bonds]
    models += [c.cpc.evidence.model for b in a.boards for c in b.circuits if c.cpc is not None and c.cpc.evidence]
    assert len(models) > 3
    own = ("joint_ohm", "path_absent")  # of a point of a circuit other metal and connections are known otherwise
    assert {getattr(m, where) for m in models[: len(a.bonds) if where in own else None]} == {value}


def test_metal_at_a_point_and_poor_joints_of_circuits_are_the_visits() -> None:
    a = judged(
        NETWORK, "poor_cpc_ohm = 0.3\nalone_else = 0.7\nalone_heating = 0.4\nalone_fixed = 0.6\nmetal_gone = 0.3"
    )
    found = [c.cpc.evidence.model for b in a.boards for c in b.circuits if c.cpc is not None and c.cpc.evidence]
    assert found
    assert {m.extra_ohm[0] for m in found} == {0.3}
    assert {m.path_absent for m in found} <= {0.7, 0.4, 0.6, 0.3, 0.8}
    ring = Priors.of(evolve(USUAL, poor_cpc_ohm=0.3, lead_off=0.02))
    assert (ring.extra_ohm[0], ring.readings.lead_off) == (0.3, 0.02)


def test_what_was_changed_is_said_on_the_record_on_paper_and_among_the_findings() -> None:
    a = judged(NETWORK, "slip = 0.03")
    said = "was taken with all connected: 0.03, usually 0.01"
    assert [f for f in a.findings if f.family == "assumptions.changed" and said in f.what]
    assert '"slip": 0.03' in as_text(a)
    for document in DOCUMENTS:
        assert any(said in str(x) for x in page_of(a, document)["editions"]), document
    assert not [f for f in judged(NETWORK).findings if f.family == "assumptions.changed"]


def test_a_length_without_a_tolerance_has_one_and_the_same() -> None:
    assert LENGTH_TOLERANCE == 0.10
    assert length_band(20.0) == (18.0, 22.0)
    assert length_band(20.0, 1.0) == (19.0, 21.0)
    told = [
        f"{p.name}: {line.strip()}"
        for p in (ROOT / "src").rglob("*.py")
        for line in p.read_text(encoding="utf-8").splitlines()
        if re.search(r"length_tol_m or 0\b|0\.[12] \* \w*\.?length_m|\b0\.93\b(?!.*insulation)|0\.07\b.*make", line)
        and p.name != "assumptions.py"
    ]
    assert told == []
