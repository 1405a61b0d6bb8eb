"""The way through: six steps, and the pages of each with the question that it answers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """One page of a step: its address, and the keys of its title and of the question that it answers."""

    path: str
    title: str
    asks: str


# A page is named here once it is there; the page of the step lists it.
WAY: dict[str, tuple[Place, ...]] = {
    "prepare": (
        Place("/prepare/ready", "ready.title", "ready.asks"),
        Place("/prepare/event", "day.title", "day.asks"),
        Place("/prepare/courses", "course.title", "course.asks"),
        Place("/prepare/car", "car.title", "car.asks"),
        Place("/prepare/fit", "fit.title", "fit.asks"),
    ),
    "walk": (
        Place("/walk/line", "line.title", "line.asks"),
        Place("/walk/drill", "drill.title", "drill.asks"),
    ),
    "drive": (
        Place("/drive/runs", "run.title", "run.asks"),
        Place("/field", "field.title", "field.asks"),
        Place("/drive/results", "results.title", "results.asks"),
        Place("/drive/build-up", "build.title", "build.asks"),
        Place("/drive/overview", "mentor.title", "mentor.asks"),
        Place("/drive/driver", "mentor.driver_title", "mentor.driver_asks"),
    ),
    "debrief": (),
    "change": (Place("/change/settings", "setting.title", "setting.asks"),),
    "prove": (Place("/prove/plan", "prove.plan_title", "prove.plan_asks"),),
}
STEPS = tuple(WAY)
