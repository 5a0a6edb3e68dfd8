"""Over every visit of the suite: one key that cannot be read settles nothing that rests on it, and nothing breaks."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from wide import seeds

from earthwright.assess import assess
from earthwright.base.errors import Severity, VisitBookError
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import overall, propose
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"
BOOKS = sorted([*VISITS.glob("*.toml"), *VISITS.glob("practice/*.toml")])
# Values that a key might have had.
MIGHT_BE = {
    "temp_c": ("-20", "50"),
    "system": ('"TN-S"', '"TT"', '"TN-C-S"'),
    "pme": ("true", "false"),
    "u0_v": ("110", "400"),
    "neutral_at_most_mm2": ("16", "35", "240"),
    "fuse_a": ("60", "400"),
    "ze_ohm": ("0.05", "0.9"),
    "ipf_ka": ("0.6", "20"),
    "earthing_mm2": ("4", "25"),
    "line_mm2": ("1", "4", "25"),
    "null_ohm": ("0.1", "0.3"),
    "allowed": ('"nulled"', '"none"'),
    "csa_mm2": ("4", "10", "25"),
    "length_m": ("3", "25", "90"),
    "device": ('"BS EN 60898 B6"', '"BS EN 60898 D125"', '"BS 3036 30"'),
    "rcd_ma": ("10", "30", "500"),
    "cpc_mm2": ("1", "4", "16"),
    "use": ('"sockets"', '"lighting"', '"fixed"', '"charging point"'),
    "kind": ('"radial"', '"ring"'),
    "test_v": ("250", "500"),
    "shown": ('"0.03"', '"0.9"', '"over-range"', '"25"'),
    "material": ('"copper"', '"aluminium"'),
    "low_ohm": ("0.001", "0.5"),
    "high_ohm": ("0.6", "50"),
    "cpc": ('"core"', '"armour"'),
    "runs": ('"10 m 4/1.5 + 8 m 2.5/1.5"', '"5 m 10/4 method C"', '"2.5 then 1.5/1.0 fused 3 A"'),
    "decision": ('"simple"', '"guarded"'),
    "holds": ("true", "false"),
}
# Found by a campaign of 10,000: what was said in the place of a reading or an electrode that could not be read.
FOUND = (
    ("c08-Zs-cold-between", '[[step]]\nread = "ze"\nmethod = "two-lead"\nshown = ', '"0.30"', '"?"'),
    ("d02-TT-island-rod-off", '[[electrode]]\nid = "rod"\nlength_m = ', "2.4", '"x"'),
)
ODD = (
    '""', '"x"', "true", "-1", "0", "1e300", "inf", "nan", "[]", "{}", "[[1]]", '"0.00"', "999", '"good"', "2026-11-20",
    '"\\u202e"', '["a", "a"]', "{ a = 1 }", '"c1"', '"water"', '"all"', '"LIM"', '"-0.01"', '"200+"', '"+"', '","', '"0,47"',
)  # fmt: skip


def judged(text: str) -> tuple[Assessment | None, bool]:
    """What came out, and whether an entry was in error."""
    book = read_text(text, "visit.toml")
    wrong = any(f.severity is Severity.ERROR for f in book.findings)
    return (assess(book.visit, found=book.findings, broken=book.broken) if book.visit else None), wrong


def settled(a: Assessment) -> dict[tuple[str, ...], str]:
    rows = [*a.origin, *(t for e in a.electrodes for t in e.tests)]
    found: dict[tuple[str, ...], str] = {}
    for b in a.boards:
        rows += [*b.tests, *(t for c in b.circuits for t in c.tests)]
        for c in b.circuits:
            found |= {(kind, c.circuit.id): j.verdict for kind, j in (("cpc", c.cpc), ("ring", c.ring)) if j}
    for bond in a.bonds:
        found["bond", bond.bond.id] = bond.verdict
        found["size", bond.bond.id] = bond.size.judged.outcome
        found["joint", bond.bond.id] = bond.joint.outcome
    found |= {("part", p.part.id): p.verdict for p in a.parts}
    found |= {("row", t.of, t.test, t.point): t.outcome for t in rows}
    return {k: v for k, v in found.items() if v not in ("not shown", "not decided", "no rule")}


@pytest.mark.parametrize("seed", seeds(60))
def test_what_is_settled_without_a_key_is_so_whatever_the_key_says(seed: int) -> None:
    rng = random.Random(seed)
    lines = rng.choice(BOOKS).read_text("utf-8").splitlines()
    place = rng.choice([i for i, line in enumerate(lines) if line.partition("=")[0].strip() in MIGHT_BE])
    key = lines[place].partition("=")[0].strip()

    def with_it(value: str) -> str:
        return "\n".join([*lines[:place], f"{key} = {value}", *lines[place + 1 :]]) + "\n"

    a, told = judged(with_it("{ odd = 1 }"))
    assert told
    assert a is not None
    held = settled(a)
    for value in MIGHT_BE[key]:
        known, wrong = judged(with_it(value))
        if known is None or wrong:
            continue
        said = settled(known)
        assert {k: (v, said[k]) for k, v in held.items() if said.get(k, v) != v} == {}, (key, value)


@pytest.mark.parametrize(("visit", "before", "was", "now"), FOUND)
def test_a_loop_rests_on_the_origin_and_on_the_electrodes(visit: str, before: str, was: str, now: str) -> None:
    """Both said *fails* where the entry, read, says *meets*: neither is known while it cannot be read."""
    text = (VISITS / "practice" / f"{visit}.toml").read_text("utf-8")
    assert before + was in text
    sound, _ = judged(text)
    a, told = judged(text.replace(before + was, before + now))
    assert told
    assert a is not None
    assert sound is not None
    rows = {("row", "c1", test, "") for test in ("zs", "disconnection")} & set(settled(sound))
    assert ("row", "c1", "zs", "") in rows
    assert {settled(sound)[r] for r in rows} == {"meets"}
    assert not rows & set(settled(a))


def odd_book(seed: int) -> str:
    """A visit with up to four lines or tables changed, left out, doubled or put where they do not belong."""
    rng = random.Random(seed)
    lines = rng.choice(BOOKS).read_text("utf-8").splitlines()
    for _ in range(rng.randint(1, 4)):
        keys = [i for i, line in enumerate(lines) if "=" in line]
        heads = [i for i, line in enumerate(lines) if line.startswith("[")]
        i, head, how = rng.choice(keys), rng.choice(heads), rng.randrange(5)
        key = lines[i].partition("=")[0].strip()
        if how == 0:
            lines[i] = f"{key} = {rng.choice(ODD)}"
        elif how == 1:
            del lines[i]
        elif how == 2:
            lines[i] = lines[i].replace(key, key[:-1] + "x", 1)
        elif how == 3:
            end = next((x for x in heads if x > head), len(lines))
            lines[end:end] = lines[head:end]
        else:
            strange = rng.choice(("id", "of", "point", "tests", "off", "on", "note", "phases", "device", "usual", "at"))
            lines.insert(head + 1, f"{strange} = {rng.choice(ODD)}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", seeds(80))
def test_an_odd_book_never_breaks_anything(seed: int) -> None:
    try:
        a, _ = judged(odd_book(seed))
    except VisitBookError:
        return
    if a is not None:
        propose(a)
        overall(a)


DOTTED = (
    'visit.place = "x"\nvisit.date = 2026-11-20\nsupply.u0_v = 230\nbond.part = "x"\nstep.read = "zs"\n',
    "visit = 3\n",
    "visit = []\n",
    '[visit.place]\na = 1\n',
    '[visit]\nplace = "x"\ndate = 2026-11-20\n[board]\nid = "b"\n[board.rcd.x]\ny = 1\n',
    '[visit]\nplace = "x"\ndate = 2026-11-20\n[circuit.c1]\nid = "x"\n',
    '[visit]\nplace = "x"\ndate = 2026-11-20\n[[board]]\nid = "b"\nlive = ["x"]\nphases = {}\n[[circuit]]\nid = {}\nboard = [1]\n',
    '[visit]\nplace = "x"\ndate = 2026-11-20\n[report]\nissued.x = 1\n[[sign]]\nat = 3\n[danger]\nx.y.z = 1\n',
)  # fmt: skip


@pytest.mark.parametrize("text", DOTTED)
def test_dotted_keys_and_tables_in_odd_places_are_told(text: str) -> None:
    a, told = judged(text)
    assert told or a is not None
