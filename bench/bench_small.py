"""What is asked for often and must not be waited for: help, the car's numbers, the path of a long course."""

import subprocess
import sys
from statistics import median
from time import perf_counter

from conewise.course.reference import lay_out
from conewise.vehicle.build import model_parameters, with_parameter
from tests.cars import demo_car
from tests.courses import club_course


def milliseconds(what, runs):
    """Median, smallest and largest of several calls after one to warm up."""
    what()
    times = []
    for _ in range(runs):
        began = perf_counter()
        what()
        times.append(1e3 * (perf_counter() - began))
    return f"{median(times):8.2f} ms ({min(times):.2f} to {max(times):.2f})"


def ask_for_help():
    words = [sys.executable, "-c", "from conewise.cli.main import main; main(['--help'])"]
    subprocess.run(words, check=True, capture_output=True)


if __name__ == "__main__":
    car, course = demo_car("marigold"), club_course(0, length=600.0, n_features=40)
    print(f"conewise --help, a new process, wanted under 400 ms    {milliseconds(ask_for_help, 5)}")
    moved = milliseconds(lambda: model_parameters(with_parameter(car, "front.camber", -0.03)), 20)
    print(f"numbers of a changed car, wanted under 2 ms            {moved}")
    laid = milliseconds(lambda: lay_out(course), 5)
    print(f"path of {len(course.features)} features, wanted under 150 ms               {laid}")
