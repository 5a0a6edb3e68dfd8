"""What a document was printed from is found by its hash, and PostgreSQL's guards look events up by index from the first one on."""

import sqlalchemy as sa
from alembic import op

revision = "3"
down_revision = "2"

# A guard keeps the plan that it made while the journal was small, and then reads all of it for every event that comes.
GUARDS = ("journal_follows", "erased_once", "personal_once", "content_once", "personal_goes", "content_goes")


def upgrade() -> None:
    """Make the index, and tell the guards to use the ones there are."""
    sqlite = op.get_bind().dialect.name == "sqlite"
    place = "instr" if sqlite else "strpos"
    op.execute(
        sa.text(
            f'CREATE INDEX event_content ON event (substr(body, {place}(body, \'"content"\\:"\') + 11, 64)) '
            "WHERE kind IN ('issue', 'sign', 'erase')"
        )
    )
    if not sqlite:
        for guard in GUARDS:
            op.execute(sa.text(f"ALTER FUNCTION {guard}() SET enable_seqscan = off"))


def downgrade() -> None:
    """Refused: a journal goes forward only."""
    raise NotImplementedError("a journal goes forward only")
