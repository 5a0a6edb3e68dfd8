"""Journals that go together: where events stand in the journals of other devices, and in the order of the office."""

import sqlalchemy as sa
from alembic import op

revision = "4"
down_revision = "3"

KEEPS = "the journal is append-only"


def upgrade() -> None:
    """Make the tables; what proves where an event came from is guarded like the events."""
    op.create_table(
        "link",
        sa.Column("device", sa.Text, primary_key=True),
        sa.Column("no", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True, autoincrement=False),
        sa.Column("event", sa.Text, sa.ForeignKey("event.id"), nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("kept_at", sa.Text, nullable=False),
        sa.Column("prev", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("own", sa.Integer, nullable=False),
        sa.Column("seen", sa.Integer, nullable=False),
        sa.Column("ahead_ms", sa.BigInteger, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
    )
    op.create_index("link_event", "link", ["event", "own"])
    op.create_index("link_hash", "link", ["hash"])
    op.create_table(
        "place",
        sa.Column("event", sa.Text, sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("visit", sa.Text, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("seen", sa.Integer, nullable=False),
        sa.UniqueConstraint("visit", "seq"),
    )
    op.create_table(
        "together", sa.Column("name", sa.Text, primary_key=True), sa.Column("value", sa.Text, nullable=False)
    )
    if op.get_bind().dialect.name == "sqlite":
        for when in ("UPDATE", "DELETE"):
            op.execute(
                sa.text(
                    f"CREATE TRIGGER link_no_{when.lower()} BEFORE {when} ON link BEGIN SELECT RAISE(ABORT, '{KEEPS}'); END"
                )
            )
        op.execute(
            sa.text(
                "CREATE TRIGGER link_once BEFORE INSERT ON link BEGIN SELECT RAISE(ABORT, '" + KEEPS + "') WHERE EXISTS"
                " (SELECT 1 FROM link WHERE device = NEW.device AND no = NEW.no); END"
            )
        )
        return
    for when in ("UPDATE", "DELETE"):
        op.execute(
            sa.text(
                f"CREATE TRIGGER link_no_{when.lower()} BEFORE {when} ON link FOR EACH ROW EXECUTE FUNCTION journal_keeps()"
            )
        )
    op.execute(
        sa.text(
            "CREATE TRIGGER link_no_truncate BEFORE TRUNCATE ON link FOR EACH STATEMENT EXECUTE FUNCTION journal_keeps()"
        )
    )
    op.execute(
        sa.text(
            "CREATE FUNCTION link_once() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN IF EXISTS (SELECT 1 FROM link WHERE"
            " device = NEW.device AND no = NEW.no) THEN RAISE EXCEPTION '" + KEEPS + "'; END IF;"
            " RETURN NEW; END $$"
        )
    )
    op.execute(sa.text("CREATE TRIGGER link_once BEFORE INSERT ON link FOR EACH ROW EXECUTE FUNCTION link_once()"))


def downgrade() -> None:
    """Refused: a journal goes forward only."""
    raise NotImplementedError("a journal goes forward only")
