"""What a document still lacks and a form can take, as fields with words to tap: usual ones, and the inspector's own."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping

from attrs import evolve, field, frozen

from ..outcomes.assessment import Assessment
from ..records.replay import EntryNow
from ..site.at import At
from ..site.tables import SINGLE
from .lacks import entry_of, key_in_form, lacks
from .spec import Spec
from .specs import SPECS, choices_of, value_of
from .words import say
from .work import Opened, plain_body

TABLES = ("visit", "supply", "report", "origin", "board", "instrument")
AT_ONCE = 12  # fields on one page; the rest come when these are saved
MOST_CHIPS = 8  # choices beyond that are a list
# No paper asks for these, and sizes of earthing and bonding cannot be judged without them.
JUDGED = ("system", "pme", "line_mm2", "neutral_at_most_mm2")
YEARS = (1, 5, 10)
# Who the contractor is does not change from job to job: put in, to be seen before it is saved.
CONTRACTOR = (
    ("visit", "firm"), ("report", "firm_address"), ("report", "firm_phone"), ("report", "firm_body"),
    ("report", "firm_number"), ("report", "supervisor"),
)  # fmt: skip


@frozen
class Ask:
    """One field: where it is kept, how it is asked for, the words beside it.

    name   of its input;  value  what stands in it to begin with
    puts   value and word of each chip beside it, and as JSON what it puts into other fields that are empty
    many   several of the choices may be chosen
    """

    name: str
    table: str
    entry: EntryNow | None
    spec: Spec
    label: str
    value: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    puts: tuple[tuple[str, ...], ...] = ()
    many: bool = False


@frozen
class Known:
    """What was written before and is proposed.

    habits   the inspector's own words, by table and field;  clients  by name, what belongs to each, by key of the report
    """

    habits: Mapping[tuple[str, str], tuple[str, ...]] = field(factory=dict)
    clients: Mapping[str, Mapping[str, str]] = field(factory=dict)


def asks(found: Opened, a: Assessment, document: str, known: Known, today: dt.date) -> list[Ask]:
    """The fields that a document lacks, in the order of its pages, each once."""
    habits = known.habits
    made: dict[str, Ask] = {}
    wanted = [x for lack in lacks(found, a, document) if (x := _place(found, lack.at)) is not None]
    if wanted:
        supply = found.single("supply")
        wanted = [*(("supply", supply, k) for k in JUDGED), *wanted]
        wanted += [(t, found.single(t), k) for t, k in CONTRACTOR if habits.get((t, k))]
    for table, entry, key in wanted:
        spec = next((s for s in SPECS[table] if s.key == key), None)
        name = f"{table}:{entry.id if entry else ''}:{key}"
        standing = value_of(spec, plain_body(entry)) if spec and entry else ""
        if spec is None or name in made or (standing and key != "not_present"):
            continue
        made[name] = _ask(found, a, name, table, entry, spec, habits.get((table, key), ()), today)
    return [_of_client(x, known.clients, a.visit.client, made) for x in made.values()]


def _of_client(x: Ask, clients: Mapping[str, Mapping[str, str]], client: str, made: Mapping[str, Ask]) -> Ask:
    """A field with what is known of the client: their particulars, or while nobody is named the clients there were."""
    if x.table == "report" and x.spec.client:
        return evolve(x, value=x.value or clients.get(client, {}).get(x.spec.key, ""))
    if (x.table, x.spec.key) != ("visit", "client"):
        return x
    fields = {y.spec.key: f"f-{y.name}" for y in made.values() if y.table == "report" and not y.choices}
    also = {n: {fields[k]: v for k, v in words.items() if k in fields} for n, words in clients.items()}
    return evolve(x, puts=tuple((n, n, json.dumps(also[n])) for n in clients))


def _place(found: Opened, at: At) -> tuple[str, EntryNow | None, str] | None:
    """Table, entry and key of a field that is missing; None where something else is missing than a field."""
    entry = entry_of(found, at)
    known = at.table in TABLES and not at.test and not at.new and (entry or at.table in SINGLE)
    return (at.table, entry, key_in_form(at)) if known else None


def _ask(
    found: Opened,
    a: Assessment,
    name: str,
    table: str,
    entry: EntryNow | None,
    spec: Spec,
    own: tuple[str, ...],
    today: dt.date,
) -> Ask:
    choices = choices_of(spec, a, table)
    label, value, many = spec.label(table), "", False
    puts = tuple((w, w) for w in dict.fromkeys((*own, *spec.puts)))
    if (table, spec.key) in CONTRACTOR and own:
        value = own[0]
    if spec.key == "not_present":
        choices, many = tuple((w, say(f"choice.service_{w}")) for w in _parts(a)), True
        label = say("fill.not_present")
    if spec.kind == "date":
        puts = ()
        if spec.key in ("issued", "completed"):
            value = (today if spec.key == "issued" else a.visit.date).isoformat()
        if spec.key == "next_by":
            puts = tuple((_later(a.visit.date, n).isoformat(), say("fill.years", count=n)) for n in YEARS)
    if table == "board" and entry:
        label = f"{label}, {entry.body.get('name') or entry.body.get('id')}"
    return Ask(name, table, entry, spec, label, value, choices, puts, many)


def _parts(a: Assessment) -> list[str]:
    """Kinds of part that nothing says are there or not."""
    known = {*a.visit.paperwork.origin.not_present, *(p.kind for p in a.visit.site.parts)}
    return [k for k in ("water", "gas", "oil", "steel", "lightning") if k not in known]


def _later(day: dt.date, years: int) -> dt.date:
    """The last day of an interval of whole years."""
    same = day.replace(day=28) if (day.month, day.day) == (2, 29) else day
    return same.replace(year=same.year + years) - dt.timedelta(days=1)
