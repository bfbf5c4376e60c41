"""The calendar written last for each orchard, so that the next one can number what has changed."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "calendars",
        sa.Column("orchard", sa.String(64), primary_key=True),
        sa.Column("advice", sa.String(16), nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
