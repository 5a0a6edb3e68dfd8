"""The journal: events, personal data, contents of files, erasures, and the triggers that guard them."""

import sqlalchemy as sa
from alembic import op

from earthwright.records.migrations.guards import postgresql_guards, sqlite_guards

revision = "1"
down_revision = None


def upgrade() -> None:
    """Make the tables and their guards."""
    op.create_table(
        "event",
        sa.Column("no", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True, autoincrement=False),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("visit", sa.Text, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("kept_at", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("prev", sa.Text, nullable=False, unique=True),
        sa.Column("hash", sa.Text, nullable=False, unique=True),
        sa.UniqueConstraint("visit", "seq"),
    )
    op.create_table(
        "personal",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("visit", sa.Text, nullable=False),
        sa.Column("field", sa.Text, nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.Column("salt", sa.Text, nullable=False),
    )
    op.create_index("personal_visit", "personal", ["visit", "field"])
    op.create_table(
        "content",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("bytes", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "erased",
        sa.Column("what", sa.Text, primary_key=True),
        sa.Column("event", sa.Text, sa.ForeignKey("event.id"), nullable=False),
    )
    guards = sqlite_guards() if op.get_bind().dialect.name == "sqlite" else postgresql_guards()
    for statement in guards:
        op.execute(sa.text(statement))


def downgrade() -> None:
    """Refused: a journal goes forward only."""
    raise NotImplementedError("a journal goes forward only")
