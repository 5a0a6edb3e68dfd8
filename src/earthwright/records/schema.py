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

# Where events stand in the journals of other devices, as they proved it when they sent them: one row an event and device.
# With the texts of the event it gives that journal's own hash. Never updated, never deleted.
link = Table(
    "link",
    META,
    Column("device", Text, primary_key=True),
    Column("no", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    Column("event", Text, ForeignKey("event.id"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("kept_at", Text, nullable=False),
    Column("prev", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("own", Integer, nullable=False),  # 1: that device made it
    Column("seen", Integer, nullable=False),  # of its visit: up to which of the others' events that device knew
    Column("ahead_ms", BigInteger, nullable=False),  # how far the device's clock was ahead when it sent it
    Column(
        "body", Text, nullable=False
    ),  # the texts as that device holds them, where it keeps names under keys of its own
    Column("who", Text, nullable=False),
    Index("link_event", "event", "own"),
    Index("link_hash", "hash"),
)

# In a journal that goes with an office: the office's order of a visit's events. Asked for anew whenever it is in doubt.
place = Table(
    "place",
    META,
    Column("event", Text, ForeignKey("event.id"), primary_key=True),
    Column("visit", Text, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("hash", Text, nullable=False),
    Column("device", Text, nullable=False),  # that made it, empty: the office itself
    Column("seen", Integer, nullable=False),
    UniqueConstraint("visit", "seq"),
)

# Who this journal is to others, which office it goes with, and which devices may send.
together = Table("together", META, Column("name", Text, primary_key=True), Column("value", Text, nullable=False))

TABLES = (event, personal, content, erased, link, place, together)
