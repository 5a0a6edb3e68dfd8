"""Every difference between a record and its readings is named once, with both values, and nothing that is none."""

from __future__ import annotations

import io
from typing import Any

import pikepdf
from forged import attach, attached, rewritten
from test_verify import TODAY, document, words

from earthwright.assess import assess
from earthwright.desk.demo import visit_text
from earthwright.paper.differences import differences
from earthwright.paper.verify import verdicts, verify
from earthwright.report.record import to_json
from earthwright.visitbook import read_text

AGAIN = "\n".join(
    ["", '[[board]]\nid = "db1"', *(f'[[circuit]]\nid = "{n}"\nboard = "db1"\nkind = "radial"' for n in (1, 2))]
) + "".join(
    f'\n[[step]]\nread = "insulation"\nof = "{n}"\nbetween = "{pair}"\nshown = "{shown}"\n'
    for n in (1, 2)
    for pair in ("L-E", "L-N")
    for shown in ("0.40", ">299", "180", "0.2")
)


def record_of(text: str) -> Any:
    read = read_text(text)
    assert read.visit is not None
    return to_json(assess(read.visit, found=read.findings, broken=read.broken))


def test_two_readings_of_one_thing_are_two() -> None:
    """Their verdicts shared a key: the last one hid the others on one side, the first on the other."""
    record = record_of(visit_text() + AGAIN)
    tests = [v for k, v in verdicts(record).items() if "insulation" in k]
    assert len(tests) == 4, "two circuits, each between two pairs of conductors"
    assert verdicts(record) == verdicts(record_of(visit_text() + AGAIN))
    assert differences(record, record_of(visit_text() + AGAIN)) == []


def test_one_turned_outcome_is_named_and_nothing_else() -> None:
    text = visit_text() + AGAIN
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(text, "letter"))) as pdf:
        record = attached(pdf, "record.json")
        turned = next(t for t in record["boards"][0]["circuits"][1]["tests"] if t["outcome"] == "fails")
        turned["outcome"] = "meets"
        rewritten(pdf, record)
        pdf.save(out)
    said = words(verify(out.getvalue(), TODAY), "record and readings")
    assert "1 values differ:" in said
    assert "outcome: meets in the record, fails from the readings" in said


def test_a_changed_entry_comes_first_with_both_values() -> None:
    book = visit_text()
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(book, "letter"))) as pdf:
        attach(pdf, "visit.toml", book.replace("length_m = 16", "length_m = 61").encode())
        pdf.save(out)
    said = words(verify(out.getvalue(), TODAY), "record and readings")
    first = said.partition("values differ: ")[2].split(";")[0]
    assert first == "bond water, length_m: 16.0 in the record, 61.0 from the readings"


def test_every_difference_is_named_once() -> None:
    a, b = record_of(visit_text()), record_of(visit_text().replace("shown = 0.31", "shown = 0.32"))
    found = [d.words for d in differences(a, b)]
    assert len(found) == len(set(found))
    assert sum("shown" in w for w in found) == 1


def test_an_entry_more_or_less_moves_no_other() -> None:
    a = record_of(visit_text() + AGAIN)
    b = record_of(visit_text() + AGAIN + '\n[[circuit]]\nid = "3"\nboard = "db1"\nkind = "radial"\n')
    added = [d for d in differences(a, b) if d.rank == 0]
    assert [d.words for d in added] == ["circuit 3: nothing in the record, Circuit from the readings"]
