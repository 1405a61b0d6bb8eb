"""How long a book of 10,000 runs takes: kept, listed, opened, checked, backed up, exported. Processor time."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from conewise.event.runs import Run
from conewise.store.backup import backup
from conewise.store.check import check_book
from conewise.store.days import keep_day
from conewise.store.export import export
from tests.books import example_day, opened

N_RUNS = 10_000


def timed(what, work):
    """The result of a piece of work; its time on one processor is printed."""
    start = time.process_time()
    result = work()
    print(f"{what:<40} {time.process_time() - start:8.3f} s")
    return result


def kept(book):
    with book.writing() as writer:
        for i in range(N_RUNS):
            person = "ben" if i % 2 else "ada"
            writer.add(Run(id=f"r{i}", event="lot-1", person=person, order=i % 1000 + 1, raw_time=60 + i / 1e4))


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with timed("make a book", lambda: opened(folder / "book")) as book:
            keep_day(book, example_day())
            timed(f"keep {N_RUNS} runs in one transaction", lambda: kept(book))
            single = [Run(id=f"s{i}", event="lot-1", person="ben", order=1, raw_time=60.0) for i in range(100)]
            timed("keep 100 runs, each for itself", lambda: [book.add(run) for run in single])
            assert len(timed("list all runs", lambda: book.every(Run))) == N_RUNS + 102
            timed("list the runs of one driver", lambda: book.every(Run, person="ben"))
            timed("find one run", lambda: book.one(Run, "r77"))
        with timed("open the book", lambda: opened(folder / "book")) as book:
            timed("check everything", lambda: check_book(book))
            timed("back up", lambda: backup(book, folder / "b.zip"))
            timed("export", lambda: export(book, folder / "out"))
            print(f"{book.database.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
