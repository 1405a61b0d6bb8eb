"""Whatever stops a write (a killed program, a full disk, another program), what was confirmed stays."""

from __future__ import annotations

import contextlib
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import event

from conewise.event.people import Person
from conewise.event.runs import Run
from conewise.store.backup import backup, restore
from conewise.store.check import check_book
from conewise.store.days import keep_day
from conewise.store.errors import BookLockedError, BookReplacedError, DiskFullError, UnwritableBookError
from tests.books import Clock, example_day, opened

PROJECT = Path(__file__).resolve().parents[3]

# A program that adds runs as fast as it can and says of each that it is kept, with a file beside every third.
ADDING = """
import sys
from pathlib import Path
from conewise.event.runs import Run
from conewise.errors import ConewiseError
from tests.books import opened
folder, name, most = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
with opened(folder) as book:
    for i in range(most):
        try:
            if i % 3 == 0:
                address = book.keep_file(f"{name} {i} ".encode() * 500, "photo.jpg")
                print("file", address, flush=True)
            book.add(Run(id=f"{name}-{i}", event="lot-1", person="ben", order=i + 1, raw_time=60.0 + i / 1000.0))
        except ConewiseError as error:
            print("error", error.code, flush=True)
            break
        print("run", f"{name}-{i}", flush=True)
"""

# A program that adds one to a number in the book, seeing to it that nobody's step is lost.
COUNTING = """
import sys
from pathlib import Path
from conewise.event.people import Person
from conewise.store.errors import ChangedMeanwhileError
from tests.books import opened
with opened(Path(sys.argv[1])) as book:
    done = 0
    while done < int(sys.argv[2]):
        seen = book.one(Person, "ben")
        try:
            book.change(seen.record.changed(events_driven=seen.record.events_driven + 1), version=seen.version)
        except ChangedMeanwhileError:
            continue
        done += 1
"""


def program(code, *arguments, before=None):
    """A Python program of its own, started."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(PROJECT), str(PROJECT / "src")])}
    command = [sys.executable, "-c", code, *map(str, arguments)]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    return subprocess.Popen(command, cwd=PROJECT, env=environment, preexec_fn=before, **pipes)  # noqa: PLW1509  # no threads


@pytest.fixture
def folder(tmp_path):
    """The folder of a book with the example day in it."""
    with opened(tmp_path / "book") as book:
        keep_day(book, example_day())
    return tmp_path / "book"


def confirmed(lines):
    return {line.split()[1] for line in lines if line.startswith("run ")}, {
        line.split()[1] for line in lines if line.startswith("file ")
    }


def assert_kept(folder, runs, files):
    """All of these are there and the book is whole; the runs that are there."""
    with opened(folder, create=False) as book:
        there = {kept.id for kept in book.every(Run)}
        assert runs <= there
        for address in files:
            book.files.content(address)
        assert not [finding for finding in check_book(book) if finding.severity == "stop"]
    return there


@pytest.mark.skipif(os.name == "nt", reason="signals of Unix")
def test_a_killed_program_loses_nothing_that_it_had_confirmed(folder):
    dice = random.Random(20260501)
    runs, files = set(), set()
    for attempt in range(4):
        child = program(ADDING, folder, f"try{attempt}", 100_000)
        lines = [child.stdout.readline() for _ in range(dice.randint(5, 25))]
        time.sleep(dice.random() / 50.0)
        child.send_signal(signal.SIGKILL)
        rest, complaint = child.communicate()
        assert complaint == ""
        more_runs, more_files = confirmed([*lines, *rest.splitlines()])
        assert more_runs
        runs, files = runs | more_runs, files | more_files
        there = assert_kept(folder, runs, files)
        assert len(there - runs) <= 2 + attempt + 1  # the two of the day, and one that was cut off before it was said


@pytest.mark.skipif(os.name == "nt", reason="limits of Unix")
@pytest.mark.parametrize("extra", [40_000, 150_000])
def test_where_no_more_can_be_written_what_was_confirmed_stays(folder, extra):
    import resource

    largest = (folder / "book.sqlite").stat().st_size + extra

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))

    child = program(ADDING, folder, "full", 100_000, before=limit)
    said, complaint = child.communicate(timeout=300)
    assert complaint == ""
    lines = said.splitlines()
    assert lines[-1] in {"error book-unwritable", "error disk-full"}
    runs, files = confirmed(lines)
    there = assert_kept(folder, runs, files)
    assert there == runs | {"run-1", "run-2"}


def test_a_full_database_says_so_and_goes_on_when_there_is_room(folder):
    with opened(folder) as book:

        def limit(connection, _):
            connection.execute("PRAGMA max_page_count = 1")  # the pages that it has, and none more

        event.listen(book._engine, "connect", limit)
        book._engine.dispose()
        with pytest.raises(DiskFullError) as told:  # noqa: PT012  # which of them meets the end is not known
            for i in range(5000):
                book.add(Run(id=f"r{i}", event="lot-1", person="ben", order=1, raw_time=60.0, notes="n" * 900))
        assert "full" in told.value.message
        n_before = len(book.every(Run))
        event.remove(book._engine, "connect", limit)
        book._engine.dispose()
        book.add(Run(id="later", event="lot-1", person="ben", order=1, raw_time=60.0))
        assert len(book.every(Run)) == n_before + 1
        assert not [finding for finding in check_book(book) if finding.severity == "stop"]


def test_programs_that_write_at_once_lose_nothing(folder):
    children = [program(ADDING, folder, f"child{i}", 25) for i in range(3)]
    said = [child.communicate(timeout=300) for child in children]
    assert [complaint for _, complaint in said] == ["", "", ""]
    runs, files = confirmed([line for out, _ in said for line in out.splitlines()])
    assert len(runs) == 75
    assert assert_kept(folder, runs, files) == runs | {"run-1", "run-2"}


def test_programs_that_change_one_record_lose_no_change(folder):
    children = [program(COUNTING, folder, 15) for _ in range(2)]
    assert [child.communicate(timeout=300)[1] for child in children] == ["", ""]
    with opened(folder) as book:
        kept = book.one(Person, "ben")
        assert kept.record.events_driven == 30
        assert kept.version == 31
        assert [version.version for version in book.history(Person, "ben")] == list(range(1, 32))


def test_several_programs_may_make_the_book(tmp_path):
    code = "import sys\nfrom pathlib import Path\nfrom tests.books import opened\nopened(Path(sys.argv[1])).close()"
    children = [program(code, tmp_path / "new") for _ in range(3)]
    assert [child.communicate(timeout=300)[1] for child in children] == ["", "", ""]
    with opened(tmp_path / "new", create=False) as book:
        assert not [finding for finding in check_book(book) if finding.severity == "stop"]


def test_a_program_that_writes_for_long_is_named_as_the_reason(folder):
    with opened(folder) as first, opened(folder, wait=0.1) as second:
        with first.writing() as writer:
            writer.add(Run(id="slow", event="lot-1", person="ben", order=3, raw_time=60.0))
            with pytest.raises(BookLockedError):
                second.add(Run(id="quick", event="lot-1", person="ben", order=3, raw_time=60.0))
            assert len(second.every(Run)) == 2  # readers do not wait
        second.add(Run(id="quick", event="lot-1", person="ben", order=3, raw_time=60.0))
        assert {kept.id for kept in first.every(Run)} == {"run-1", "run-2", "slow", "quick"}


def test_a_book_that_was_replaced_is_not_written_to(folder, tmp_path):
    with opened(folder) as book:
        backup(book, tmp_path / "b.zip")
        aside = restore(tmp_path / "b.zip", folder, now=Clock(), force=True).aside
        with pytest.raises(BookReplacedError):
            book.add(Run(id="lost", event="lot-1", person="ben", order=3, raw_time=60.0))
        with pytest.raises(BookReplacedError):
            book.every(Run)
    for place in (folder, aside):
        with opened(place, create=False) as book:
            assert {kept.id for kept in book.every(Run)} == {"run-1", "run-2"}
            book.add(Run(id="new", event="lot-1", person="ben", order=3, raw_time=60.0))


BROKEN_RESTORE = """
import os, sys
from pathlib import Path
from conewise.store import backup, folder as folders
from tests.books import Clock
place, after = Path(sys.argv[2]), int(sys.argv[3])
rename, done = Path.rename, []
def counted(self, target):
    if len(done) == after:
        os._exit(9)
    done.append(self)
    return rename(self, target)
Path.rename = counted
backup.restore(Path(sys.argv[1]), place, now=Clock(), force=True)
"""


@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_restore_that_breaks_off_leaves_the_old_book_or_the_new_one(folder, tmp_path, after):
    with opened(folder) as book:
        backup(book, tmp_path / "b.zip")
        book.add(Run(id="since", event="lot-1", person="ben", order=3, raw_time=60.0))
    child = program(BROKEN_RESTORE, tmp_path / "b.zip", folder, after)
    child.communicate(timeout=300)
    assert child.returncode == 9
    there = assert_kept(folder, {"run-1", "run-2"}, set())
    assert ("since" in there) == (after < 2)


def test_an_unwritable_folder_is_said(folder):
    if os.name == "nt" or os.geteuid() == 0:
        pytest.skip("the system's administrator may write everywhere")
    with opened(folder) as book, contextlib.ExitStack() as stack:
        folder.chmod(0o500)
        stack.callback(folder.chmod, 0o700)
        with pytest.raises(UnwritableBookError):
            book.keep_file(b"photo", "photo.jpg")
