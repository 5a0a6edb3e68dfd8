"""Single cells: where they stand, what a spreadsheet may have made of them, and how text is kept from being a formula."""

from __future__ import annotations

import re

from ..base.errors import Finding, Severity

_FORMULA = "=+\\-@＝＋－＠"
# At the beginning of a cell, or where another separator would make one begin.
_BEGINS = re.compile(rf"(^|[;\t\r\n])([ \"]*)('*)(?=[{_FORMULA}])")
_ESCAPED = re.compile(rf"(^|[;\t\r\n])([ \"]*)'('*)(?=[{_FORMULA}])")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec)[a-z]*"
_DATE = re.compile(
    rf"\d{{1,4}}[-/.]\d{{1,2}}[-/.]\d{{1,4}}(?:[ T].*)?|\d{{1,2}}[-/ .]?{_MONTH}(?:[-/ .]*\d{{2,4}})?"
    rf"|{_MONTH}[-/ .]*\d{{1,4}}|\d{{1,2}}/\d{{1,4}}|\d{{1,2}}:\d{{2}}(?::\d{{2}})?(?:\s*[ap]m)?",
    re.IGNORECASE,
)
_SHEET_ERROR = re.compile(r"#(?:REF!|N/A|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!|#+)", re.IGNORECASE)
_TRUTH = re.compile(r"true|false|wahr|falsch|vrai|faux|verdadero|falso|vero", re.IGNORECASE)
_EXPONENT = re.compile(r"[+-]?\d+(?:[.,]\d+)?e[+-]?\d+", re.IGNORECASE)
_NUMBER = re.compile(r"(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?")
LONGEST = 2000


def address(row: int, column: int) -> str:
    """Where a cell stands as a spreadsheet names it; both counted from 1: (14, 4) → ``D14``."""
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"


def kept_from_formulas(text: str) -> str:
    """A text that no spreadsheet takes for a formula: an apostrophe before ``= + - @`` where a cell may begin."""
    return _BEGINS.sub(r"\1\2'\3", text)


def as_it_was(text: str) -> str:
    """The text without the apostrophes that :func:`kept_from_formulas` put in."""
    return _ESCAPED.sub(r"\1\2\3", text)


def spoilt(text: str) -> str:
    """What a spreadsheet has made of a value, as a sentence; empty when nothing is to be seen."""
    if _SHEET_ERROR.fullmatch(text):
        return "This is a spreadsheet's error, not a value."
    if _TRUTH.fullmatch(text):
        return "This is a truth value, not what was measured or entered."
    if _DATE.fullmatch(text):
        return "This looks like a date or a time that a spreadsheet has made of something else."
    if _EXPONENT.fullmatch(text):
        return "This is a number in powers of ten, as a spreadsheet writes it when digits are lost."
    return ""


def wrong_number(text: str) -> str:
    """What is wrong with a plain number, as a sentence; empty when it is one."""
    if made := spoilt(text):
        return made
    if "," in text:
        return "A comma may be a decimal or a thousands mark, so it is not guessed; type a point."
    if _NUMBER.fullmatch(text):
        return ""
    if text[:1] == "-" or text[:1] == "\u2212":
        return "This cannot be negative."
    if re.fullmatch(r"0[0-9]+(\.[0-9]*)?", text):
        return "A number does not begin with a nought before other digits."
    if re.match(r"[0-9.]+\s*[^0-9.\s]", text):
        return "The unit stands at the head of the column and not in the cell."
    return "This is not a number."


def fault(cell: str, header: str, what: str, expected: str, found: str, do: str = "", entry: str = "") -> Finding:
    """A finding about one cell; it voids what the cell says."""
    where = f"{cell} ({header})" if header else cell
    return Finding(where, what, Severity.ERROR, "input.cell", entry, expected, found[:80], do)
