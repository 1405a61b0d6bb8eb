"""Recordings of a day made from known motion: what was driven is known, and so is the noise."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d

from conewise.logs.simulated import motion
from conewise.logs.track import Track
from conewise.solver.speed_profile import FrictionCircle, speed_profile

RATE = 50.0  # [1/s]
FRONT = 1.9  # of the car made here: centre of gravity to its front [m]


@dataclass(frozen=True)
class Drive:
    """One try: a line beside the path from staging to behind the finish, or to where it is broken off."""

    offset: object = staticmethod(np.zeros_like)  # station to lateral offset [m]
    friction: float = 0.9
    until: float = np.inf  # station at which it is broken off [m]
    leave: float = 0.0  # sideways drift after breaking off, over 30 m [m]
    staged: float = 0.0  # how much farther back than the staging place the car stood [m]


@dataclass
class Day:
    """Pieces of motion one after the other, and what is true of every run."""

    geometry: object
    pieces: list = field(default_factory=list)  # x, y, speed at RATE
    truth: list = field(default_factory=list)  # start and finish of every try [s]
    passed: list = field(default_factory=list)  # stations of the front [m] in every try, and when they were passed [s]

    @property
    def now(self):
        return sum(len(piece) for piece in self.pieces) / RATE

    def motion(self, *, moves):
        """All of it as a known motion of a car that points where it goes, by steps of more than `moves`. [m]"""
        places = np.vstack(self.pieces)[:, :2]
        ahead = np.gradient(places, axis=0)
        moving = np.hypot(*ahead.T) > moves
        index = np.maximum.accumulate(np.where(moving, np.arange(len(places)), int(np.argmax(moving))))
        yaw = np.unwrap(np.arctan2(ahead[index, 1], ahead[index, 0]))
        return motion(np.arange(len(places)) / RATE, places, yaw)

    def stand(self, seconds, *, back=0.0):
        """At the last place, or so far behind the staging place where there is none."""
        place = self.pieces[-1][-1, :2] if self.pieces else self._staged(back)
        n = round(seconds * RATE)
        self.pieces.append(np.column_stack([np.tile(place, (n, 1)), np.zeros(n)]))

    def _staged(self, back=0.0):
        point = self.geometry.path.at(np.array([-self.geometry.course.staging - FRONT - back]))
        return np.array([point.x[0], point.y[0]])

    def drive(self, told):
        """From rest at the staging place; true beam times are noted."""
        path, staging = self.geometry.path, self.geometry.course.staging
        first = -staging - FRONT - told.staged
        last = min(told.until + 25.0, path.length + 38.0)
        station = np.arange(first, last, 0.25)
        offset = np.asarray(told.offset(station), dtype=float) * np.clip((station - first) / 15.0, 0.0, 1.0)
        if told.until < path.length:
            offset = offset + told.leave * np.clip((station - told.until) / 30.0, 0.0, None) ** 2
        points = path.at(station)
        line = np.column_stack([points.x - offset * np.sin(points.heading), points.y + offset * np.cos(points.heading)])
        moved, began = self._along(line, friction=told.friction)
        about = np.interp(np.arange(len(moved)) / RATE, *began)
        driven_station = np.interp(about, _arc(line), station)
        time = self.now + np.arange(len(moved)) / RATE
        passed = [
            float(np.interp(s - FRONT, driven_station, time)) if s - FRONT < driven_station[-1] else np.nan
            for s in (0.0, path.length)
        ]
        self.truth.append(tuple(passed))
        self.passed.append((driven_station + FRONT, time))
        self.pieces.append(moved)

    def _along(self, line, *, friction):
        """Motion from rest to rest; and time against distance."""
        arc = _arc(line)
        curve = CubicSpline(arc, line)
        even = np.linspace(0.0, arc[-1], max(int(arc[-1] / 0.1), 20))
        d1, d2 = curve(even, 1), curve(even, 2)
        bend = (d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]) / np.hypot(*d1.T) ** 3
        circle = FrictionCircle(friction=friction, specific_power=110.0)
        profile = speed_profile(even, bend, circle, start_speed=0.05, end_speed=0.05)
        time = np.arange(0.0, profile.time, 1.0 / RATE)
        at = CubicSpline(profile.elapsed, even)(time)
        return np.column_stack([curve(at), np.interp(at, even, profile.speed)]), (time, at)

    def go_back(self, *, back=0.0):
        """Round the outside to so far behind the staging place, slowly and in turns that a car can make."""
        here, home, path = self.pieces[-1][-1, :2], self._staged(back), self.geometry.path
        gone = here - self.pieces[-2][-60, :2] if len(self.pieces) > 1 else np.array([1.0, 0.0])
        corner = np.array([path.x.min() - 30.0, path.y.min() - 30.0])
        heading = float(path.at(np.array([0.0])).heading[0])
        along = np.array([np.cos(heading), np.sin(heading)])
        line = _steered(here, np.arctan2(gone[1], gone[0]), towards=[corner, home - 50.0 * along], end=(home, along))
        self.pieces.append(self._along(line, friction=0.06)[0])

    def track(self, rng, *, noise=0.0, bias=0.0, correlation=4.0):
        """The recording with smooth position noise; `bias` is one shift for all of it. [m]"""
        motion = np.vstack(self.pieces)
        n = len(motion)
        time = np.arange(n) / RATE
        wander = gaussian_filter1d(rng.normal(size=(n, 2)), correlation * RATE / 2.0, axis=0)
        wander *= noise / max(float(wander.std()), 1e-12)
        place = motion[:, :2] + wander + bias * rng.normal(size=2)

        def wandering(generator, count):
            fresh = gaussian_filter1d(generator.normal(size=(count, n, 2)), correlation * RATE / 2.0, axis=1)
            return fresh * noise / max(float(fresh.std()), 1e-12)

        told = track_of(time, motion[:, :2], place=place, deviation=float(np.hypot(noise, bias)))
        shifts = track_of(time, motion[:, :2], place=place, deviation=bias)
        return replace(told, sample_positions=lambda g, count: shifts.sample_positions(g, count) + wandering(g, count))


def _steered(place, heading, *, towards, end, radius=6.0, step=0.25):
    """A line from a place towards others and up to an end in a direction, nowhere tighter than a radius. [m]"""
    home, along = end
    places = [np.asarray(place, dtype=float)]
    targets = list(towards)
    while (left := (home - places[-1]) @ along) > 0.0 or targets:
        while targets and np.hypot(*(targets[0] - places[-1])) < 2.5 * radius:
            targets.pop(0)
        aim = (targets[0] if targets else home - max(left - 8.0, -8.0) * along) - places[-1]
        turn = (np.arctan2(aim[1], aim[0]) - heading + np.pi) % (2.0 * np.pi) - np.pi
        heading += np.clip(turn, -step / radius, step / radius)
        places.append(places[-1] + step * np.array([np.cos(heading), np.sin(heading)]))
    line = gaussian_filter1d(np.array(places), 4.0, axis=0, mode="nearest")
    share = np.clip(1.0 - np.arange(len(line))[::-1] / 80.0, 0.0, 1.0)
    return line + share[:, None] * (home - line[-1]) + share[::-1, None] * (place - line[0])


def _arc(line):
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def track_of(time, motion, *, place=None, deviation=0.0):
    """A track of places of the car, with its motion by differences."""
    place = motion if place is None else place
    rate = np.gradient(motion, time, axis=0)
    rate = gaussian_filter1d(rate, 2.0, axis=0)
    speed = np.hypot(*rate.T)
    heading = np.unwrap(np.arctan2(rate[:, 1], rate[:, 0]))
    still = speed < 0.05
    moving = np.flatnonzero(~still)
    if still.any() and len(moving):
        heading[still] = heading[moving[np.clip(np.searchsorted(moving, np.flatnonzero(still)), 0, len(moving) - 1)]]
    yaw_rate = np.gradient(np.unwrap(heading), time)
    n, ones = len(time), np.ones(len(time))
    covariance = np.tile(max(deviation, 1e-3) ** 2 * np.eye(2), (n, 1, 1))

    def sample_positions(generator, count):
        shift = generator.normal(size=(count, 1, 2)) * deviation
        return place[None] + shift

    return Track(
        time=time,
        x=place[:, 0],
        y=place[:, 1],
        speed=speed,
        heading=np.unwrap(heading),
        yaw_rate=yaw_rate,
        longitudinal_acceleration=np.gradient(speed, time),
        lateral_acceleration=speed * yaw_rate,
        position_covariance=covariance,
        speed_deviation=0.05 * ones,
        heading_deviation=0.01 * ones,
        yaw_rate_deviation=0.01 * ones,
        longitudinal_acceleration_deviation=0.2 * ones,
        lateral_acceleration_deviation=0.2 * ones,
        position_rate=10.0,
        sample_positions=sample_positions,
    )


def day_of(geometry, drives):
    """Tries one after the other, with standing before and driving round between."""
    day = Day(geometry)
    for told, after in zip(drives, [*drives[1:], Drive()], strict=True):
        day.stand(15.0, back=told.staged)
        day.drive(told)
        day.stand(7.0 if told.until < np.inf else 3.0)
        day.go_back(back=after.staged)
    day.stand(5.0)
    return day


def moved(track, *, turn=0.0, east=0.0, north=0.0, later=0.0):
    """The same motion seen in a turned and shifted plane, at another time."""
    cos, sin = np.cos(turn), np.sin(turn)
    rotation = np.array([[cos, -sin], [sin, cos]])
    place = np.column_stack([track.x, track.y]) @ rotation.T + np.array([east, north])
    return replace(
        track,
        time=track.time + later,
        x=place[:, 0],
        y=place[:, 1],
        heading=track.heading + turn,
        position_covariance=rotation @ track.position_covariance @ rotation.T,
        sample_positions=lambda generator, count: (
            track.sample_positions(generator, count) @ rotation.T + np.array([east, north])
        ),
    )
