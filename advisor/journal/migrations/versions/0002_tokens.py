"""The tokens of those who may ask the service: their hashes, beside the records and apart from their chain."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "tokens",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("grants", sa.Text, nullable=False),
        sa.Column("purpose", sa.String(16), nullable=False),
        sa.Column("created", sa.String(32), nullable=False),
        sa.Column("revoked", sa.String(32)),
    )
