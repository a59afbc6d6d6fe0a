"""The tables: numbers, quotes, revisions, what they sell, what happened."""

import sqlalchemy as sa
from alembic import op

from quotelib.register.tables import ExactNumber, Utc

revision = "1"
down_revision = None


def upgrade() -> None:
    """Make them."""
    op.create_table(
        "counters",
        sa.Column("year", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("last", sa.Integer, nullable=False),
    )
    op.create_table(
        "quotes",
        sa.Column("number", sa.String, primary_key=True),
        sa.Column("year", sa.Integer, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("enquiry_id", sa.String, nullable=False),
        sa.Column("customer", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("outcome", sa.String, nullable=False),
        sa.Column("follow_up", sa.Date),
        sa.UniqueConstraint("year", "position", name="one_number_once"),
        sa.UniqueConstraint("enquiry_id", "customer", name="one_quote_an_enquiry"),
    )
    op.create_table(
        "revisions",
        sa.Column("number", sa.String, sa.ForeignKey("quotes.number"), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("record", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("content", sa.String(64), nullable=False),
        sa.Column("date", sa.Date, nullable=False),
        sa.Column("valid_until", sa.Date, nullable=False),
        sa.Column("state", sa.String, nullable=False),
        sa.Column("net", ExactNumber, nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("margin_pct", ExactNumber),
        sa.Column("given_by", sa.String, nullable=False),
        sa.Column("moment", Utc, nullable=False),
        sa.PrimaryKeyConstraint("number", "revision"),
    )
    op.create_table(
        "parts",
        sa.Column("number", sa.String, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("sku", sa.String, nullable=False),
        sa.Column("quantity", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("number", "revision", "sku"),
        sa.ForeignKeyConstraint(["number", "revision"], ["revisions.number", "revisions.revision"]),
    )
    op.create_table(
        "events",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("number", sa.String, sa.ForeignKey("quotes.number"), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("kind", sa.String, nullable=False),
        sa.Column("value", sa.String, nullable=False),
        sa.Column("note", sa.String, nullable=False),
        sa.Column("done_by", sa.String, nullable=False),
        sa.Column("moment", Utc, nullable=False),
    )
    op.create_index("events_of_a_quote", "events", ["number"])
