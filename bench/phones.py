"""Twenty phones write runs down at once: errors, and how long the answers take. `python -m bench.phones`."""

from __future__ import annotations

import json
import tempfile
import threading
import time
import urllib.request
from datetime import UTC, datetime
from pathlib import Path
from statistics import median, quantiles

from conewise.web.settings import WebSettings
from conewise.workflows.demo_book import keep_demo_book
from tests.web_app import served

N_PHONES, N_RUNS = 20, 10
PAUSE = 4.0  # between two runs of one phone; a recorder has a car every 30 to 60 s [s]


def _now():
    return datetime(2026, 9, 13, 8, 0, tzinfo=UTC)


def _phone(address, phone, times, errors):
    time.sleep(PAUSE * phone / N_PHONES if PAUSE else 0.0)
    for run in range(N_RUNS):
        sent = {
            "id": f"e-{phone}-{run}",
            "driver": "ana",
            "car": "boulder",
            "run": 3 + phone * N_RUNS + run,
            "time": "62345",
        }
        request = urllib.request.Request(
            f"{address}/api/events/september/runs", json.dumps(sent).encode(), {"Content-Type": "application/json"}
        )
        begin = time.perf_counter()
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                answer.read()
        except OSError as error:
            errors.append(str(error))
        times.append(time.perf_counter() - begin)
        time.sleep(PAUSE)


def main():
    """Print what was measured."""
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo"
        keep_demo_book(demo, now=_now)
        with served(WebSettings(book=demo / "book", demo=demo, now=_now)) as address:
            times, errors = [], []
            phones = [
                threading.Thread(target=_phone, args=(address, number, times, errors)) for number in range(N_PHONES)
            ]
            for phone in phones:
                phone.start()
            for phone in phones:
                phone.join()
    ninety_five = quantiles(times, n=20)[-1]
    print(f"{len(times)} runs, {len(errors)} errors {errors[:2]}")
    print(f"median {1000 * median(times):.0f} ms, 95% {1000 * ninety_five:.0f} ms")


if __name__ == "__main__":
    main()
