"""What one percent more of each number of the car is worth, from a single solve.

The solver's multipliers give the derivative of the time by every number of the car file at once, all else equal: more
mass here leaves the springs and tyres as they are. The table shows the largest.
"""

from __future__ import annotations

from pathlib import Path

import conewise
import conewise.demo

DEMO = Path(conewise.demo.__file__).parent


def largest(solution, n=12):
    """Name and seconds per percent of the n strongest numbers, strongest first."""
    rows = [(g.name, g.s_per_percent) for g in solution.gradients if g.s_per_percent is not None]
    return sorted(rows, key=lambda row: abs(row[1]), reverse=True)[:n]


def main():
    course = conewise.read_course(DEMO / "courses" / "harbour-yard.toml")
    car = conewise.read_car(DEMO / "cars" / "pepper.toml")
    solution = conewise.solve(course, car, choices={"slalom 2": "left"})
    print(f"{solution.course}, {solution.car}: {solution.time:.2f} s")
    print("number                          seconds for 1% more")
    for name, seconds in largest(solution):
        print(f"{name:<32}{seconds:+.4f}")


if __name__ == "__main__":
    main()
