"""Schema 2: devices that were let in over the network."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table of sessions."""
    op.create_table(
        "web_session",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=10), nullable=False),
        sa.Column("person", sa.String(length=60), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("used_at", sa.DateTime(), nullable=False),
        sa.Column("ends_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_web_session"),
    )
