"""What can go wrong with a book, said in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from conewise.errors import ConflictError, InputError, NotFoundError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


class DamagedBookError(InputError):
    """The book's database, or a record in it, cannot be read as it was written."""

    code = "book-damaged"
    default_hint = (
        "Nothing was changed. Keep the folder as it is, copy it whole to another disk, and restore your last backup "
        "into a new folder: conewise book restore BACKUP --book NEW-FOLDER."
    )

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(f"The book is damaged: {problem}.", where=where)


class NoBookError(NotFoundError):
    """There is no book where one is asked for."""

    code = "book-missing"
    default_hint = "Name its folder with --book or CONEWISE_BOOK; whatever puts something into a book makes a new one."

    def __init__(self, folder: Path) -> None:
        super().__init__("There is no book in that folder.", where=str(folder))


class NewerBookError(InputError):
    """The book was written by a later version of the program."""

    code = "book-newer"

    def __init__(self, *, found: int, known: int, where: str) -> None:
        super().__init__(
            f"This book has schema {found}; this version of conewise knows schemas up to {known}.",
            where=where,
            hint="Install the newer conewise that wrote it. The book was not touched.",
        )


class NotABookError(InputError):
    """The folder, or the database in it, is something else."""

    code = "book-foreign"
    default_hint = "Name the folder of a book, or a folder that is empty or not there yet: --book FOLDER."

    def __init__(self, problem: str, *, where: str) -> None:
        super().__init__(f"This is not a book: {problem}.", where=where)


class UnwritableBookError(InputError):
    """The system does not let the book be opened or written there."""

    code = "book-unwritable"
    default_hint = "Check the disk and who may write to the folder, or name another one: --book FOLDER."

    def __init__(self, reason: str, *, where: str) -> None:
        super().__init__(f"The book cannot be opened or written: {reason}.", where=where)


class UnwritableTargetError(InputError):
    """The system does not let a backup or an export be written there; the book is not touched."""

    code = "target-unwritable"
    default_hint = "Name a place in a folder that you may write to. The book itself is as it was."

    def __init__(self, target: Path, reason: str) -> None:
        super().__init__(f"'{target.name}' cannot be written there: {reason}.", where=str(target))


class DiskFullError(ConflictError):
    """There is no room left on the disk."""

    code = "disk-full"
    default_hint = "Make room on the disk and do it again. What was confirmed before is kept; this entry is not."

    def __init__(self, *, where: str) -> None:
        super().__init__("The disk is full; nothing of this entry was written.", where=where)


class BookLockedError(ConflictError):
    """Another program is writing to the book and does not finish."""

    code = "book-locked"
    default_hint = (
        "Wait for the other conewise to finish, or close it, and do it again. Nothing of this entry was written."
    )

    def __init__(self, *, where: str) -> None:
        super().__init__("Another program is writing to the book.", where=where)


class BookReplacedError(ConflictError):
    """The book was restored from a backup while it was open here."""

    code = "book-replaced"
    default_hint = "Open the book again, look at what it says now, and do it again. Nothing of this entry was written."

    def __init__(self, *, where: str) -> None:
        super().__init__("The book was replaced by another one while it was open here.", where=where)


class BookThereError(ConflictError):
    """A book that is there would be replaced."""

    code = "book-there"
    default_hint = "Name another folder with --book, or say --force: the book that is there is then kept beside it."

    def __init__(self, folder: Path) -> None:
        super().__init__("There is a book in that folder already, and it stays as it is.", where=str(folder))


class TargetThereError(ConflictError):
    """A file or folder that would be written is there already."""

    code = "book-target-there"

    def __init__(self, path: Path, *, hint: str = "") -> None:
        super().__init__(f"'{path.name}' is already there and stays as it is.", where=str(path), hint=hint)


class NoSuchRecordError(NotFoundError):
    """The book has nothing of that kind under that name."""

    code = "no-such-record"

    def __init__(self, kind: str, wanted: str, *, near: Sequence[str] = ()) -> None:
        hint = (
            f"Near: {', '.join(near)}." if near else f"The book has no {kind} yet; check the spelling, or add it first."
        )
        super().__init__(f"There is no {kind} '{wanted}' in the book.", where=f"{kind} {wanted}", hint=hint)


class BrokenLinkError(InputError):
    """A record names another one that is not in the book."""

    code = "record-link"

    def __init__(self, *, place: str, field: str, kind: str, wanted: str) -> None:
        super().__init__(
            f"The {field} is '{wanted}', and the book has no {kind} of that name.",
            where=place,
            hint=f"Add the {kind} '{wanted}' first, or correct the {field}.",
        )


class RecordNameError(InputError):
    """A name under which nothing can be kept."""

    code = "record-name"
    default_hint = "Use lower-case letters, digits and hyphens, such as 'back-lot-2'; 60 at most."

    def __init__(self, kind: str, name: str) -> None:
        super().__init__(f"A {kind} cannot be kept under the name '{name}'.", where=kind)


class AlreadyKeptError(ConflictError):
    """Another record of that kind has that name."""

    code = "record-there"

    default_hint = "Choose another name, or change the one that is there."

    def __init__(self, kind: str, name: str, *, hint: str = "") -> None:
        super().__init__(
            f"There is a {kind} '{name}' in the book already, and it says something else.",
            where=f"{kind} {name}",
            hint=hint,
        )


class ChangedMeanwhileError(ConflictError):
    """The record was changed after it had been read."""

    code = "record-changed"

    def __init__(self, place: str, *, seen: int, found: int, by: str) -> None:
        who = f" by {by}" if by else ""
        super().__init__(
            f"The record was changed meanwhile{who}: you saw version {seen}, it is now version {found}.",
            where=place,
            hint="Look at it again and make your change to what it says now. Nothing was overwritten.",
        )


class RecordInUseError(ConflictError):
    """A record cannot be removed: others name it."""

    code = "record-in-use"

    def __init__(self, place: str, *, users: Sequence[str]) -> None:
        super().__init__(
            f"It cannot be removed: {', '.join(users)} still name it.",
            where=place,
            hint="Remove or change those first. Nothing was removed.",
        )


class FileNotKeptError(NotFoundError):
    """A file that the book should hold is not there."""

    code = "book-file-missing"
    default_hint = "conewise book check lists what is missing; a backup that was made before has it."

    def __init__(self, address: str, *, where: str) -> None:
        super().__init__(f"The book has no file {address[:12]}…", where=where)


class BackupError(InputError):
    """A file is not a backup, or not a whole one."""

    code = "backup-unusable"
    default_hint = "Nothing was changed. Take another backup, or copy this one again from where it was made."

    def __init__(self, problem: str, path: Path) -> None:
        super().__init__(f"This backup cannot be used: {problem}.", where=str(path))


class NoTargetFolderError(NotFoundError):
    """The folder that a backup or an export is to be written into is not there."""

    code = "book-target-folder"
    default_hint = "Make that folder first, or name a file in one that is there. The book was not touched."

    def __init__(self, target: Path) -> None:
        super().__init__(f"There is no folder '{target.parent}' to write into.", where=str(target))


class ExportedFileError(InputError):
    """A file of an export cannot be read back."""

    code = "export-unusable"
    default_hint = "Mend the place named, or export again. Nothing was taken into the book."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


class ImportConflictError(ConflictError):
    """The book says something else about records that would be taken in."""

    code = "import-conflict"

    def __init__(self, places: Sequence[str], *, where: str) -> None:
        shown = ", ".join(places[:6]) + (f" and {len(places) - 6} more" if len(places) > 6 else "")
        super().__init__(
            f"The book says something else about {shown}.",
            where=where,
            hint="Say --replace to take these from the import; what the book says now stays in their history.",
        )
