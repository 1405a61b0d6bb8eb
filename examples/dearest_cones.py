"""Solve a course of the demo with a car of the demo, and print the cones that cost the most.

The price of a cone is the time lost per metre of margin kept to it. Where it is high, driving close pays; where it is
zero, there is nothing to gain by coming near, and two seconds to lose.
"""

from __future__ import annotations

from pathlib import Path

import conewise
import conewise.demo

DEMO = Path(conewise.demo.__file__).parent


def solved():
    """The fastest clean run of the roadster on the slalom course."""
    course = conewise.read_course(DEMO / "courses" / "harbour-yard.toml")
    car = conewise.read_car(DEMO / "cars" / "marigold.toml")
    return conewise.solve(course, car, choices={"slalom 2": "left"})


def dearest(solution, n=5):
    """The n cones with the highest price, dearest first."""
    return sorted(solution.cones, key=lambda cone: cone.price, reverse=True)[:n]


def main():
    solution = solved()
    print(f"{solution.course}, {solution.car}: {solution.time:.2f} s; all checks passed: {solution.is_checked}")
    print("cone    feature          seconds per 10 cm")
    for cone in dearest(solution):
        print(f"{cone.id:<7} {cone.feature:<16} {cone.price * 0.1:.3f}")


if __name__ == "__main__":
    main()
