"""Schema 2: devices that were let in over the network; the photo of a check is a kept file."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table of sessions, and the photo of a check where a book of schema 1 does not have it yet."""
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
    columns = sa.inspect(op.get_bind()).get_columns("inspection_check")
    if "photo" not in {column["name"] for column in columns}:
        with op.batch_alter_table("inspection_check", recreate="always") as table:  # SQLite adds no link in place
            table.add_column(sa.Column("photo", sa.String(length=64), nullable=True), insert_after="looked_at")
            table.create_foreign_key(
                "fk_inspection_check_photo", "kept_file", ["photo"], ["address"], initially="DEFERRED", deferrable=True
            )
            table.create_index("ix_inspection_check_photo", ["photo"], unique=False)
