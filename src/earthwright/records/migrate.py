"""Bring a journal to the present form. Forward only; a journal of a later program is refused, never guessed at."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from .trouble import Damaged

VERSION = "4"  # the last step in migrations/versions
VERSIONS = ("1", "2", "3", "4")


def version(connection: Connection) -> str:
    """Version of the journal's form, empty when there is no journal yet. Raises Damaged for somebody else's tables."""
    look = inspect(connection)
    names = {*look.get_table_names(), *look.get_view_names()}  # a reader of an office sees views of the same names
    if "alembic_version" not in names:
        if names & {"event", "personal", "content", "erased"}:
            raise Damaged("These tables were not made as a journal, so they are left alone. Name another database.")
        return ""
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found or "")


def bring_up(connection: Connection, to: str = VERSION) -> None:
    """Make the tables, or take the steps that are missing. Raises Damaged for a version that is not known here."""
    found = version(connection)
    if found == to:
        return
    if found and found not in VERSIONS:
        raise Damaged(
            f"This journal is of version {found}; this program knows up to {VERSION}. Use the later program; nothing was changed."
        )
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, to)
