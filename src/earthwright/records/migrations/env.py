"""Alembic's entry: the connection comes from :mod:`earthwright.records.migrate`, never from a file."""

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, transactional_ddl=True)
context.run_migrations()
