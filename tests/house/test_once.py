"""What is declared once is not written down again: no literal of the code lists names of a declared family a second time."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from pathlib import Path

from earthwright.evidence.bond import VERDICTS
from earthwright.outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED
from earthwright.paper.kinds import DOCUMENTS
from earthwright.site.particulars import ROLES
from earthwright.site.tables import BY_NAME as TABLES
from earthwright.site.tables import SINGLE
from earthwright.site.tests import BY_NAME as TESTS
from earthwright.visitbook.read import MORE
from earthwright.visitbook.read import TABLES as READ

SRC = Path(__file__).parents[2] / "src" / "earthwright"
FEW = 3  # so many names together are a list of the family
FAMILIES = {
    "tests": frozenset(TESTS),
    "tables": frozenset(TABLES),
    "documents": frozenset(DOCUMENTS),
    "outcomes": frozenset({*VERDICTS, MEETS, FAILS, NOT_DECIDED, NO_RULE}),
    "roles": frozenset(ROLES),
}
# Where a family is declared.
DECLARED = {
    "tests": {"site/tests.py"},
    "tables": {"site/tables.py"},
    "documents": {"paper/kinds.py"},
    "outcomes": {"evidence/bond.py", "outcomes/verdict.py"},
    "roles": {"site/particulars.py"},
}
# Another fact, although it is said with the same names, and why it is another.
OTHER = {
    ("tests", "assess/checks/arithmetic.py"): "which two readings share a conductor, and so must agree",
    ("tests", "assess/checks/habits.py"): "columns long enough to show a figure that was carried down",
    ("tests", "assess/checks/series.py"): "the law of a reading by length and size",
    ("tests", "paper/boards.py"): "the rows of a board on paper",
    ("tests", "paper/fields.py"): "fields of a page, some filled by a reading",
    ("tests", "paper/circuits.py"): "the standing columns of the printed schedule, in its order",
    ("tests", "report/grounds.py"): "what is left open and bars nothing: a choice of the report",
    ("tests", "report/household.py"): "kinds of defect in plain words, some called as the test that finds them",
    ("tests", "site/needs.py"): "which of several tests meets a need",
    ("tests", "site/reading.py"): "functions of an instrument, some called as their test",
    ("tests", "web/drawing/sums.py"): "sums of the sheet of sums, some called as a test",
    ("tables", "evidence/graph/model.py"): "kinds of places and pieces of the graph",
    ("tables", "firm/index.py"): "which entries the office's list is made from",
    ("tables", "firm/names.py"): "which key of an entry names a person who answers for it",
    ("tables", "paper/begin.py"): "tables that a blank book explains line by line",
    ("tables", "paper/differences.py"): "what a paper's rows are of",
    ("tables", "paper/plain.py"): "fields of a notice, some of another table",
    ("tables", "portfolio/flatten.py"): "in which order an id is looked up",
    ("tables", "records/cells.py"): "columns of an export",
    ("tables", "schedule/columns.py"): "columns of the table of circuits",
    ("tables", "schedule/literals.py"): "columns that hold a name",
    ("tables", "site/step.py"): "keys of a step",
    ("tables", "site/tests.py"): "what a test may be of",
    ("tables", "visitbook/paperwork.py"): "who reads a table, and where the things are that a picture may show",
    ("tables", "visitbook/read.py"): "the order of reading and writing, held below to what is declared",
    ("tables", "web/fillfields.py"): "tables whose blanks are asked for field by field",
    ("tables", "web/repair_offer.py"): "the word for a whole thing that was remade",
    ("tables", "web/specs.py"): "tables that are filled in elsewhere than in a form",
    ("tables", "web/views/circuits.py"): "things that stand beside the boards",
    ("tables", "web/views/details.py"): "the order of a page",
    ("tables", "web/views/things.py"): "the page that shows an entry, and ids that count up",
    ("outcomes", "cli/many.py"): "words for counts, for one and for more",
    ("outcomes", "web/signs.py"): "the drawn sign and the tone of each word",
}  # fmt: skip


def _words(items: Iterable[ast.expr | None]) -> set[str]:
    """Texts that stand in a literal, in rows and calls inside it too."""
    found = set()
    for item in items:
        if isinstance(item, ast.Tuple):
            found |= _words(item.elts)
        elif isinstance(item, ast.Call):
            found |= _words(item.args)
        elif isinstance(item, ast.Constant) and isinstance(item.value, str):
            found.add(item.value)
    return found


def _lists(tree: ast.AST) -> Iterator[set[str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Dict):
            yield _words([*node.keys])
            yield _words([*node.values])
        elif isinstance(node, ast.Tuple | ast.List | ast.Set):
            yield _words([*node.elts])


def again() -> set[tuple[str, str]]:
    """Families, and files in which a literal holds several names of one."""
    found = set()
    for file in sorted(SRC.rglob("*.py")):
        name = file.relative_to(SRC).as_posix()
        for words in _lists(ast.parse(file.read_text(encoding="utf-8"))):
            for family, names in FAMILIES.items():
                if len(words & names) >= FEW and name not in DECLARED[family]:
                    found.add((family, name))
    return found


def test_no_literal_lists_a_declared_family_again() -> None:
    assert again() - OTHER.keys() == set()


def test_every_exception_still_stands() -> None:
    assert OTHER.keys() - again() == set()


def test_every_table_that_is_declared_is_read() -> None:
    assert {*READ, *MORE} == {*TABLES, *SINGLE}
