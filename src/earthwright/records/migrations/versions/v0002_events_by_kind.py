"""Events are found by their kind, so that the list of visits stays quick in a large journal."""

from alembic import op

revision = "2"
down_revision = "1"


def upgrade() -> None:
    """Make the index."""
    op.create_index("event_kind", "event", ["kind", "visit"])


def downgrade() -> None:
    """Refused: a journal goes forward only."""
    raise NotImplementedError("a journal goes forward only")
