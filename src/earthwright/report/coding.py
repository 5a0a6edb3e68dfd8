"""Which code what was judged tends to get: parts without a bond, bonds too small, tests that fail. The inspector decides.

What a code rests on is guidance and custom, not law; every proposal says which, and two honest inspectors may differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve, frozen

from ..base.digits import Kind
from ..base.errors import NoRule
from ..evidence.bond import DISPROVED
from ..outcomes.assessment import BOND, LEAVE, METAL_OHM, NOT_DECIDED, Assessment, BondJudged, PartJudged
from ..outcomes.circuits import ABOVE_USUAL, BY_PARTICULARS, NO_METAL_THERE, OUTDOORS, UNSOUND, TestJudged
from ..outcomes.verdict import FAILS, MEETS, Judged
from ..rules import Edition, RuleBook, clause_of
from ..rules.lookup import standard_sizes
from ..site.bond_chain import looped
from ..site.events import EARTHING, ORIGIN
from ..site.installation import Part
from ..site.ledger import FAR_END, found_faulty
from ..site.tests import BY_NAME, ENDS, called
from .customs import bath, earthing_conductor

CUSTOM = "common practice, no source"
DISCUSSED = "common practice, as inspectors discuss it; not a rule"
CANDIDATES = ("water", "gas", "oil", "heating", "steel")  # parts that are asked about when they have no bond

# Test of a circuit, board or origin that fails its rule → code, what it means.
_FAILED = {t.name: (t.code, t.fails) for t in BY_NAME.values() if t.code}
# One that is coded otherwise, with the name of its requirement.
_REVERSED = ("C1", "polarity of the supply is reversed: danger is present now", "polarity.supply")
_RING_OPEN = ("C2", "a conductor of the ring read open from end to end", "ring.open")
_NO_CPC = ("C2", "no sound protective conductor explains a loop so high", "loop.no-cpc")
_TAILS = (
    "C3",
    "the tails may carry less than the supply fuse lets pass; C2 where they are loaded so or show heat",
    "overload.tails",
)
_OUTDOORS = (
    "C2",
    "equipment used outdoors has no additional protection by a residual current device of 30 mA",
    "additional protection.outdoors",
)
_NO_METAL = (
    "C3",
    "circuit without a protective conductor; C2 with any Class I fitting",
    "protective conductor.no metal",
)
_ZE_HIGH = (
    "C3",
    "Ze is above what is declared or usual for the supply, which is no limit: tell the distributor",
    "ze.declared",
)


@frozen
class Proposed:
    """A code that the tool proposes for something it has judged.

    name     stable short name, e.g. ``bond.disproved``;  about  id of the thing;  where  the thing in words
    because  the reasons, evidence first;  basis  what the choice of code rests on
    rule     the requirement it is by, where that has another name;  clause  its clause in the edition, empty where it holds none
    put_right  it was put right within the visit: recorded with the code of what was found, and it counts no longer
    """

    name: str
    about: str
    where: str
    what: str
    code: str
    because: tuple[str, ...]
    basis: str
    rule: str = ""
    put_right: bool = False
    clause: str = ""

    def cited(self, edition: Edition | None) -> Proposed:
        """The same with its clause from the edition, where it has none yet."""
        return self if self.clause else evolve(self, clause=clause_of(edition, self.rule or self.name))


def edition_of(a: Assessment) -> Edition:
    """The edition of the wiring rules that an assessment was made under. Raises NoRule."""
    return RuleBook.load().wiring_for(a.visit.rules_on, a.visit.choices.edition)


def edition_if_any(a: Assessment) -> Edition | None:
    """The same, None where no edition is known: then no rule was judged either."""
    try:
        return edition_of(a)
    except NoRule:
        return None


# ---- parts and their bonds ----


def parts(a: Assessment) -> Iterator[Proposed]:
    """Parts without a main bond: measured extraneous is C2, not extraneous nothing, not settled is asked about."""
    bonded = {b.part for b in a.visit.site.bonds if not b.supplementary} | set(looped(a.visit.site))
    for judged in a.parts:
        if judged.part.id in bonded or judged.verdict == LEAVE:
            continue
        if judged.verdict == BOND and not _through_metal(judged):
            yield _unbonded(judged)
        elif judged.readings or (judged.part.kind in CANDIDATES and not judged.part.owner):
            yield _unsettled(judged.part, judged)


def _unbonded(judged: PartJudged) -> Proposed:
    part = judged.part
    read = "Read to the MET: " + ", ".join(str(r.shown) for r in judged.readings) + "."
    whose = (f"It belongs to the {part.owner}: nothing is clamped to it without them.",) if part.owner else ()
    return Proposed(
        "part.unbonded",
        part.id,
        part.entry or part.title,
        f"The {part.title} is an extraneous part and has no main bond.",
        "C2",
        (read, f"{judged.rule}.", *whose),
        DISCUSSED,
    )


# What was found of a part that another part's bonding conductor runs on to → code and what the choice rests on.
_RUNS_ON = {"looped.size": "C3", "looped.high": "FI", "looped.open": "C2", "looped.unread": "FI"}


def runs_on(judged: PartJudged) -> Iterator[Proposed]:
    """Codes for a part without a bond of its own that the conductor of another bond runs on to."""
    part = judged.part
    for f in judged.findings:
        if f.family in _RUNS_ON:
            read = (f"Found: {f.found}.",) if f.found else ()
            where = part.entry or part.title
            yield Proposed(f.family, part.id, where, f.what, _RUNS_ON[f.family], (*read, f.do), CUSTOM, "bond.runs-on")


def _through_metal(judged: PartJudged) -> bool:
    """Whether metal answered rather than soil, so that the reading says nothing about the ground."""
    return any(
        r.shown is not None and r.shown.kind is Kind.VALUE and r.shown.value < METAL_OHM for r in judged.readings
    )


def _unsettled(part: Part, judged: PartJudged) -> Proposed:
    what = f"The {part.title} has no main bond, and it was not settled whether it is an extraneous part."
    because = (
        f"{'; '.join(judged.unknown)}." if judged.readings and judged.verdict == NOT_DECIDED else "",
        f"Under {METAL_OHM:g} Ω metal joins it to the MET: find what does, and read again without it."
        if _through_metal(judged)
        else "",
        "Measure whether it is extraneous before it is coded.",
        "A needless bond is not harmless under PME.",
    )
    where = part.entry or part.title
    return Proposed("part.unsettled", part.id, where, what, "FI", tuple(filter(None, because)), CUSTOM)


def undersized(a: Assessment, b: BondJudged, where: str) -> Proposed:
    """A main bond below the size asked for: C3 where it is sound and one standard size short, as old 6 mm² under PME."""
    size, needed = b.size, b.size.needed_mm2
    fitted = b.bond.csa_mm2 if size.fitted_mm2 is None else size.fitted_mm2
    like = (
        "" if b.bond.material == "copper" else f" of {b.bond.material}, which conducts like {fitted:.1f} mm² of copper"
    )
    asked = f"{needed:g} mm²{' of copper' if like else ''} is asked for" if needed is not None else size.judged.why
    least, next_below = _least_bond_mm2(a, needed)
    sound = False
    if least is not None and fitted < least:
        why = "It is below the least size that any main bond has."
    elif least is None or next_below is None or fitted < next_below:
        why = "It is more than one standard size below what is asked for."
    elif b.verdict == DISPROVED:
        why = "It is below the size asked for, and not whole."
    else:
        sound = True
        why = f"It is not below {least:g} mm² and not shown to be broken; signs of heat would make it C2, so look for them."
    what = f"The bond to the {b.part.title} is {b.bond.csa_mm2:g} mm²{like}; {asked}."
    code, basis = ("C3", DISCUSSED) if sound else ("C2", CUSTOM)
    may = f"{size.judged.why}." if size.may_acquit else ""
    return Proposed("bond.size", b.bond.id, where, what, code, tuple(filter(None, (why, may))), basis)


def _least_bond_mm2(a: Assessment, needed: float | None) -> tuple[float | None, float | None]:
    """The least size of any main bond, and the standard size next below what is asked for [mm²]; None if unknown."""
    try:
        edition = edition_of(a)
        least = float(edition.table("bond.main.other").look().number("least"))
        smaller = [s for s in standard_sizes(edition) if needed is not None and s < needed]
    except NoRule:
        return None, None
    return least, max(smaller, default=None)


def looks(a: Assessment) -> Iterator[Proposed]:
    """What a look found faulty and nobody put right: C2 where it earths, bonds or is asked for there, else to be looked into."""
    conductors = {b.id for b in a.visit.site.bonds} | {x.id for x in a.visit.site.links} | {EARTHING}
    required = {
        f"{c.circuit.location.strip()}: {r.what}".casefold(): r.clause
        for c in a.circuits
        for t in c.tests
        for r in t.asked
        if r.by_look
    }
    for look in found_faulty(a.visit.events):
        thing = look.what.removesuffix(FAR_END).partition(":")[0]
        what = f"A look at {look.what} found a fault: {look.seen.rstrip('.')}."
        clause = required.get(look.what.casefold(), "")
        code = "C2" if thing in conductors or clause else "FI"
        because = (f"Seen: {look.seen.rstrip('.')}.",)
        yield Proposed("look", thing, look.what, what, code, because, CUSTOM, clause=clause)


# ---- tests ----


def of_tests(
    tests: Sequence[TestJudged],
    where: str,
    *,
    supply: bool = False,
    loops: Sequence[TestJudged] = (),
    edition: Edition | None = None,
    bonding: Sequence[str] | None = None,
) -> Iterator[Proposed]:
    """A code for each test of one thing that fails; one defect is coded once.

    supply  origin or board, not a circuit;  loops  readings of the same loop elsewhere: Zdb of a board that a circuit feeds
    edition  of the wiring rules, for what custom weighs by its figures
    bonding  outcomes of all supplementary bonding of the same location; None: that of these tests alone
    """
    loop_fails = any(t.test in ("zs", "zdb") and t.outcome == FAILS for t in (*tests, *loops))
    bonded = [t.outcome for t in tests if t.test == "supplementary"] if bonding is None else bonding
    for test in tests:
        coded = _coded(test, supply=supply)
        if coded is None or (test.test == "disconnection" and loop_fails):
            continue  # the loop says it already
        code, meaning, *named = coded
        failing = [j for j in test.judged if j.outcome == FAILS]
        if test.test == "special location" and failing and all(j.limit is None for j in failing):
            continue  # only a look found it, which is coded by itself, once for the place
        more = ""
        if bonded and set(bonded) == {MEETS} and bath(failing):
            code, more = "C3", "Supplementary bonding there was read and meets its rule."
        if test.test == "earthing conductor" and edition is not None:
            code, more = earthing_conductor(test, edition)
        yield _of_test(test, where, code, meaning, failing, more, named[0] if named else "")


def _of_test(
    test: TestJudged, where: str, code: str, meaning: str, failing: Sequence[Judged], more: str, rule: str
) -> Proposed:
    """The code of one test in words, with its digits and the reasons for it; ``more``: what else bears on it."""
    clause = ""
    if test.test in ("special location", "earthing conductor", *BY_PARTICULARS):
        clause = "; ".join(dict.fromkeys(j.limit.clause for j in failing if j.limit is not None))
    what = f"{where}{f', {test.point}' if test.point else ''}: {meaning}."
    because = tuple(x for x in (_digits(test), *(j.why for j in failing or test.judged), more) if x)
    what = what[0].upper() + what[1:]
    return Proposed(f"test.{test.test}", test.of, where, what, code, because, CUSTOM, rule, clause=clause)


def _coded(test: TestJudged, *, supply: bool) -> tuple[str, ...] | None:
    """Code and meaning of a test, and its requirement where that is not the test's own; None where it gets none."""
    if test.test == "ze" and test.reason == ABOVE_USUAL:
        return _ZE_HIGH
    if test.outcome != FAILS:
        return None
    if test.test in ENDS:  # r1 and rn that differ are a question, not a defect
        return _RING_OPEN if any(r.shown is not None and r.shown.kind is Kind.OVER for r in test.readings) else None
    if test.test == "polarity" and supply:
        return _REVERSED
    if any(j.limit is not None and j.limit.what == UNSOUND for j in test.judged):
        return _NO_CPC
    if test.test == "overload" and test.of == ORIGIN:
        return _TAILS
    if any(j.limit is not None and j.limit.what == OUTDOORS and j.outcome == FAILS for j in test.judged):
        return _OUTDOORS
    if test.reason == NO_METAL_THERE:
        return _NO_METAL
    return _FAILED.get(test.test)


def _digits(test: TestJudged) -> str:
    read = [f"{r.shown.as_shown if r.shown else r.outcome} (reading {r.id})" for r in test.readings]
    return f"{called(test.test)}: " + ", ".join(read) if read else ""
