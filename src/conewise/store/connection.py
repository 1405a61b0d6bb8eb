"""The connection to the database. The only module that knows that it is SQLite; everything else is plain SQLAlchemy."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING, Any

from sqlalchemy import URL, create_engine, event
from sqlalchemy.exc import DBAPIError

from conewise.store.errors import BookLockedError, DamagedBookError, DiskFullError, UnwritableBookError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from sqlalchemy import Connection, Engine
    from sqlalchemy.engine.interfaces import DBAPIConnection
    from sqlalchemy.pool import ConnectionPoolEntry

WAIT = 10.0  # for another program to finish its write [s]
WRITES = "book_writes"  # the option of a connection that is going to write

_PRIVATE_FILE = 0o600
_FULL = {"SQLITE_FULL"}
_LOCKED = {"SQLITE_BUSY", "SQLITE_LOCKED"}
_DAMAGED = {"SQLITE_CORRUPT", "SQLITE_NOTADB"}
_DAMAGED_WORDS = (  # said without a name of their own
    "unsupported file format",
    "malformed",
    "decode to UTF-8",
    "foreign key mismatch",
    "no such column",
    "no such table",
)
_REFUSED = {"SQLITE_IOERR", "SQLITE_CANTOPEN", "SQLITE_READONLY", "SQLITE_PERM"}
_MOST_PROBLEMS = 20
_WITHOUT_DEVICES = "DELETE FROM job_asker WHERE device <> ''"
_STOP_UNAWAITED = (
    "UPDATE job SET state = 'stopped' WHERE state IN ('waiting', 'running', 'stopping') "
    "AND id NOT IN (SELECT job FROM job_asker)"
)


def engine_of(path: Path, *, wait: float = WAIT) -> Engine:
    """The engine of a database file, which is made, readable by its owner alone, where it is not there.

    Parameters
    ----------
    path : Path
        The database; its folder must exist.
    wait : float, default 10
        For another program to finish its write. [s]

    Raises
    ------
    UnwritableBookError
        If the file cannot be made.
    """
    if not path.exists():
        try:
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, _PRIVATE_FILE))
        except OSError as reason:
            raise UnwritableBookError(reason.strerror or "the system refuses", where=str(path)) from None
    url = URL.create("sqlite", database=str(path))
    engine = create_engine(url, connect_args={"timeout": wait}, max_overflow=-1)  # a thread never waits for another's
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: DBAPIConnection, entry: ConnectionPoolEntry) -> None:
    """What every connection is told: links are held, a commit is on the disk, what is removed is overwritten."""
    del entry
    connection.isolation_level = None  # transactions begin where `_begin` says so
    cursor = connection.cursor()
    for pragma in ("foreign_keys=ON", "journal_mode=WAL", "synchronous=FULL", "secure_delete=ON"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    """Whoever is going to write waits at the start, never half way."""
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def problems(connection: Connection, *, thorough: bool = False) -> tuple[str, ...]:
    """What the database itself finds wrong with its pages and links; empty where all is well."""
    words = "integrity_check" if thorough else "quick_check"
    found = [str(row[0]) for row in connection.exec_driver_sql(f"PRAGMA {words}({_MOST_PROBLEMS})")]
    found = [line for line in found if line != "ok"]
    for table, row, target, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        found.append(f"row {row} of '{table}' names a '{target}' that is not there")
    return tuple(found[:_MOST_PROBLEMS])


def snapshot(connection: Connection, target: Path) -> None:
    """A copy of the database as it is now, in one file, while others may go on writing."""
    source: Any = connection.connection.driver_connection
    os.close(os.open(target, os.O_RDWR | os.O_CREAT | os.O_EXCL, _PRIVATE_FILE))
    with closing(sqlite3.connect(target)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA secure_delete=ON")
        tables = {name for (name,) in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if "web_session" in tables:
            copy.execute("DELETE FROM web_session")  # who may look in is decided at each laptop anew
        if "job_asker" in tables:
            copy.execute(_WITHOUT_DEVICES)
            copy.execute(_STOP_UNAWAITED)
        copy.commit()
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, without a log beside it


@contextmanager
def said_plainly(place: Path) -> Iterator[None]:
    """Failures of the database and the disk as errors that say what to do.

    Raises
    ------
    DiskFullError, BookLockedError, DamagedBookError, UnwritableBookError
        By what the database says.
    """
    try:
        yield
    except DBAPIError as error:
        if not isinstance(error.orig, sqlite3.Error):
            raise
        plain = _plain(error.orig, str(place))
        if plain is None:
            raise
        raise plain from error
    except UnicodeDecodeError as error:
        raise DamagedBookError("a text in the database is no text any more", where=str(place)) from error
    except ValueError as error:
        if "isoformat" not in str(error):
            raise
        raise DamagedBookError("a moment in the database is no moment any more", where=str(place)) from error
    except sqlite3.Error as error:
        plain = _plain(error, str(place))
        if plain is None:
            raise
        raise plain from error


def _plain(error: sqlite3.Error, where: str) -> Exception | None:
    """The error to say; None for what is a fault of the program."""
    name = getattr(error, "sqlite_errorname", "") or ""
    family = "_".join(name.split("_")[:2])
    if family in _FULL:
        return DiskFullError(where=where)
    if family in _LOCKED:
        return BookLockedError(where=where)
    if family in _DAMAGED or any(words in str(error) for words in _DAMAGED_WORDS):
        return DamagedBookError(str(error), where=where)
    if family in _REFUSED:
        return UnwritableBookError(str(error), where=where)
    return None
