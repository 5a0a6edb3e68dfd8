"""Who acts, by the login of a PostgreSQL journal that has roles (``roles``)."""

from __future__ import annotations

from sqlalchemy import Connection, text


def login_of(connection: Connection) -> str:
    """The login that acts, where the journal has an owner that the login is not; empty without roles, and for the owner."""
    query = """SELECT session_user FROM pg_class c WHERE c.oid = to_regclass('event') AND c.relkind = 'r'
        AND NOT pg_has_role(session_user, c.relowner, 'MEMBER')"""
    return str(connection.execute(text(query)).scalar() or "")
