"""The tables of the journal, the same in SQLite and PostgreSQL. How they come to be: ``migrations``."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

META = MetaData()

# One row an event. Never updated, never deleted: triggers refuse both. ``no`` counts from 1 without a gap.
event = Table(
    "event",
    META,
    Column("no", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("id", Text, nullable=False, unique=True),
    Column("visit", Text, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("kept_at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("prev", Text, nullable=False, unique=True),
    Column("hash", Text, nullable=False, unique=True),
    UniqueConstraint("visit", "seq"),
    Index("event_kind", "kind", "visit"),
)

# Names and addresses stand apart, so that they can go while the chain stays whole. Deleted only after an erase event.
personal = Table(
    "personal",
    META,
    Column("key", Text, primary_key=True),
    Column("visit", Text, nullable=False),
    Column("field", Text, nullable=False),
    Column("value", Text, nullable=False),
    Column("salt", Text, nullable=False),
    Index("personal_visit", "visit", "field"),
)

# Photos and files, once each, by their hash. Deleted only after an erase event.
content = Table(
    "content",
    META,
    Column("hash", Text, primary_key=True),
    Column("size", Integer, nullable=False),
    Column("bytes", LargeBinary, nullable=False),
)

# What a signed erasure took out: keys of ``personal``, hashes of ``content``. Never updated, never deleted.
erased = Table(
    "erased",
    META,
    Column("what", Text, primary_key=True),
    Column("event", Text, ForeignKey("event.id"), nullable=False),
)

TABLES = (event, personal, content, erased)
