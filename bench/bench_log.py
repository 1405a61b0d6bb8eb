"""A recording of a whole day, 20 MB, from the page's request to its runs; and one of 40 channels, read alone.

`python -m bench.bench_log`
"""

from __future__ import annotations

import os
import resource
import tempfile
import time
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import httpx
import numpy as np
import polars as pl

from conewise.logs.readers import read_log
from conewise.workflows.book_place import BookPlace, OpenBooks
from conewise.workflows.demo_book import keep_demo_book
from tests.web_app import served, settings_over

SIZE = 20_000_000  # [bytes]
N_TRIES = 3
WAY_BACK = 40.0  # from the finish to the line of waiting cars [s]
WAIT = 60.0  # there [s]
RATE = 10  # of the receiver on the way back [1/s]
QUESTION = {
    "event": "september", "person": "dee", "car": "marigold", "course": "harbour-yard", "car_file": "marigold",
}  # fmt: skip


def whole_day(size=SIZE):
    """The demo's recording driven again and again, with the way back to the start and a wait between."""
    start, header, *rows = (files("conewise.demo") / "logs" / "harbour-yard-evening.csv").read_text().splitlines()
    time_of = np.array([float(row.split(",", 1)[0]) for row in rows])
    rest = [row.split(",", 1)[1] for row in rows]
    places = [np.array(row.split(",")[1:3], dtype=float) for row in rows if row.split(",")[1]]
    lines, begin, n_bytes = [start, header], 0.0, 0
    while n_bytes < size:
        piece = [f"{begin + at:.2f},{words}" for at, words in zip(time_of, rest, strict=True)]
        begin += time_of[-1] + 1.0 / RATE
        piece += _way_back(begin, places[-1], places[0])
        begin += WAY_BACK + WAIT
        lines += piece
        n_bytes += sum(map(len, piece)) + len(piece)
    return "\n".join(lines).encode()


def _way_back(begin, first, last):
    """Rows of the receiver alone: round the outside of the course, then standing."""
    share = np.clip(np.arange(0.0, WAY_BACK + WAIT, 1.0 / RATE) / WAY_BACK, 0.0, 1.0)
    aside = 4e-4 * np.sin(np.pi * share)  # [deg], about 40 m
    longitude, latitude = (np.outer(1 - share, first) + np.outer(share, last)).T
    latitude = latitude + aside
    step = np.hypot(np.gradient(longitude) * 7.0e4, np.gradient(latitude) * 1.11e5) * RATE  # [m/s]
    return [
        f"{begin + k / RATE:.2f},{longitude[k]:.8f},{latitude[k]:.8f},2.0,{step[k]:.2f},,,,,,,"
        for k in range(share.size)
    ]


def until_its_runs(client, content, name):
    """Seconds until the file is taken, and until its runs are known; how many there are."""
    begin = time.monotonic()
    sent = client.post("/api/recordings", params={"name": name}, content=content).raise_for_status().json()
    taken = time.monotonic() - begin
    job = client.post("/api/jobs", json={"kind": "log-check", "question": QUESTION | sent}).raise_for_status().json()
    while not job["is_over"]:
        time.sleep(0.02)
        job = client.get(f"/api/jobs/{job['id']}").json()
    whole = time.monotonic() - begin
    assert job["state"] == "done", job
    if job["result"]["next"]:
        client.delete(f"/api/jobs/{job['result']['next']}")
    return taken, whole, len(job["result"]["runs"])


def in_one_process(place, content):
    """Processor time of reading, keeping and finding the runs; what is loaded first is in it. [s]"""
    from conewise.web.debrief_work import LogCheckAsked, log_check
    from conewise.web.work import Desk
    from conewise.workflows.recordings import take_upload

    sent = take_upload(place, content, "alone.csv")
    asked = LogCheckAsked(sent=sent.address, name=sent.name, sent_at="0", **QUESTION)
    begin = time.process_time()
    found = log_check(asked, Desk(place=place, job="", tell=lambda *_: None, show=lambda _: None))
    taken = time.process_time() - begin
    assert found["next"] is None  # nobody waits for a debrief, which would be worked out before what is timed next
    return taken


def many_channels(file):
    """Ten minutes at 100 Hz: a receiver, an inertial sensor and voltages, 40 columns."""
    n, rng = 60_000, np.random.default_rng(1)
    walk = np.cumsum(rng.normal(size=(3, n)), axis=1)
    columns = {
        "time (s)": np.arange(n) / 100.0,
        "latitude (deg)": 48.0 + 1e-7 * walk[0],
        "longitude (deg)": 11.0 + 1e-7 * walk[1],
        "speed (m/s)": np.abs(10.0 + 0.01 * walk[2]),
    }
    columns |= {f"acceleration {axis} (m/s2)": rng.normal(9.8 * (axis == "z"), 1.0, n) for axis in "xyz"}
    columns |= {f"rotation rate {axis} (rad/s)": rng.normal(0.0, 0.1, n) for axis in "xyz"}
    columns |= {f"sensor {k} (V)": rng.normal(size=n) for k in range(40 - len(columns))}
    pl.DataFrame(columns).write_csv(file, float_precision=6)


def read_alone(file):
    """Seconds of reading it, again and again, and the most memory that the process has had."""
    many_channels(file)
    for _ in range(N_TRIES):
        begin, used = time.monotonic(), time.process_time()
        n_channels = len(read_log(file).channels)
        wall, used = time.monotonic() - begin, time.process_time() - used
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
        print(f"{file.stat().st_size / 1e6:.0f} MB, 40 columns, {n_channels} channels known: {wall:.2f} s, "
              f"{used:.2f} s of processor time, at most {most:.0f} MB")  # fmt: skip


def demo(folder):
    """The invented example."""
    keep_demo_book(folder / "demo", now=lambda: datetime.now(UTC))
    return folder / "demo"


def main():
    """Print what was measured."""
    print(f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    with tempfile.TemporaryDirectory() as folder:
        read_alone(Path(folder) / "wide.csv")
    content = whole_day()
    size = f"{len(content) / 1e6:.0f} MB"
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_over(Path(folder), demo(Path(folder)), now=lambda: datetime.now(UTC))
        place = BookPlace(book=settings.book, now=settings.now, books=OpenBooks())
        print(f"{size}: {in_one_process(place, content + b' '):.2f} s of processor time")
        with served(settings) as address, httpx.Client(base_url=address, timeout=600) as client:
            client.headers["origin"] = address
            for n in range(N_TRIES):
                taken, whole, n_runs = until_its_runs(client, content + b"\n" * n, f"day-{n}.csv")
                print(f"{size}: taken after {taken:.2f} s, {n_runs} runs known after {whole:.1f} s")


if __name__ == "__main__":
    main()
