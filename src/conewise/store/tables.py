"""The tables of the book: what is so now, with its links; and every version that ever was.

A record's content stands once, as JSON, in its latest row of `revision`. The table of its kind says which row that is,
and repeats what the database itself must know: links to other records, and what lists are sorted by.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import DateTime, ForeignKey, Index, MetaData, String, Text, TypeDecorator, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

if TYPE_CHECKING:
    from sqlalchemy import Dialect

MOST_ID = 60  # letters of an id
SHA256 = 64  # letters of a content address

_NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}


class Moment(TypeDecorator[datetime]):
    """A moment with its time zone, kept in UTC."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """UTC without a zone, as databases keep it."""
        del dialect
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """UTC."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)


class Row(DeclarativeBase):
    """A row of any table of the book."""

    metadata = MetaData(naming_convention=_NAMES)


class About(Row):
    """What the book says of itself, such as the version of the program that made it."""

    __tablename__ = "about"

    key: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class Revision(Row):
    """One version of one record: never changed, never removed. Without content: the record was removed then."""

    __tablename__ = "revision"
    __table_args__ = (UniqueConstraint("kind", "record", "version"),)

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=True)
    kind: Mapped[str] = mapped_column(String(20))
    record: Mapped[str] = mapped_column(String(MOST_ID))
    version: Mapped[int]
    at: Mapped[datetime] = mapped_column(Moment)
    by: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)
    content: Mapped[str | None] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(String(SHA256))  # of all of it but the number


class PrivateDetail(Row):
    """Medical and contact details of one record: kept without history, so that what is taken out is gone."""

    __tablename__ = "private_detail"

    kind: Mapped[str] = mapped_column(String(20), primary_key=True)
    record: Mapped[str] = mapped_column(String(MOST_ID), primary_key=True)
    content: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(String(SHA256))


class KeptFile(Row):
    """A file beside the database, called by the SHA-256 of its content."""

    __tablename__ = "kept_file"

    address: Mapped[str] = mapped_column(String(SHA256), primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    n_bytes: Mapped[int]
    added_at: Mapped[datetime] = mapped_column(Moment)


def _link(table: str, *, optional: bool = False) -> Any:
    """A column that holds the id of another record. Checked when the transaction ends, so that any order will do."""
    target = ForeignKey(f"{table}.id", deferrable=True, initially="DEFERRED")
    return mapped_column(String(MOST_ID), target, index=True, nullable=optional)


def _file(*, optional: bool = False) -> Any:
    target = ForeignKey("kept_file.address", deferrable=True, initially="DEFERRED")
    return mapped_column(String(SHA256), target, index=True, nullable=optional)


class RecordRow(Row):
    """What is so now of one record: its version, and the revision that has its content."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(String(MOST_ID), primary_key=True)
    version: Mapped[int]

    @declared_attr
    @classmethod
    def revision(cls) -> Mapped[int]:
        """Number of the revision that has the content."""
        return mapped_column(ForeignKey("revision.number"), unique=True)

    @declared_attr.directive
    @classmethod
    def __mapper_args__(cls) -> dict[str, Any]:
        """A row is only changed while it has the version that was read."""
        return {"version_id_col": cls.__table__.c.version, "version_id_generator": False}


class PersonRow(RecordRow):
    """A driver, passenger, mentor or helper."""

    __tablename__ = "person"

    name: Mapped[str] = mapped_column(Text)
    mentor: Mapped[str | None] = _link("person", optional=True)


class HelmetRow(RecordRow):
    """A helmet; without an owner it is the club's."""

    __tablename__ = "helmet"

    owner: Mapped[str | None] = _link("person", optional=True)


class CarRow(RecordRow):
    """A car as it comes to events."""

    __tablename__ = "car"

    name: Mapped[str] = mapped_column(Text)
    owner: Mapped[str | None] = _link("person", optional=True)


class EventRow(RecordRow):
    """An event day."""

    __tablename__ = "event"

    name: Mapped[str] = mapped_column(Text)
    day: Mapped[date] = mapped_column(index=True)


class EntryRow(Row):
    """Who drives what at an event; repeats the event's own entries, so that their links hold."""

    __tablename__ = "entry"

    event: Mapped[str] = mapped_column(String(MOST_ID), ForeignKey("event.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    person: Mapped[str] = _link("person")
    car: Mapped[str] = _link("car")
    helmet: Mapped[str | None] = _link("helmet", optional=True)


class LoanRow(RecordRow):
    """Who has which of the club's helmets at an event."""

    __tablename__ = "loan"

    event: Mapped[str] = _link("event")
    helmet: Mapped[str] = _link("helmet")
    person: Mapped[str] = _link("person")


class CheckRow(RecordRow):
    """One look at one item of the inspection."""

    __tablename__ = "inspection_check"

    event: Mapped[str] = _link("event")
    car: Mapped[str] = _link("car")
    item: Mapped[str] = mapped_column(Text)
    looked_at: Mapped[datetime]  # by the clock of the event
    photo: Mapped[str | None] = _file(optional=True)


class CarChangeRow(RecordRow):
    """Something on a car that asks for another look."""

    __tablename__ = "car_change"

    event: Mapped[str | None] = _link("event", optional=True)
    car: Mapped[str] = _link("car")
    happened_at: Mapped[datetime]  # by the clock of the event


class RunRow(RecordRow):
    """One run."""

    __tablename__ = "run"
    __table_args__ = (Index("ix_run_sorted", "event", "person", "order"),)

    event: Mapped[str] = _link("event")
    person: Mapped[str] = _link("person")
    car: Mapped[str | None] = _link("car", optional=True)
    passenger: Mapped[str | None] = _link("person", optional=True)
    order: Mapped[int]


class RideAlongRow(RecordRow):
    """Someone rode along."""

    __tablename__ = "ride_along"

    event: Mapped[str] = _link("event")
    run: Mapped[str | None] = _link("run", optional=True)
    driver: Mapped[str] = _link("person")
    passenger: Mapped[str] = _link("person")


class ExpenseRow(RecordRow):
    """Money spent."""

    __tablename__ = "expense"

    event: Mapped[str | None] = _link("event", optional=True)
    person: Mapped[str | None] = _link("person", optional=True)
    day: Mapped[date]


class PackedRow(RecordRow):
    """One line of a packing list."""

    __tablename__ = "packed"

    event: Mapped[str] = _link("event")
    person: Mapped[str | None] = _link("person", optional=True)
    item: Mapped[str] = mapped_column(Text)


class CarTextRow(RecordRow):
    """A car file, whole."""

    __tablename__ = "car_text"


class CourseTextRow(RecordRow):
    """A course file, whole."""

    __tablename__ = "course_text"


class DriverTextRow(RecordRow):
    """A driver file, whole."""

    __tablename__ = "driver_text"


class RulesTextRow(RecordRow):
    """A rule set, whole."""

    __tablename__ = "rules_text"


class ChangesTextRow(RecordRow):
    """A list of changes, whole."""

    __tablename__ = "changes_text"


class LogRow(RecordRow):
    """A recording: the file as it came, and its channels."""

    __tablename__ = "log"

    original: Mapped[str] = _file()
    channels: Mapped[str] = _file()
    event: Mapped[str | None] = _link("event", optional=True)
    person: Mapped[str | None] = _link("person", optional=True)
    car: Mapped[str | None] = _link("car", optional=True)


class WebSessionRow(Row):
    """A device that was let in over the network. Changed in place; without history; never in a backup."""

    __tablename__ = "web_session"

    id: Mapped[str] = mapped_column(String(SHA256), primary_key=True)  # digest of what the device shows
    device: Mapped[str] = mapped_column(Text)  # what it is called
    role: Mapped[str] = mapped_column(String(10))
    person: Mapped[str] = mapped_column(String(MOST_ID))  # whose it is; empty: nobody's
    made_at: Mapped[datetime] = mapped_column(Moment)
    used_at: Mapped[datetime] = mapped_column(Moment)
    ends_at: Mapped[datetime] = mapped_column(Moment)


class JobRow(Row):
    """Long work: what was asked, and how far it is. Changed in place; without history."""

    __tablename__ = "job"

    id: Mapped[str] = mapped_column(String(MOST_ID), primary_key=True)
    kind: Mapped[str] = mapped_column(String(40), index=True)
    state: Mapped[str] = mapped_column(String(10), index=True)
    asked: Mapped[str] = mapped_column(Text)  # JSON
    progress: Mapped[float]
    message: Mapped[str] = mapped_column(Text)
    error: Mapped[str | None] = mapped_column(Text)  # JSON, as every face shows an error
    asked_at: Mapped[datetime] = mapped_column(Moment)
    seen_at: Mapped[datetime] = mapped_column(Moment)  # last sign of life


class JobAsker(Row):
    """Who waits for a job that is not over: a device, with the place on its page. The last one to leave stops it."""

    __tablename__ = "job_asker"

    job: Mapped[str] = mapped_column(ForeignKey("job.id", ondelete="CASCADE"), primary_key=True)
    device: Mapped[str] = mapped_column(String(64), primary_key=True)  # of a session; empty: the laptop
    slot: Mapped[str] = mapped_column(String(60), primary_key=True)


class JobResult(Row):
    """What came of a job, while it runs what came so far: apart, for it may be large, and lists of jobs go without."""

    __tablename__ = "job_result"

    job: Mapped[str] = mapped_column(ForeignKey("job.id", ondelete="CASCADE"), primary_key=True)
    content: Mapped[str] = mapped_column(Text)  # JSON
