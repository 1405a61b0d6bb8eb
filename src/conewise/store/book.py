"""The folder that a person owns: the database, the files beside it, and the transactions on both."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy.orm import Session

from conewise.records import Record
from conewise.store import schema
from conewise.store.connection import WAIT, WRITES, engine_of, problems, said_plainly
from conewise.store.errors import BookReplacedError, DamagedBookError, NoBookError, NotABookError, UnwritableBookError
from conewise.store.files import Files
from conewise.store.folder import finish_swap
from conewise.store.repository import Kept, Reader, Version
from conewise.store.writer import Writer

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path
    from types import TracebackType
    from typing import Any, Self

    from sqlalchemy import Connection, Engine

R = TypeVar("R", bound=Record)

DATABASE = "book.sqlite"
PRIVATE_FOLDER = 0o700

_SYSTEM_FILES = {".ds_store", "thumbs.db", "desktop.ini"}


class Book:
    """An open book. Made by `open_book`; close it, or use it in a `with` statement.

    Every call of `add`, `change`, `remove`, `one`, `find`, `every` and `history` is a transaction of its own;
    `writing` and `reading` hold several together. What a call returned is on the disk.

    folder: where the book is.
    files: originals, channels of recordings and photos, called by what is in them.
    now: the clock.
    hides_private: whether private details (medical, contacts) are neither read nor taken out.
    """

    def __init__(
        self, folder: Path, *, now: Callable[[], datetime], wait: float = WAIT, hides_private: bool = False
    ) -> None:
        self.folder = folder
        self.hides_private = hides_private
        self.now = now
        self.files = Files(folder / "files")
        self.database = folder / DATABASE
        self._engine = engine_of(self.database, wait=wait)
        self._writing_engine = self._engine.execution_options(**{WRITES: True})
        self._file_number = _file_number(self.database)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """Several reads of one state of the book."""
        with self.session(self._engine) as session:
            yield Reader(session, hides_private=self.hides_private)

    @contextmanager
    def writing(self, *, by: str = "") -> Iterator[Writer]:
        """Several changes: all are kept, or none. Others wait meanwhile, so be short.

        Parameters
        ----------
        by : str, optional
            Who makes them, for the history.

        Raises
        ------
        BrokenLinkError
            At the end, if a record names one that is not in the book.
        BookLockedError, DiskFullError, DamagedBookError, BookReplacedError, UnwritableBookError
            If the database cannot take it. Nothing is kept then.
        """
        with self.session(self._writing_engine) as session:
            writer = Writer(session, now=self.now, by=by, hides_private=self.hides_private)
            yield writer
            writer.check_links()

    def add(self, record: R, *, by: str = "", reason: str = "", record_id: str = "") -> Kept[R]:
        """Keep a new record; see `Writer.add`."""
        with self.writing(by=by) as writer:
            return writer.add(record, reason=reason, record_id=record_id)

    def change(self, record: R, *, version: int, by: str = "", reason: str = "", record_id: str = "") -> Kept[R]:
        """Keep a new version of a record; see `Writer.change`."""
        with self.writing(by=by) as writer:
            return writer.change(record, version=version, reason=reason, record_id=record_id)

    def remove(
        self, kind: type[Record], record_id: str, *, version: int | None = None, by: str = "", reason: str = ""
    ) -> None:
        """Take a record out; see `Writer.remove`."""
        with self.writing(by=by) as writer:
            writer.remove(kind, record_id, version=version, reason=reason)

    def one(self, kind: type[R], record_id: str) -> Kept[R]:
        """The record of an id; see `Reader.one`."""
        with self.reading() as reader:
            return reader.one(kind, record_id)

    def find(self, kind: type[R], record_id: str) -> Kept[R] | None:
        """The record of an id, or None."""
        with self.reading() as reader:
            return reader.find(kind, record_id)

    def every(self, kind: type[R], **fields: Any) -> tuple[Kept[R], ...]:
        """All records of a kind; see `Reader.every`."""
        with self.reading() as reader:
            return reader.every(kind, **fields)

    def history(self, kind: type[R], record_id: str) -> tuple[Version[R], ...]:
        """Every version of a record, oldest first."""
        with self.reading() as reader:
            return reader.history(kind, record_id)

    def keep_file(self, content: bytes, name: str) -> str:
        """Keep a file as it is and return its address: the SHA-256 of its content.

        Parameters
        ----------
        content : bytes
        name : str
            How the file was called.
        """
        address = self.files.keep(content)
        with self.writing() as writer:
            writer.note_file(address, name, len(content))
        return address

    @contextmanager
    def session(self, engine: Engine | None = None) -> Iterator[Session]:
        """One transaction on the database this book was opened with."""
        with (
            said_plainly(self.folder),
            Session(engine or self._writing_engine, expire_on_commit=False) as session,
            session.begin(),
        ):
            session.connection()  # begins, and waits here if it has to
            self.refuse_replaced()
            yield session

    @contextmanager
    def connection(self, *, writes: bool = False) -> Iterator[Connection]:
        """The bare connection inside a transaction."""
        engine = self._writing_engine if writes else self._engine
        with said_plainly(self.folder), engine.begin() as connection:
            yield connection

    @property
    def is_there(self) -> bool:
        """Whether its database is still the one that was opened here."""
        return _file_number(self.database) == self._file_number

    def refuse_replaced(self) -> None:
        """Say that the database is another one than was opened here.

        Raises
        ------
        BookReplacedError
        """
        if not self.is_there:
            raise BookReplacedError(where=str(self.folder))


def _file_number(path: Path) -> tuple[int, int]:
    """What tells one file from another that has its name."""
    try:
        found = path.stat()
    except OSError:
        return (0, 0)
    return (found.st_dev, found.st_ino)


def _make_folder(folder: Path) -> None:
    """The folder, for its owner alone; one that holds something other than a book is refused."""
    if folder.exists() and not folder.is_dir():
        raise NotABookError("it is a file, not a folder", where=str(folder))
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
        others = {path.name for path in folder.iterdir() if path.name.lower() not in _SYSTEM_FILES}
    except OSError as reason:
        raise UnwritableBookError(reason.strerror or "the system refuses", where=str(folder)) from None
    if others and DATABASE not in others and not others <= {"files"}:
        shown = ", ".join(sorted(others)[:3])
        raise NotABookError(f"the folder holds other things ({shown})", where=str(folder))


def open_book(
    folder: Path,
    *,
    now: Callable[[], datetime],
    create: bool = True,
    wait: float = WAIT,
    hides_private: bool = False,
) -> Book:
    """The book in a folder.

    A book of an earlier version is copied aside and brought up to date. The database's pages and links are checked.

    Parameters
    ----------
    folder : Path
        For its owner alone.
    now : callable
        The clock, with a time zone.
    create : bool, default True
        Whether a new book is made where the folder is not there yet or is empty.
    wait : float, default 10
        For another program to finish its write. [s]
    hides_private : bool, default False
        Whether private details are neither read nor taken out.

    Raises
    ------
    NoBookError
        If there is none and `create` is False.
    NotABookError
        If the folder holds something else.
    NewerBookError
        If a later version of the program wrote it.
    DamagedBookError
        If the database's pages or links are not as they were written.
    UnwritableBookError, BookLockedError, DiskFullError
        If the system does not let it be opened.
    """
    finish_swap(folder)
    if not create and not (folder / DATABASE).exists():
        raise NoBookError(folder)
    _make_folder(folder)
    book = Book(folder, now=now, wait=wait, hides_private=hides_private)
    try:
        with book.connection() as connection:
            _refuse_damaged(connection, book)
            number = schema.number_of(connection, where=str(folder))
        if number != schema.CURRENT:
            schema.bring_up_to_date(book)
    except BaseException:
        book.close()
        raise
    return book


def _refuse_damaged(connection: Connection, book: Book) -> None:
    if found := problems(connection):
        raise DamagedBookError("; ".join(found[:3]), where=str(book.database))
