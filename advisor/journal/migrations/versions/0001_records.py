"""The chain of records, and the end of it."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


_BY_BYTES = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # one order on every database


def upgrade() -> None:
    op.create_table(
        "records",
        sa.Column("position", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("orchard", _BY_BYTES, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("ref", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("previous", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
    )
    op.create_index("records_by_orchard", "records", ["orchard", "kind", "position"])
    op.create_index("records_by_ref", "records", ["kind", "ref"])
    head = op.create_table(
        "head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("records", sa.BigInteger, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
    )
    op.bulk_insert(head, [{"id": 1, "records": 0, "hash": "0" * 64}])
