"""Which schema a book has, and bringing an earlier one up to date."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, select, text
from sqlalchemy.orm import Session

from conewise.store.connection import snapshot
from conewise.store.errors import NewerBookError, NotABookError
from conewise.store.tables import About

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from conewise.store.book import Book

CURRENT = 4  # the schema that this version writes
EMPTY = 0  # a database without tables

_NUMBERS = "alembic_version"
_MIGRATIONS = Path(__file__).resolve().parents[1] / "migrations"


def number_of(connection: Connection, *, where: str) -> int:
    """Number of the schema of a database; 0 where it has no tables yet.

    Raises
    ------
    NotABookError
        If the tables are those of another program.
    NewerBookError
        If a later version of the program made them.
    """
    names = inspect(connection).get_table_names()
    if not names:
        return EMPTY
    if _NUMBERS not in names or About.__tablename__ not in names:
        raise NotABookError("its database has the tables of another program", where=where)
    found = str(connection.scalar(text(f"SELECT version_num FROM {_NUMBERS}")))  # noqa: S608  # a name of our own
    if not found.isdecimal():
        raise NotABookError("its database has the tables of another program", where=where)
    if int(found) > CURRENT:
        raise NewerBookError(found=int(found), known=CURRENT, where=where)
    return int(found)


def bring_up_to_date(book: Book) -> None:
    """Make the tables of today's schema; an earlier book is copied first, to `before-schema-N.sqlite` beside it.

    All of it is one transaction: whatever breaks it leaves the book as it was.
    """
    with book.connection(writes=True) as connection:
        number = number_of(connection, where=str(book.folder))  # asked again: another program may have done it by now
        if number == CURRENT:
            return
        if number != EMPTY:
            copy = book.folder / f"before-schema-{CURRENT}.sqlite"
            copy.unlink(missing_ok=True)
            with book.connection() as beside:  # a connection that writes cannot be copied from; nothing is changed yet
                snapshot(beside, copy)
        upgrade(connection)
        _sign(connection, book, is_new=number == EMPTY)


def upgrade(connection: Connection, *, to: str = "head") -> None:
    """Run the migrations that a database still lacks, inside the connection's transaction."""
    from alembic.migration import MigrationContext
    from alembic.operations import Operations
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(_MIGRATIONS), version_locations=[str(_MIGRATIONS)])
    context = MigrationContext.configure(
        connection,
        opts={
            "fn": lambda heads, _: scripts._upgrade_revs(to, heads),  # noqa: SLF001  # as the command does
            "transactional_ddl": True,
        },
    )
    with Operations.context(context):
        context.run_migrations()


def _sign(connection: Connection, book: Book, *, is_new: bool) -> None:
    """Say in the book which program made it or brought it up to date, and when."""
    what = "made" if is_new else f"schema-{CURRENT}"
    with Session(connection, join_transaction_mode="create_savepoint") as session:
        if session.scalar(select(About).where(About.key == what)) is None:
            stamp = f"conewise {version('conewise')}, {book.now().isoformat(timespec='seconds')}"
            session.add(About(key=what, value=stamp))
            session.commit()
