"""Schema 3: what came of a job stands apart from the job, so that lists of jobs do not read every answer."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Move results to a table of their own."""
    op.create_table(
        "job_result",
        sa.Column("job", sa.String(length=60), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_job_result_job", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("job", name="pk_job_result"),
    )
    kept = op.get_bind().execute(sa.text("SELECT id, result FROM job WHERE result IS NOT NULL")).all()
    with op.batch_alter_table("job", recreate="always") as table:
        table.drop_column("result")
        table.create_index("ix_job_kind", ["kind"], unique=False)
    for job, content in kept:
        op.get_bind().execute(
            sa.text("INSERT INTO job_result (job, content) VALUES (:job, :content)"), {"job": job, "content": content}
        )
