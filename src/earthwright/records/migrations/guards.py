"""Triggers that refuse what must not happen to a journal, whoever asks for it.

They are part of version 1 and frozen with it; a later change is a later step with statements of its own.
"""

from __future__ import annotations

KEEPS = "the journal is append-only"
CHAIN = "the event does not follow the last one of the chain"
ERASE = "personal data and files go only by a signed erasure"
ZEROS = "0" * 64

# name of each trigger, for the check that none was taken away
NAMES = (
    "event_follows",
    "event_no_update",
    "event_no_delete",
    "erased_once",
    "erased_no_update",
    "erased_no_delete",
    "personal_once",
    "personal_no_update",
    "personal_delete",
    "content_once",
    "content_no_update",
    "content_delete",
    "link_once",
    "link_no_update",
    "link_no_delete",
)
LAST = "(SELECT hash FROM event ORDER BY no DESC LIMIT 1)"
BREAKS = (
    f"NEW.no <> coalesce((SELECT max(no) FROM event), 0) + 1 OR NEW.prev <> coalesce({LAST}, '{ZEROS}')"
    " OR NEW.seq <> coalesce((SELECT max(seq) FROM event WHERE visit = NEW.visit), 0) + 1"
    " OR EXISTS (SELECT 1 FROM event WHERE id = NEW.id OR hash = NEW.hash)"
)
# What is there already is not written over, and what was erased does not come back.
TWICE = {
    "erased": "EXISTS (SELECT 1 FROM erased WHERE what = NEW.what)"
    " OR NOT EXISTS (SELECT 1 FROM event WHERE id = NEW.event AND kind = 'erase')",
    "personal": "EXISTS (SELECT 1 FROM personal WHERE key = NEW.key)"
    " OR EXISTS (SELECT 1 FROM erased WHERE what = NEW.key)",
    "content": "EXISTS (SELECT 1 FROM content WHERE hash = NEW.hash)",
}


def sqlite_guards() -> list[str]:
    """Statements for SQLite. Those on INSERT also stop INSERT OR REPLACE, which would pass by the others."""

    def trigger(name: str, when: str, table: str, message: str, where: str = "") -> str:
        return f"CREATE TRIGGER {name} BEFORE {when} ON {table} BEGIN SELECT RAISE(ABORT, '{message}'){where}; END"

    return [
        trigger("event_follows", "INSERT", "event", CHAIN, f" WHERE {BREAKS}"),
        *(trigger(f"{t}_once", "INSERT", t, KEEPS, f" WHERE {where}") for t, where in TWICE.items()),
        trigger("event_no_update", "UPDATE", "event", KEEPS),
        trigger("event_no_delete", "DELETE", "event", KEEPS),
        trigger("erased_no_update", "UPDATE", "erased", KEEPS),
        trigger("erased_no_delete", "DELETE", "erased", KEEPS),
        trigger("personal_no_update", "UPDATE", "personal", KEEPS),
        trigger("personal_delete", "DELETE", "personal", ERASE, _not_erased("OLD.key")),
        trigger("content_no_update", "UPDATE", "content", KEEPS),
        trigger("content_delete", "DELETE", "content", ERASE, _not_erased("OLD.hash")),
    ]


def _not_erased(key: str) -> str:
    return f" WHERE NOT EXISTS (SELECT 1 FROM erased WHERE what = {key})"


def postgresql_guards() -> list[str]:
    """The same for PostgreSQL, and TRUNCATE with them."""

    def function(name: str, body: str) -> str:
        return f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$"

    def row(name: str, when: str, table: str, call: str) -> str:
        return f"CREATE TRIGGER {name} BEFORE {when} ON {table} FOR EACH ROW EXECUTE FUNCTION {call}()"

    refuse = f"RAISE EXCEPTION '{KEEPS}';"
    unless = (
        "IF NOT EXISTS (SELECT 1 FROM erased WHERE what = {}) THEN RAISE EXCEPTION '" + ERASE + "'; END IF; RETURN OLD;"
    )
    made = [
        function("journal_keeps", refuse),
        function("journal_follows", f"IF {BREAKS} THEN RAISE EXCEPTION '{CHAIN}'; END IF; RETURN NEW;"),
        *(
            function(f"{t}_once", f"IF {where} THEN RAISE EXCEPTION '{KEEPS}'; END IF; RETURN NEW;")
            for t, where in TWICE.items()
        ),
        *(row(f"{t}_once", "INSERT", t, f"{t}_once") for t in TWICE),
        function("personal_goes", unless.format("OLD.key")),
        function("content_goes", unless.format("OLD.hash")),
        row("event_follows", "INSERT", "event", "journal_follows"),
        row("event_no_update", "UPDATE", "event", "journal_keeps"),
        row("event_no_delete", "DELETE", "event", "journal_keeps"),
        row("erased_no_update", "UPDATE", "erased", "journal_keeps"),
        row("erased_no_delete", "DELETE", "erased", "journal_keeps"),
        row("personal_no_update", "UPDATE", "personal", "journal_keeps"),
        row("personal_delete", "DELETE", "personal", "personal_goes"),
        row("content_no_update", "UPDATE", "content", "journal_keeps"),
        row("content_delete", "DELETE", "content", "content_goes"),
    ]
    made += [
        f"CREATE TRIGGER {t}_no_truncate BEFORE TRUNCATE ON {t} FOR EACH STATEMENT EXECUTE FUNCTION journal_keeps()"
        for t in ("event", "erased", "personal", "content")
    ]
    return made
