"""Where does one car gain on another: two cars on one course, feature by feature.

The quasi-steady level answers in seconds; it keeps to one line and knows nothing of transitions. `level="transient"`
models the whole car.
"""

from __future__ import annotations

from pathlib import Path

import conewise
import conewise.demo

DEMO = Path(conewise.demo.__file__).parent
LEVEL = "quasi-steady"


def solved(name):
    """The run of one demo car on the airfield course."""
    course = conewise.read_course(DEMO / "courses" / "old-mill-airfield.toml")
    return conewise.solve(course, conewise.read_car(DEMO / "cars" / f"{name}.toml"), level=LEVEL)


def differences(first, second):
    """Feature and seconds that the second car takes longer there."""
    return [(a.id, b.time - a.time) for a, b in zip(first.features, second.features, strict=True)]


def main():
    first, second = solved("marigold"), solved("pepper")
    print(f"{first.car} {first.time:.2f} s, {second.car} {second.time:.2f} s ({LEVEL})")
    for feature, seconds in differences(first, second):
        print(f"{feature:<22}{seconds:+.2f} s")


if __name__ == "__main__":
    main()
