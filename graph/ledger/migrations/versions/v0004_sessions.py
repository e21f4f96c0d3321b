"""Sessions of browsers that have signed in, so that signing out ends them for good."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "sessions",
        sa.Column("key", sa.String(64), primary_key=True),
        sa.Column("token_id", sa.String(36), nullable=False),
        sa.Column("until", sa.BigInteger, nullable=False),
    )
    op.create_index("sessions_token_id", "sessions", ["token_id"])
