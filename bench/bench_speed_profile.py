"""Quasi-steady profile of 800 stations after warm-up, with a friction circle and with a g-g-V envelope."""

from statistics import median
from time import perf_counter

import numpy as np

from conewise.solver.envelope import Envelope
from conewise.solver.speed_profile import FrictionCircle, speed_profile
from tests.model_cars import rear_drive

N_STATIONS = 800
N_RUNS = 5
N_CALLS = 50


def milliseconds(limits):
    station = np.linspace(0.0, 555.0, N_STATIONS)
    curvature = 0.05 * np.sin(station / 10.0)
    speed_profile(station, curvature, limits, start_speed=5.0)
    times = []
    for _ in range(N_RUNS):
        began = perf_counter()
        for _ in range(N_CALLS):
            speed_profile(station, curvature, limits, start_speed=5.0)
        times.append((perf_counter() - began) / N_CALLS * 1e3)
    return median(times)


if __name__ == "__main__":
    circle = FrictionCircle(friction=1.0, specific_power=100.0, drag=3e-4)
    print(f"friction circle  {milliseconds(circle):.3f} ms")
    print(f"g-g-V envelope   {milliseconds(Envelope.from_parameters(rear_drive())):.3f} ms")
