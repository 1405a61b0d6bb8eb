"""Schema 1: the first book."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make every table, in the order of their links."""
    _about()
    _job()
    _kept_file()
    _private_detail()
    _revision()
    _car_text()
    _changes_text()
    _course_text()
    _driver_text()
    _event()
    _person()
    _rules_text()
    _car()
    _expense()
    _helmet()
    _packed()
    _car_change()
    _entry()
    _inspection_check()
    _loan()
    _log()
    _run()
    _ride_along()


def _about() -> None:
    op.create_table(
        "about",
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_about"),
    )


def _job() -> None:
    op.create_table(
        "job",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("progress", sa.Double(), nullable=False),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=True),
        sa.Column("error", sa.Text(), nullable=True),
        sa.Column("asked_at", sa.DateTime(), nullable=False),
        sa.Column("seen_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
    )
    op.create_index("ix_job_state", "job", ["state"], unique=False)


def _kept_file() -> None:
    op.create_table(
        "kept_file",
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("n_bytes", sa.Integer(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("address", name="pk_kept_file"),
    )


def _private_detail() -> None:
    op.create_table(
        "private_detail",
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("record", sa.String(length=60), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("kind", "record", name="pk_private_detail"),
    )


def _revision() -> None:
    op.create_table(
        "revision",
        sa.Column("number", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("record", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("content", sa.Text(), nullable=True),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_revision"),
        sa.UniqueConstraint("kind", "record", "version", name="uq_revision_kind"),
    )


def _car_text() -> None:
    op.create_table(
        "car_text",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_car_text_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_car_text"),
        sa.UniqueConstraint("revision", name="uq_car_text_revision"),
    )


def _changes_text() -> None:
    op.create_table(
        "changes_text",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_changes_text_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_changes_text"),
        sa.UniqueConstraint("revision", name="uq_changes_text_revision"),
    )


def _course_text() -> None:
    op.create_table(
        "course_text",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_course_text_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_course_text"),
        sa.UniqueConstraint("revision", name="uq_course_text_revision"),
    )


def _driver_text() -> None:
    op.create_table(
        "driver_text",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_driver_text_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_driver_text"),
        sa.UniqueConstraint("revision", name="uq_driver_text_revision"),
    )


def _event() -> None:
    op.create_table(
        "event",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_event_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
        sa.UniqueConstraint("revision", name="uq_event_revision"),
    )
    op.create_index("ix_event_day", "event", ["day"], unique=False)


def _person() -> None:
    op.create_table(
        "person",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("mentor", sa.String(length=60), nullable=True),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["mentor"], ["person.id"], name="fk_person_mentor", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_person_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("revision", name="uq_person_revision"),
    )
    op.create_index("ix_person_mentor", "person", ["mentor"], unique=False)


def _rules_text() -> None:
    op.create_table(
        "rules_text",
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_rules_text_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_rules_text"),
        sa.UniqueConstraint("revision", name="uq_rules_text_revision"),
    )


def _car() -> None:
    op.create_table(
        "car",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("owner", sa.String(length=60), nullable=True),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["owner"], ["person.id"], name="fk_car_owner", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_car_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_car"),
        sa.UniqueConstraint("revision", name="uq_car_revision"),
    )
    op.create_index("ix_car_owner", "car", ["owner"], unique=False)


def _expense() -> None:
    op.create_table(
        "expense",
        sa.Column("event", sa.String(length=60), nullable=True),
        sa.Column("person", sa.String(length=60), nullable=True),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["event"], ["event.id"], name="fk_expense_event", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["person"], ["person.id"], name="fk_expense_person", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_expense_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_expense"),
        sa.UniqueConstraint("revision", name="uq_expense_revision"),
    )
    op.create_index("ix_expense_event", "expense", ["event"], unique=False)
    op.create_index("ix_expense_person", "expense", ["person"], unique=False)


def _helmet() -> None:
    op.create_table(
        "helmet",
        sa.Column("owner", sa.String(length=60), nullable=True),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["owner"], ["person.id"], name="fk_helmet_owner", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_helmet_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_helmet"),
        sa.UniqueConstraint("revision", name="uq_helmet_revision"),
    )
    op.create_index("ix_helmet_owner", "helmet", ["owner"], unique=False)


def _packed() -> None:
    op.create_table(
        "packed",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("person", sa.String(length=60), nullable=True),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_packed_event", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["person"], ["person.id"], name="fk_packed_person", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_packed_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_packed"),
        sa.UniqueConstraint("revision", name="uq_packed_revision"),
    )
    op.create_index("ix_packed_event", "packed", ["event"], unique=False)
    op.create_index("ix_packed_person", "packed", ["person"], unique=False)


def _car_change() -> None:
    op.create_table(
        "car_change",
        sa.Column("event", sa.String(length=60), nullable=True),
        sa.Column("car", sa.String(length=60), nullable=False),
        sa.Column("happened_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["car"], ["car.id"], name="fk_car_change_car", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["event"], ["event.id"], name="fk_car_change_event", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_car_change_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_car_change"),
        sa.UniqueConstraint("revision", name="uq_car_change_revision"),
    )
    op.create_index("ix_car_change_car", "car_change", ["car"], unique=False)
    op.create_index("ix_car_change_event", "car_change", ["event"], unique=False)


def _entry() -> None:
    op.create_table(
        "entry",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("person", sa.String(length=60), nullable=False),
        sa.Column("car", sa.String(length=60), nullable=False),
        sa.Column("helmet", sa.String(length=60), nullable=True),
        sa.ForeignKeyConstraint(["car"], ["car.id"], name="fk_entry_car", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_entry_event"),
        sa.ForeignKeyConstraint(
            ["helmet"], ["helmet.id"], name="fk_entry_helmet", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["person"], ["person.id"], name="fk_entry_person", initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("event", "place", name="pk_entry"),
    )
    op.create_index("ix_entry_car", "entry", ["car"], unique=False)
    op.create_index("ix_entry_helmet", "entry", ["helmet"], unique=False)
    op.create_index("ix_entry_person", "entry", ["person"], unique=False)


def _inspection_check() -> None:
    op.create_table(
        "inspection_check",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("car", sa.String(length=60), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("looked_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["car"], ["car.id"], name="fk_inspection_check_car", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["event"], ["event.id"], name="fk_inspection_check_event", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_inspection_check_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_inspection_check"),
        sa.UniqueConstraint("revision", name="uq_inspection_check_revision"),
    )
    op.create_index("ix_inspection_check_car", "inspection_check", ["car"], unique=False)
    op.create_index("ix_inspection_check_event", "inspection_check", ["event"], unique=False)


def _loan() -> None:
    op.create_table(
        "loan",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("helmet", sa.String(length=60), nullable=False),
        sa.Column("person", sa.String(length=60), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_loan_event", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["helmet"], ["helmet.id"], name="fk_loan_helmet", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["person"], ["person.id"], name="fk_loan_person", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_loan_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_loan"),
        sa.UniqueConstraint("revision", name="uq_loan_revision"),
    )
    op.create_index("ix_loan_event", "loan", ["event"], unique=False)
    op.create_index("ix_loan_helmet", "loan", ["helmet"], unique=False)
    op.create_index("ix_loan_person", "loan", ["person"], unique=False)


def _log() -> None:
    op.create_table(
        "log",
        sa.Column("original", sa.String(length=64), nullable=False),
        sa.Column("channels", sa.String(length=64), nullable=False),
        sa.Column("event", sa.String(length=60), nullable=True),
        sa.Column("person", sa.String(length=60), nullable=True),
        sa.Column("car", sa.String(length=60), nullable=True),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["car"], ["car.id"], name="fk_log_car", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["channels"], ["kept_file.address"], name="fk_log_channels", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_log_event", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["original"], ["kept_file.address"], name="fk_log_original", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name="fk_log_person", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_log_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_log"),
        sa.UniqueConstraint("revision", name="uq_log_revision"),
    )
    op.create_index("ix_log_car", "log", ["car"], unique=False)
    op.create_index("ix_log_channels", "log", ["channels"], unique=False)
    op.create_index("ix_log_event", "log", ["event"], unique=False)
    op.create_index("ix_log_original", "log", ["original"], unique=False)
    op.create_index("ix_log_person", "log", ["person"], unique=False)


def _run() -> None:
    op.create_table(
        "run",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("person", sa.String(length=60), nullable=False),
        sa.Column("car", sa.String(length=60), nullable=True),
        sa.Column("passenger", sa.String(length=60), nullable=True),
        sa.Column("order", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["car"], ["car.id"], name="fk_run_car", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_run_event", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(
            ["passenger"], ["person.id"], name="fk_run_passenger", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name="fk_run_person", initially="DEFERRED", deferrable=True),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_run_revision"),
        sa.PrimaryKeyConstraint("id", name="pk_run"),
        sa.UniqueConstraint("revision", name="uq_run_revision"),
    )
    op.create_index("ix_run_car", "run", ["car"], unique=False)
    op.create_index("ix_run_event", "run", ["event"], unique=False)
    op.create_index("ix_run_passenger", "run", ["passenger"], unique=False)
    op.create_index("ix_run_person", "run", ["person"], unique=False)
    op.create_index("ix_run_sorted", "run", ["event", "person", "order"], unique=False)


def _ride_along() -> None:
    op.create_table(
        "ride_along",
        sa.Column("event", sa.String(length=60), nullable=False),
        sa.Column("run", sa.String(length=60), nullable=True),
        sa.Column("driver", sa.String(length=60), nullable=False),
        sa.Column("passenger", sa.String(length=60), nullable=False),
        sa.Column("id", sa.String(length=60), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["driver"], ["person.id"], name="fk_ride_along_driver", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["event"], ["event.id"], name="fk_ride_along_event", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(
            ["passenger"], ["person.id"], name="fk_ride_along_passenger", initially="DEFERRED", deferrable=True
        ),
        sa.ForeignKeyConstraint(["revision"], ["revision.number"], name="fk_ride_along_revision"),
        sa.ForeignKeyConstraint(["run"], ["run.id"], name="fk_ride_along_run", initially="DEFERRED", deferrable=True),
        sa.PrimaryKeyConstraint("id", name="pk_ride_along"),
        sa.UniqueConstraint("revision", name="uq_ride_along_revision"),
    )
    op.create_index("ix_ride_along_driver", "ride_along", ["driver"], unique=False)
    op.create_index("ix_ride_along_event", "ride_along", ["event"], unique=False)
    op.create_index("ix_ride_along_passenger", "ride_along", ["passenger"], unique=False)
    op.create_index("ix_ride_along_run", "ride_along", ["run"], unique=False)
