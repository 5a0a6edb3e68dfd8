"""Who acts, by the login of a PostgreSQL journal that has roles (``roles``)."""

from __future__ import annotations

from sqlalchemy import Connection, text


def login_of(connection: Connection) -> str:
    """The login that acts, where the journal has an owner that the login is not; empty without roles, for the owner, and for
    a server at which people sign in."""
    query = """SELECT session_user FROM pg_class c WHERE c.oid = to_regclass('event') AND c.relkind = 'r'
        AND NOT pg_has_role(session_user, c.relowner, 'MEMBER') AND NOT EXISTS (SELECT 1 FROM pg_roles r
        WHERE r.rolname = regexp_replace(pg_get_userbyid(c.relowner), '_owner$', '_server')
        AND pg_has_role(session_user, r.oid, 'MEMBER'))"""
    return str(connection.execute(text(query)).scalar() or "")
