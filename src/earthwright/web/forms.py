"""What was typed → an entry of the visit book; what is wrong with it → words at the field, all at once."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from attrs import evolve, field, frozen
from starlette.datastructures import FormData, UploadFile

from ..base.errors import Finding, Severity
from ..site.at import of_finding
from ..site.tables import SINGLE
from ..visitbook.read import read_tables, title_of
from .specs import SPECS, specs_of
from .words import say
from .work import Opened, plain_body


@frozen
class Clash:
    """One field that two wrote: what is typed here, what stands now, and by whom."""

    mine: str
    theirs: str
    by: str


@frozen
class Typed:
    """A form as it came back: its texts as typed, and the errors by field (``""``: the form as a whole).

    clashes  the fields that somebody else wrote since the form was made, with both values
    """

    values: Mapping[str, str] = field(factory=dict)
    errors: Mapping[str, tuple[str, ...]] = field(factory=dict)
    clashes: Mapping[str, Clash] = field(factory=dict)

    @property
    def told(self) -> bool:
        """Whether it shows what was written since, so that sending it again rests on what stands now."""
        return bool(self.clashes or "conflict" in self.errors)

    def of(self, do: str) -> Typed:
        """Itself for the form of a page that was sent, an empty one for the others."""
        return self if self.values.get("do", "") == do else Typed()

    def value(self, name: str, otherwise: object = "") -> str:
        """What was typed in a field, else what stood there before."""
        if name in self.values:
            return self.values[name]
        return "" if otherwise is None else str(otherwise)

    def wrong(self, name: str) -> tuple[str, ...]:
        """What is wrong with a field."""
        return self.errors.get(name, ())


def texts(form: FormData) -> dict[str, str]:
    """The text fields of a form; characters that no text may hold are taken out, nothing else is changed."""
    found: dict[str, str] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            continue
        clean = "".join(c for c in value if c in "\n\t" or (c.isprintable() and c != "\ufffe"))
        found[name] = clean.strip() if name not in found else f"{found[name]}\n{clean.strip()}"
    return found


def digits_of(form: Mapping[str, str], step: str = "0.01") -> str:
    """The display of an entry: what was typed, or the key that was pressed for what is no number."""
    key = form.get("key", "")
    if key == "over":
        return "over-range"
    if key == "zero":  # as it stands on the display
        return re.sub(r"[1-9]", "0", step)
    return f"<{step}" if key == "below" else form.get("shown", "")


def step_errors(opened: Opened, body: dict[str, object]) -> dict[str, tuple[str, ...]]:
    """What is wrong with a step, by field; read exactly as the visit book would read it, without reading the rest."""
    if opened.a is None:
        return {"": (say("wrong.no_visit"),)}
    return by_field(opened.kept.reader.faults(body))


def table_errors(
    opened: Opened | None, kind: str, body: dict[str, object], instead_of: str = ""
) -> dict[str, tuple[str, ...]]:
    """What is wrong with an entry of the site (a part, a bond, a circuit …), read together with the rest."""
    tables: dict[str, list[dict[str, object]]] = {}
    for e in opened.kept.entries if opened else ():
        # An observation may name a reading, so it is read with the steps; nothing else rests on them.
        if e.struck is None and e.id != instead_of and (e.kind != "step" or kind == "observation"):
            tables.setdefault(e.kind, []).append(plain_body(e))
    if kind in SINGLE:
        tables.pop(kind, None)
    before = len(tables.get(kind, []))
    tables.setdefault(kind, []).append(body)
    title = kind if kind in SINGLE else title_of(kind, before, body)
    whole = {k: (v[-1] if k in SINGLE else v) for k, v in tables.items()}
    whole.setdefault("visit", {"place": "–", "date": "2026-11-25"})
    read = read_tables(whole, "")
    titles = (kind, title, f"{kind} {before + 1}")
    mine = [m for f in read.findings if (m := _of_entry(f, kind, titles))]
    if body.get("id") and not instead_of:  # what had the id first must not be broken by what takes it now
        taken = {f"{other}{title.removeprefix(kind)}: id" for other in tables}
        mine += [evolve(f, where=f"{kind}: id") for f in read.findings if f.where in taken]
    return by_field(mine, [s.key for s in specs_of(kind, body)] if kind in SPECS else ())


def _of_entry(finding: Finding, kind: str, titles: Sequence[str]) -> Finding | None:
    """A finding at an entry with one of the titles, placed under its kind alone: an id that was typed may hold a colon."""
    for title in titles:
        rest = finding.where.removeprefix(title)
        if finding.where.startswith(title) and (not rest or rest.startswith(":")):
            return evolve(finding, where=f"{kind}{rest}")
    return None


def by_field(findings: Sequence[Finding], fields: Sequence[str] = ()) -> dict[str, tuple[str, ...]]:
    """Errors by the last key of their place: ``step 3: shown`` belongs to the field ``shown``.

    fields  names of fields whose keys stand in a table of their own: ``board db1: switch: poles`` is ``switch.poles``
    """
    found: dict[str, list[str]] = {}
    for f in findings:
        if f.severity is not Severity.ERROR:
            continue
        key = f.where.rpartition(": ")[2] if ": " in f.where else ""
        dotted = of_finding(f).key
        # What is wrong with such a table as a whole stands at its first field.
        key = dotted if dotted in fields else next((x for x in fields if dotted and x.startswith(f"{dotted}.")), key)
        sentence = " ".join(
            x for x in (f.what, say("wrong.expected", expected=f.expected) if f.expected else "", f.do) if x
        )
        found.setdefault(key, []).append(sentence)
    return {k: tuple(dict.fromkeys(v)) for k, v in found.items()}
