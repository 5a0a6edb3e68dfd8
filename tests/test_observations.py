"""Codes proposed and decided, observations followed, the overall assessment by edition, deadlines and their calendar."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.desk.demo import judge_demo
from earthwright.outcomes.assessment import Assessment
from earthwright.report.coding import Proposed
from earthwright.report.coding import edition_of as edition
from earthwright.report.duties import calendar, duties, folded
from earthwright.report.observations import Thread, meaning, overall, own_codes_against, propose, threads, unanswered
from earthwright.site.inspection import PERIODIC_ITEMS
from earthwright.site.particulars import Observation
from earthwright.visitbook import read_text

HEAD = "[visit]\nplace = 'Nowhere'\ndate = {date}\n[supply]\nsystem = 'TN-C-S'\npme = true\nneutral_at_most_mm2 = 35\n"


def judged(more: str = "", date: str = "2026-11-20") -> Assessment:
    book = read_text(HEAD.format(date=date) + more)
    assert book.visit is not None
    assert book.findings == (), [f.sentence() for f in book.findings]
    return assess(book.visit)


ITEMS = len(PERIODIC_ITEMS)
WHOLE = (Path(__file__).parent / "paper" / "complete.toml").read_text(encoding="utf-8")


def whole(more: str = "", date: str = "2026-11-20", *, change: dict[str, str] | None = None) -> Assessment:
    """A visit in which everything that a report asks for was inspected and tested, with some of its lines changed."""
    text = WHOLE.replace("date = 2026-11-20", f"date = {date}", 1)
    for line, now in (change or {}).items():
        assert line in text
        text = text.replace(line, now, 1)
    book = read_text(text + more)
    assert book.visit is not None
    assert [f.sentence() for f in book.findings if f.severity is Severity.ERROR] == []
    return assess(book.visit)


def observed(*codes: str) -> str:
    return "".join(f"[[observation]]\nwhat = 'x'\nwhere = 'y'\ncode = '{c}'\n" for c in codes)


def coded(*codes: str, date: str = "2026-11-20") -> Assessment:
    return judged(observed(*codes), date)


# ---- what is proposed ----


def test_the_demo_gets_a_code_for_each_bad_bond_and_none_for_the_good_one() -> None:
    found = {(p.about, p.name): p for p in propose(judge_demo())}
    assert {k: p.code for k, p in found.items()} == {
        ("gas", "bond.disproved"): "C2",
        ("steel", "bond.disproved"): "C2",
        ("steel", "bond.label"): "C3",
    }
    gas = found["gas", "bond.disproved"]
    assert "over-range" in gas.because[0]
    assert "practice" in gas.basis
    assert "source" in gas.basis or "not a rule" in gas.basis


BOND = "[[part]]\nid = 'gas'\nkind = 'gas'\n[[bond]]\npart = 'gas'\ncsa_mm2 = {csa}\nlength_m = 8\n{label}"


@pytest.mark.parametrize(
    ("csa", "codes"),
    [
        (4, {"bond.size": "C2", "bond.not-shown": "FI"}),
        (6, {"bond.size": "C3", "bond.not-shown": "FI"}),
        (10, {"bond.not-shown": "FI"}),
    ],
)
def test_a_bond_below_the_least_of_any_is_c2_and_an_old_6_mm2_is_c3(csa: float, codes: dict[str, str]) -> None:
    """Practice: below 6 mm² C2, 6 mm² under PME C3 or none, 10 mm² nothing about size."""
    assert {p.name: p.code for p in propose(judged(BOND.format(csa=csa, label="")))} == codes


def test_a_missing_label_is_c3_and_an_unknown_one_nothing() -> None:
    assert "bond.label" in {p.name for p in propose(judged(BOND.format(csa=10, label="label = false\n")))}
    assert "bond.label" not in {p.name for p in propose(judged(BOND.format(csa=10, label="")))}


def test_a_pipe_without_bond_is_measured_before_it_is_coded() -> None:
    a = judged(
        "[[part]]\nid = 'w'\nkind = 'water'\n[[part]]\nid = 't'\nkind = 'tank'\n[[part]]\nid = 'g'\nkind = 'gas'\nowner = 'gas transporter'\n"
    )
    assert [(p.about, p.code) for p in propose(a)] == [("w", "FI")]


# ---- the inspector decides ----


def test_a_proposal_without_answer_counts_as_proposed() -> None:
    a = judge_demo()
    assert len(unanswered(a)) == 3
    assert overall(a).proposed == "unsatisfactory"
    assert "3 suggested codes" in overall(a).because


ANSWER = "[[observation]]\nwhat = 'w'\nwhere = 'here'\nabout = 'gas'\ncode = '{code}'\nreason = '{reason}'\n"


def test_an_observation_answers_what_is_no_more_urgent_or_what_it_names_or_all_of_it_with_a_reason() -> None:
    both = BOND.format(csa=6, label="") + ANSWER.format(code="C3", reason="")
    t = threads(judged(both))[0]
    assert {p.name for p in t.proposals} == {"bond.size"}
    assert [p.name for p in unanswered(judged(both))] == ["bond.not-shown"]
    reasoned = BOND.format(csa=6, label="") + ANSWER.format(code="C3", reason="both ends seen, no joint on the way")
    t = threads(judged(reasoned))[0]
    assert {p.name for p in t.proposals} == {"bond.size", "bond.not-shown"}
    assert (t.proposed, t.differs) == ("FI", True)
    assert unanswered(judged(reasoned)) == ()
    one = both + "answers = 'bond.size'\n"
    assert threads(judged(one))[0].proposed == "C3"
    assert [p.name for p in unanswered(judged(one))] == ["bond.not-shown"]


def test_a_label_that_is_missing_does_not_answer_for_an_open_bond() -> None:
    together = 'read = "together"\nbond = "water"\nshown = '
    cut = whole(
        change={"shown = [0.03, 0.03]": 'shown = ["over-range", "over-range"]', f"{together}0.03": f"{together}3.40"}
    )
    assert [p.name for p in unanswered(cut)] == ["bond.disproved"]
    assert overall(cut).proposed == "unsatisfactory"


def test_a_proposed_fi_that_nobody_answered_leaves_the_report_not_decided() -> None:
    lifted = 'off = "water"\n'
    never = whole(change={lifted: 'note = "not lifted"\n', '[[step]]\non = "water"\n': ""})
    assert [p.name for p in unanswered(never)] == ["bond.not-shown"]
    assert overall(never).proposed == ""
    assert "the suggested FI is neither taken up nor dismissed: The bond to the water service" in overall(never).because
    more = "[[observation]]\nwhat = 'w'\nwhere = 'here'\nabout = 'water'\nanswers = 'bond.not-shown'\ncode = 'FI'\n"
    assert overall(whole(more, change={lifted: 'note = "not lifted"\n', '[[step]]\non = "water"\n': ""})).proposed


@pytest.mark.parametrize(
    ("change", "row"),
    [
        (
            {'check = "shorted"\nshown = 0.00\n[[step]]\nclamp': 'check = "shorted"\nshown = 0.06\n[[step]]\nclamp'},
            "1: R1+R2",
        ),
        ({"r1r2 = 0.37": "r1r2 = 0.00"}, "1: R1+R2"),
    ],
)
def test_continuity_whose_digits_do_not_count_bars_satisfactory(change: dict[str, str], row: str) -> None:
    text = WHOLE
    for old, new in change.items():
        assert old in text
        text = text.replace(old, new)
    book = read_text(text)
    assert book.visit is not None
    found = overall(assess(book.visit, found=book.findings))
    assert found.proposed == ""
    assert f"{row} is not decided" in found.because


def test_a_proposal_can_be_turned_down_and_then_does_not_count() -> None:
    a = judged(BOND.format(csa=4, label="") + ANSWER.format(code="none", reason="measured again with the long lead"))
    assert unanswered(a) == ()
    pipe = "[[part]]\nid = 'gas'\nkind = 'gas'\n[[step]]\nread = 'extraneous'\nof = 'gas'\nshown = '300'\n"
    assert overall(whole(pipe)).proposed == "unsatisfactory"
    turned = whole(pipe + ANSWER.format(code="none", reason="joined by the boiler, read again with it off: 40 kΩ"))
    assert overall(turned).proposed == "satisfactory"


@pytest.mark.parametrize(
    ("codes", "date", "word"),
    [
        (("C1",), "2026-11-20", "unsatisfactory"),
        (("C2", "C3"), "2026-11-20", "unsatisfactory"),
        (("FI",), "2026-11-20", "satisfactory"),
        (("FI",), "2026-10-15", "satisfactory"),
        (("FI",), "2026-10-14", "unsatisfactory"),
        (("FI",), "2023-05-01", "unsatisfactory"),
        (("C3",), "2023-05-01", "satisfactory"),
    ],
)
def test_fi_alone_fails_a_report_until_the_edition_in_force_from_15_october_2026(
    codes: tuple[str, ...], date: str, word: str
) -> None:
    """Practice, section 0: under A4 only C1 and C2 make a report unsatisfactory."""
    assert overall(whole(observed(*codes), date)).proposed == word


def test_a_visit_with_nothing_in_it_is_not_satisfactory() -> None:
    empty = overall(judged())
    assert empty.proposed == ""
    assert f"{ITEMS} of the {ITEMS} items of the schedule of inspections have no outcome" in empty.because
    assert "Ze was neither read nor stated" in empty.because
    assert overall(judged('[inspected]\nintake-cable = "acceptable"\n')).proposed == ""


TAILS = 'intake-tails = "acceptable"\n'
ZS = '[[step]]\nread = "zs"\nof = "2"\npoint = "boiler"\nshown = 0.57\n'
LIM = "[[step]]\nread = 'zs'\nof = '2'\nshown = 'LIM'\nnote = 'no access behind the boiler'\n"
BUTTON = '[[step]]\nread = "rcd button"\nof = ["1", "2"]\noutcome = "good"\n'
MCCB = (
    "[[circuit]]\nid = '3'\nboard = 'db1'\ndevice = { standard = 'BS EN 60947-2', rating_a = 200 }\n"
    "[[step]]\nof = '3'\ntest_v = 500\ntests = { r1r2 = 0.05, 'insulation LN-E' = '>299', polarity = 'good', zs = 0.25 }\n"
)


@pytest.mark.parametrize(
    ("change", "more", "word"),
    [
        ({}, "", "satisfactory"),
        ({TAILS: ""}, "", f"not decided: 1 of the {ITEMS} items"),
        ({TAILS: 'intake-tails = "not verified"\n'}, "", "not decided: not verified: intake-tails"),
        ({TAILS: 'intake-tails = "LIM: sealed cupboard"\n'}, "", "satisfactory"),
        ({TAILS: 'intake-tails = "LIM"\n'}, "", "not decided: a limitation without its reason: intake-tails"),
        ({TAILS: 'intake-tails = "N/A"\n'}, "", "satisfactory"),
        ({ZS: ""}, "", "not decided: 2: Zs is missing"),
        ({ZS: LIM}, "", "satisfactory"),
        ({BUTTON: ""}, "", "not decided: 1: RCD button is missing"),
        ({'[[step]]\non = "water"\n': ""}, "", "not decided: water is still off"),
        ({}, MCCB, "not decided: 3: Zs: no rule"),
    ],
)
def test_satisfactory_needs_everything_looked_at_tested_or_a_limitation(
    change: dict[str, str], more: str, word: str
) -> None:
    found = overall(whole(more, change=change))
    said, _, why = word.partition(": ")
    assert (found.proposed or "not decided") == said, found.because
    assert why in found.because
    assert found.differs is (said == "not decided"), "the inspector wrote satisfactory and has to say why"


def test_a_limitation_that_nobody_agreed_to_is_no_ground() -> None:
    silent = {'agreed_with = "the client, by letter of 12 November 2026"\n': "", 'operational = ["none"]\n': ""}
    assert "nobody is said to have agreed" in overall(whole(change={ZS: LIM, **silent})).because


@pytest.mark.parametrize("date", ["2008-06-01", "2011-06-30"])
def test_an_edition_without_codes_in_the_data_decides_nothing(date: str) -> None:
    """The codes of condition reports came in 2011; before that an empty list of codes is not satisfactory."""
    assert overall(whole(date=date)).proposed == ""
    assert "no rule" in overall(whole(date=date)).because


def test_within_the_half_year_of_two_editions_the_chosen_one_counts() -> None:
    a = whole(observed("FI"), "2026-10-14")
    chosen = assess(evolve(a.visit, choices=evolve(a.visit.choices, edition="2018+A4")))
    assert overall(chosen).proposed == "satisfactory"


def test_without_an_edition_nothing_is_called_satisfactory() -> None:
    a = coded("C3", date="1999-01-01")
    assert overall(a).proposed == ""
    assert "no rule" in overall(a).because


def test_a_code_means_what_the_edition_says() -> None:
    assert meaning(edition(coded()), "C1")[0] == "danger present"


# ---- what became of it ----

THREAD = "[[observation]]\nwhat = 'x'\nwhere = 'y'\ncode = 'C2'\nabout = '{about}'\n"
STAGE = "[[observation.then]]\nstage = '{stage}'\non = {on}\n"


def only(a: Assessment, on: str | None = None) -> Thread:
    return threads(a, dt.date.fromisoformat(on) if on else None)[0]


@pytest.mark.parametrize(
    ("stages", "counts", "fault"),
    [
        # in the order of their days: work after a look was looked at by nobody
        ((("confirmed", "2026-11-23", "seen = 'x'"), ("remedied", "2026-11-25", "")), True, ""),
        ((("remedied", "2026-11-22", ""), ("confirmed", "2026-11-23", "seen = 'x'"), ("made safe", "2026-11-25", "")), True, ""),
        ((("remedied", "2026-11-22", ""), ("confirmed", "2026-11-22", "seen = 'x'")), False, ""),
        ((("confirmed", "2026-11-19", "seen = 'x'"),), True, "earlier than the day it was found"),
        ((("overtaken", "2026-11-19", "what = 'x'"),), True, "earlier than the day it was found"),
    ],
)  # fmt: skip
def test_the_last_thing_that_was_done_decides(
    stages: tuple[tuple[str, str, str], ...], counts: bool, fault: str
) -> None:
    said = "".join(STAGE.format(stage=s, on=on) + f"{more}\n" for s, on, more in stages)
    (t,) = threads(judged(THREAD.format(about="") + said), dt.date(2026, 12, 1))
    assert t.counts is counts
    assert (fault in t.faults[0]) if fault else t.faults == ()


@pytest.mark.parametrize(
    ("stage", "more", "counts"),
    [
        ("made safe", "", True),
        ("remedied", "", True),
        ("confirmed", "seen = 'new clamp, bright metal'\n", False),
        ("overtaken", "what = 'the shed was taken down'\n", False),
    ],
)
def test_a_code_counts_until_it_is_confirmed_or_overtaken(stage: str, more: str, counts: bool) -> None:
    a = judged(THREAD.format(about="") + STAGE.format(stage=stage, on="2026-11-25") + more)
    assert only(a, "2026-11-24").counts is True
    assert only(a, "2026-11-24").stage == "found"
    assert only(a, "2026-11-25").stage == stage
    assert only(a, "2026-11-25").counts is counts
    assert only(a).stage == "found", "the report is of its own day"
    b = whole(THREAD.format(about="") + STAGE.format(stage=stage, on="2026-11-25") + more)
    assert overall(b, dt.date(2026, 11, 25)).proposed == ("unsatisfactory" if counts else "satisfactory")


GOOD = """
[[instrument]]
id = "t"
[[leads]]
id = "l"
allowed = "nulled"
null_ohm = 0.2
[[part]]
id = "gas"
kind = "gas"
[[bond]]
part = "gas"
csa_mm2 = 10
length_m = 16
length_tol_m = 1
[[step]]
check = "shorted"
shown = 0.00
[[step]]
check = "open"
shown = "over-range"
[[step]]
isolated = "dead"
[[step]]
off = "gas"
[[step]]
read = "conductor"
bond = "gas"
shown = ["{digits}", "{digits}"]
[[step]]
on = "gas"
[[step]]
check = "shorted"
shown = 0.00
"""


@pytest.mark.parametrize(
    ("digits", "about", "fault"),
    [
        ("0.03", "gas", ""),
        ("over-range", "gas", "does not confirm"),
        ("0.03", "C7", "belongs to gas"),
        ("0.03", "gas'\nanswers = 'bond.size", "say what was seen"),  # no continuity shows a size
    ],
)
def test_a_reading_confirms_only_if_it_proves_that_very_thing(digits: str, about: str, fault: str) -> None:
    confirmed = STAGE.format(stage="confirmed", on="2026-11-20") + "reading = 'r1'\n"
    thread = THREAD.format(about=about) + ("" if "answers" in about else "answers = 'bond.disproved'\n")
    book = read_text(HEAD.format(date="2026-11-20") + GOOD.format(digits=digits) + thread + confirmed)
    assert book.visit is not None
    t = only(assess(book.visit))
    assert t.counts is bool(fault)
    assert (fault in t.faults[0]) if fault else (t.faults == ())


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (STAGE.format(stage="confirmed", on="2026-11-25"), "says by what"),
        (
            STAGE.format(stage="remedied", on="2026-11-25") + STAGE.format(stage="overtaken", on="2026-11-24"),
            "earlier than the stage before",
        ),
        (STAGE.format(stage="confirmed", on="2026-11-25") + "reading = 'r9'\n", "no reading 'r9'"),
        (STAGE.format(stage="mended", on="2026-11-25"), "not one of the words"),
        ("id = '1'\n[[observation]]\nid = '1'\nwhat = 'z'\n", "taken by another"),
        ("then = 3\n", "cannot be read"),
    ],
)
def test_faults_of_a_thread_are_told_with_their_place(more: str, said: str) -> None:
    book = read_text(HEAD.format(date="2026-11-20") + THREAD.format(about="") + more, "v.toml")
    faults = [f for f in book.findings if said in f.what]
    assert faults, [f.what for f in book.findings]
    assert faults[0].line > 7


# ---- deadlines ----


def rented(country: str, codes: tuple[str, ...] = ("C2",), more: str = "", date: str = "2026-11-20") -> Assessment:
    found = "".join(f"[[observation]]\nwhat = 'x'\nwhere = 'y'\ncode = '{c}'\n" for c in codes)
    return judged(f"[report]\nrented = true\ncountry = '{country}'\n{more}" + found, date)


def days(a: Assessment) -> dict[str, dt.date]:
    return {d.what: d.last_day for d in duties(a).due}


def test_the_28_days_run_from_the_inspection_and_count_its_day_in_england() -> None:
    """SI 2020/312, regulation 3(4): 28 days starting with the day of the inspection."""
    found = days(rented("England", more="issued = 2026-12-05\n"))
    assert found["Remedial or investigative work"] == dt.date(2026, 12, 17)
    assert found["Report to tenant"] == dt.date(2026, 12, 18)
    assert found["Next inspection, by law"] == dt.date(2031, 11, 20)


@pytest.mark.parametrize(
    ("shorter", "last"), [(27, dt.date(2026, 12, 16)), (28, dt.date(2026, 12, 17)), (29, dt.date(2026, 12, 17))]
)
def test_a_shorter_period_of_the_report_counts_and_a_longer_one_does_not(shorter: int, last: dt.date) -> None:
    assert days(rented("England", more=f"work_days = {shorter}\n"))["Remedial or investigative work"] == last


def test_no_work_asked_for_starts_no_period_but_an_fi_does() -> None:
    """The law's clock runs for further investigation too, also where FI no longer fails the report."""
    assert "Remedial or investigative work" not in days(rented("England", ("C3",)))
    a = rented("England", ("FI",))
    assert "Remedial or investigative work" in days(a)
    assert overall(whole(observed("FI"))).proposed == "satisfactory"
    assert any("FI" in line for line in duties(a).said)


def test_the_countries_differ_and_what_is_from_memory_says_so() -> None:
    assert days(rented("Northern Ireland"))["Remedial or investigative work"] == dt.date(2026, 12, 17)
    assert "Remedial or investigative work" not in days(rented("Scotland"))
    assert any("sets no periods in days" in line for line in duties(rented("Scotland")).said)
    wales = rented("Wales")
    assert days(wales)["Report to contract-holder"] == dt.date(2026, 11, 26)
    done = rented("Wales", more="", codes=()).visit
    a = judged(
        "[report]\nrented = true\ncountry = 'Wales'\n"
        + THREAD.format(about="")
        + STAGE.format(stage="remedied", on="2026-11-30")
    )
    after = {d.what: d for d in duties(a).due}
    assert after["Confirmation of the work"].memory
    assert done.site.place == "Nowhere"


def test_the_period_after_the_work_runs_once_all_of_it_is_done() -> None:
    two = THREAD.format(about="") + STAGE.format(stage="remedied", on="2026-11-30") + THREAD.format(about="")
    assert "Confirmation to tenant and authority" not in days(
        judged("[report]\nrented = true\ncountry = 'England'\n" + two)
    )
    both = judged(
        "[report]\nrented = true\ncountry = 'England'\n" + two + STAGE.format(stage="remedied", on="2026-12-02")
    )
    assert days(both)["Confirmation to tenant and authority"] == dt.date(2026, 12, 30)


def test_what_is_not_known_is_said_and_no_period_is_invented() -> None:
    assert any("not entered whether the home is rented" in x for x in duties(judged()).said)
    assert any("country is not entered" in x for x in duties(judged("[report]\nrented = true\n")).said)
    assert any("no rule" in x for x in duties(rented("Northern Ireland", date="2024-01-10")).said)
    assert len(duties(judged("[report]\nrented = false\n")).due) == 1, "only the keeping of records"


# ---- calendar ----


def unfolded(text: str) -> list[str]:
    return text.replace("\r\n ", "").split("\r\n")


def test_the_calendar_has_a_whole_day_for_each_duty() -> None:
    a = rented("England")
    text = calendar(a.visit, duties(a))
    assert text == calendar(a.visit, duties(a))
    lines = unfolded(text)
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == len(duties(a).due)
    assert "DTSTART;VALUE=DATE:20261217" in lines
    assert "DTEND;VALUE=DATE:20261218" in lines
    assert len({x for x in lines if x.startswith("UID:")}) == len(duties(a).due)
    assert "\n" not in text.replace("\r\n", "")


def test_texts_of_the_calendar_are_escaped() -> None:
    """RFC 5545, 3.3.11: backslash, semicolon, comma and line break."""
    a = rented("England")
    visit = evolve(a.visit, site=evolve(a.visit.site, place="A;B, C\\D\nEND:VEVENT\x07"))
    lines = unfolded(calendar(visit, duties(a)))
    assert "LOCATION:A\\;B\\, C\\\\D\\nEND:VEVENT " in lines
    assert lines.count("END:VEVENT") == lines.count("BEGIN:VEVENT")


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=300))
def test_folded_lines_are_at_most_75_octets_and_fold_back(text: str) -> None:
    """RFC 5545, 3.1."""
    pieces = folded(text).split("\r\n")
    assert all(len(p.encode()) <= 75 for p in pieces)
    assert all(p.startswith(" ") for p in pieces[1:])
    assert pieces[0] + "".join(p[1:] for p in pieces[1:]) == text


@pytest.mark.parametrize(("length", "pieces"), [(74, 1), (75, 1), (76, 2), (149, 2), (150, 3)])
def test_a_line_is_folded_exactly_when_it_is_too_long(length: int, pieces: int) -> None:
    """75 octets on the first line, 74 and a blank on each that follows."""
    assert len(re.split("\r\n", folded("x" * length))) == pieces


# ---- thin grounds ----

LOOSE = "[[step]]\nlook = '{what}'\nseen = 'clamp loose, green'\nholds = {holds}\n"


@pytest.mark.parametrize(("what", "code"), [("water", "C2"), ("earthing", "C2"), ("water@part", "C2"), ("1:cpc", "FI")])
def test_a_look_that_found_a_fault_is_proposed_until_it_is_put_right(what: str, code: str) -> None:
    """``holds = false`` says that the look found a fault; before, nothing was said of it."""
    bad, good = LOOSE.format(what=what, holds="false"), LOOSE.format(what=what, holds="true")
    repair = f"[[step]]\nrepair = '{what.removesuffix('@part')}'\nremade = 'clamp'\n"
    a = whole(bad)
    assert [(p.code, p.about) for p in propose(a) if p.name == "look"] == [(code, re.split("[@:]", what)[0])]
    assert overall(a).proposed in ("unsatisfactory", "")
    assert [f.severity.value for f in a.findings if f.family == "look.fault"] == ["warning"]
    for settled in (bad + repair, bad + good, good):
        assert "look" not in {p.name for p in propose(whole(settled))}
    assert "look" in {p.name for p in propose(whole(repair + bad))}


def test_a_board_without_a_circuit_and_a_visit_for_bonding_are_no_grounds_for_satisfactory() -> None:
    empty = overall(whole("[[board]]\nid = 'db2'\nname = 'Garage'\n"))
    assert empty.proposed == ""
    assert "no circuit is entered at Garage" in empty.because
    bonding = overall(whole(change={'kind = "periodic"': 'kind = "bonding"'}))
    assert bonding.proposed == ""
    assert "one for bonding" in bonding.because


@pytest.mark.parametrize("end", ["ring r1", "ring rn", "ring r2"])
def test_a_row_that_fails_bars_satisfactory_whether_it_has_a_code_or_not(end: str) -> None:
    ring = (
        "[[circuit]]\nid = '3'\nkind = 'ring'\ndevice = 'BS EN 61009 B32'\nrcd_type = 'A'\nrcd_ma = 30\nline_mm2 = 2.5\ncpc_mm2 = 1.5\n"
        "[[step]]\nof = '3'\ntests = { 'ring r1' = 0.38, 'ring rn' = 0.90, 'ring r2' = 0.63 }\n"
        "[[step]]\ncheck = 'shorted'\nshown = 0.00\n"
    )
    found = overall(whole(ring))
    assert found.proposed != "satisfactory"
    over = re.sub(rf"'{end}' = [0-9.]+", f"'{end}' = 'over-range'", ring)
    a = whole(over)
    assert overall(a).proposed == "unsatisfactory"
    assert [p.code for p in propose(a) if p.about == "3" and p.name in (f"test.{end}", "ring")] == ["C2"]


def test_one_defect_of_a_loop_is_coded_once_and_ze_above_what_is_declared_is_told_and_no_defect() -> None:
    high = whole(change={'point = "far end"\nshown = 0.60': 'point = "far end"\nshown = 9.57'})
    assert [(p.name, p.code) for p in propose(high) if p.about == "1"] == [("test.zs", "C2")]
    rows = {t.test: t.outcome for b in high.boards for c in b.circuits if c.circuit.id == "1" for t in c.tests}
    assert (rows["zs"], rows["disconnection"]) == ("fails", "fails")  # so that something is left out
    ze = whole(change={'method = "two-lead"\nshown = 0.21': 'method = "two-lead"\nshown = 0.41'})
    assert [(p.name, p.code) for p in propose(ze) if p.about == "origin"] == [("test.ze", "C3")]
    assert overall(ze).proposed == "satisfactory"


def test_a_lesser_code_without_its_reason_is_no_decision() -> None:
    """An open bond coded C3 without a word counts as the C2 that is proposed, and asks for the reason."""
    together = 'read = "together"\nbond = "water"\nshown = '
    change = {"shown = [0.03, 0.03]": 'shown = ["over-range", "over-range"]', f"{together}0.03": f"{together}3.40"}
    change["label = false"] = "label = true"
    said = "[[observation]]\nwhat = 'w'\nwhere = 'here'\nabout = 'water'\nanswers = 'bond.disproved'\ncode = 'C3'\n"
    assert overall(whole(said, change=change)).proposed == "unsatisfactory"
    assert overall(whole(said + "reason = 'the pipe is plastic beyond'\n", change=change)).proposed == "satisfactory"


@pytest.mark.parametrize(("code", "against"), [("C1", ("C1",)), ("C2", ("C2",)), ("FI", ()), ("C3", ())])
def test_no_reason_makes_a_report_satisfactory_against_its_own_codes(code: str, against: tuple[str, ...]) -> None:
    """C1 and C2 make it unsatisfactory; FI leaves it undecided under this edition, which asks for a reason; C3 does neither."""
    report = "[report]\noverall = 'satisfactory'\noverall_reason = 'the client wants it'\n"
    assert own_codes_against(judged(report + observed(code))) == against


def test_an_observation_of_something_else_at_a_thing_takes_no_clause_and_no_meaning_from_what_was_suggested_there() -> (
    None
):
    """A missing label at a circuit whose residual current device is missing too is no missing device."""
    p = Proposed(
        "test.additional protection",
        "c1",
        "Hall",
        "Circuit c1: no residual current device.",
        "C3",
        (),
        "",
        clause="411.3.3",
    )
    label = Observation("1", "Label missing at the board.", "hall", "c1", (), "C3")
    of = {
        "proposals": (p,),
        "proposed": "C3",
        "differs": False,
        "stage": "found",
        "since": dt.date(2026, 11, 20),
        "counts": True,
    }
    assert Thread(label, **of).named == ()  # type: ignore[arg-type]
    assert Thread(evolve(label, answers=(p.name,)), **of).named == (p,)  # type: ignore[arg-type]
    assert Thread(evolve(label, what=f"Hall, {p.what}"), **of).named == (p,)  # type: ignore[arg-type]
