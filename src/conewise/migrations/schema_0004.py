"""Schema 4: who waits for a job, so that one who leaves does not stop it for the others."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table of askers; a job that is not over is the laptop's."""
    op.create_table(
        "job_asker",
        sa.Column("job", sa.String(length=60), nullable=False),
        sa.Column("device", sa.String(length=64), nullable=False),
        sa.Column("slot", sa.String(length=60), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_job_asker_job", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("job", "device", "slot", name="pk_job_asker"),
    )
    op.execute(
        "INSERT INTO job_asker (job, device, slot) SELECT id, '', '' FROM job WHERE state IN ('waiting', 'running')"
    )
