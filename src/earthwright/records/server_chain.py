"""PostgreSQL: a plain entry is chained inside the server, so that many writers do not wait for each other's network.

The function does what :class:`Writer` does, in the same order, under the same lock. It is made anew for each connection
(``pg_temp``), so it belongs to the program and not to the form of the journal; what it writes must have the very
hashes that the program works out, and the tests see to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection

from ..base import limits
from .canon import FORM, LARGEST_BYTES, canonical, parsed
from .event import OWN_KINDS, Draft, Kept
from .personal import Apart, new_apart, set_apart
from .trouble import NotKept
from .writer import FLUSH, LOCK, TEXT_LOOKED_AT

MOST_KNOWN = 2000  # personal values that are remembered by their keys


def _function() -> str:
    return f"""
CREATE OR REPLACE FUNCTION pg_temp.journal_append(
  ids text[], visits text[], kinds text[], bodies text[], ats text[], whos text[],
  needs text[], keys text[], homes text[], fields text[], vals text[], salts text[], head text[])
RETURNS TABLE (r_no bigint, r_seq integer, r_at text, r_kept text, r_prev text, r_hash text) LANGUAGE plpgsql AS $$
DECLARE line text;
BEGIN
  PERFORM set_config('synchronous_commit', 'off', true), pg_advisory_xact_lock({LOCK});
  IF EXISTS (SELECT 1 FROM event WHERE id = ANY(ids))
    OR EXISTS (SELECT 1 FROM unnest(needs) k WHERE NOT EXISTS (SELECT 1 FROM personal p WHERE p.key = k))
    OR EXISTS (SELECT 1 FROM unnest(visits) v, LATERAL (SELECT coalesce(max(seq), 0) s FROM event WHERE visit = v) x
      WHERE s + cardinality(ids) > {limits.VISIT_ENTRIES.most} OR (s - 1) / {TEXT_LOOKED_AT} < (s + cardinality(ids) - 1) / {TEXT_LOOKED_AT})
    OR EXISTS (SELECT 1 FROM unnest(head) h WHERE h IS DISTINCT FROM
      (SELECT hash FROM event WHERE visit = visits[1] ORDER BY seq DESC LIMIT 1)) THEN RETURN;
  END IF;
  INSERT INTO personal (key, visit, field, value, salt) SELECT * FROM unnest(keys, homes, fields, vals, salts);
  SELECT no, hash INTO r_no, r_hash FROM event ORDER BY no DESC LIMIT 1;
  IF NOT FOUND THEN r_no := 0; r_hash := repeat('0', 64); END IF;
  FOR i IN 1 .. cardinality(ids) LOOP
    r_no := r_no + 1;
    r_prev := r_hash;
    SELECT coalesce(max(seq), 0) + 1 INTO r_seq FROM event WHERE visit = visits[i];
    r_kept := to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"');
    r_at := CASE WHEN ats[i] = '""' THEN '"' || r_kept || '"' ELSE ats[i] END;
    line := '{{"at":' || r_at || ',"body":' || bodies[i] || ',"by":' || whos[i] || ',"form":{FORM},"id":"' || ids[i]
      || '","kept_at":"' || r_kept || '","kind":"' || kinds[i] || '","no":' || r_no || ',"prev":"' || r_prev
      || '","seq":' || r_seq || ',"visit":"' || visits[i] || '"}}';
    r_hash := encode(sha256(convert_to(line, 'UTF8')), 'hex');
    r_at := (r_at::json #>> '{{}}');
    INSERT INTO event (no, id, visit, seq, kind, body, at, kept_at, who, prev, hash)
      VALUES (r_no, ids[i], visits[i], r_seq, kinds[i], bodies[i], r_at, r_kept, whos[i], r_prev, r_hash);
    RETURN NEXT;
  END LOOP;
END $$
"""


_CALL = f"SELECT * FROM pg_temp.journal_append({', '.join(['%s::text[]'] * 13)})"
_KNOWN = "SELECT key, visit, field, value, salt FROM personal WHERE visit = %s AND field = %s AND value = %s LIMIT 1"


class Quick:
    """Appends plain entries; remembers the keys of personal values it has met."""

    def __init__(self) -> None:
        self.known: dict[tuple[str, str, str], Apart] = {}

    @staticmethod
    def fits(drafts: Sequence[Draft]) -> bool:
        """Whether these are plain entries, with nothing that must be looked at when the turn has come."""
        return (
            bool(drafts) and all(d.kind not in OWN_KINDS for d in drafts) and len({d.id for d in drafts}) == len(drafts)
        )

    def append(self, connection: Connection, drafts: Sequence[Draft], head: str = "") -> list[Kept]:
        """Keep them all and wait for the disk; nothing is kept and the list is empty when one must be looked at first.

        head  what the last event of the visit must be, where that is asked for
        """
        raw: Any = connection.connection.dbapi_connection
        raw.autocommit = True
        try:
            if not connection.info.get("journal_append"):
                raw.execute(_function())
                connection.info["journal_append"] = True
            rows = self._append(raw, drafts, head)
        finally:
            if raw.closed:
                connection.invalidate()
            else:
                raw.autocommit = False
        return [
            Kept(no, d.id, d.visit, seq, d.kind, parsed(canonical(d.body)), at, kept_at, d.by, prev, hash_)
            for d, (no, seq, at, kept_at, prev, hash_) in zip(drafts, rows, strict=False)
        ]

    def _append(self, raw: Any, drafts: Sequence[Draft], head: str) -> list[tuple[Any, ...]]:
        new: dict[tuple[str, str, str], Apart] = {}
        used: dict[str, None] = {}
        parts = [self._parts(raw, d, new, used) for d in drafts]
        made = list(new.values())
        rows: list[tuple[Any, ...]] = raw.execute(
            _CALL,
            (
                *([getattr(d, n) for d in drafts] for n in ("id", "visit", "kind")),
                [body for body, _ in parts],
                [canonical(d.at) for d in drafts],
                [who for _, who in parts],
                list(used),
                *([getattr(a, n) for a in made] for n in ("key", "visit", "field", "value", "salt")),
                [head] if head else [],
            ),
        ).fetchall()
        if not rows or len(self.known) > MOST_KNOWN:
            self.known.clear()  # a name may have been erased, or the event is there already
        if rows:
            raw.execute(FLUSH)
            self.known |= new
        return rows

    def _parts(
        self, raw: Any, draft: Draft, new: dict[tuple[str, str, str], Apart], used: dict[str, None]
    ) -> tuple[str, str]:
        """Body and sender as they are hashed, with personal values set apart."""

        def reference(field: str, value: str) -> dict[str, str]:
            at = (draft.visit, field, value)
            if at not in self.known and at not in new:
                found = raw.execute(_KNOWN, at).fetchone()
                if found is None:
                    new[at] = new_apart(*at)
                else:
                    self.known[at] = Apart(*found)
            if at in self.known:
                used[self.known[at].key] = None
                return self.known[at].reference
            return new[at].reference

        body = canonical(set_apart(draft.kind, draft.body, reference), draft.kind)
        if (size := len(body.encode())) > LARGEST_BYTES:
            raise NotKept(f"{draft.kind}: expected an entry of at most {LARGEST_BYTES} bytes, found {size}.")
        return body, canonical(reference("by", draft.by) if draft.by else "")
