"""A recording as it came from a device: channels in SI units, each with its own clock, and what is wrong with them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from conewise.findings import Finding

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ChannelKind:
    """What a channel measures.

    unit: SI, or degrees for places on the earth.
    low, high: what a car on a lot can show; values outside are findings.
    """

    unit: str
    meaning: str
    low: float
    high: float


KINDS: dict[str, ChannelKind] = {
    "latitude": ChannelKind("deg", "WGS84 latitude", -90.0, 90.0),
    "longitude": ChannelKind("deg", "WGS84 longitude", -180.0, 180.0),
    "altitude": ChannelKind("m", "height", -500.0, 5000.0),
    "x": ChannelKind("m", "local plane, east", -1e5, 1e5),
    "y": ChannelKind("m", "local plane, north", -1e5, 1e5),
    "speed": ChannelKind("m/s", "speed over ground", 0.0, 100.0),
    "course": ChannelKind("rad", "direction of travel from true north, clockwise", -10.0, 10.0),
    "horizontal_accuracy": ChannelKind("m", "standard deviation of the position, each axis", 0.0, 1000.0),
    "hdop": ChannelKind("1", "horizontal dilution of precision", 0.0, 100.0),
    "satellites": ChannelKind("1", "satellites used", 0.0, 100.0),
    "fix_quality": ChannelKind("1", "0 none, 1 GNSS, 2 differential, 4 fixed, 5 float (NMEA 0183 GGA)", 0.0, 9.0),
    "sensor_acceleration_x": ChannelKind("m/s2", "specific force along the sensor's own x axis", -80.0, 80.0),
    "sensor_acceleration_y": ChannelKind("m/s2", "specific force along the sensor's own y axis", -80.0, 80.0),
    "sensor_acceleration_z": ChannelKind("m/s2", "specific force along the sensor's own z axis", -80.0, 80.0),
    "sensor_rate_x": ChannelKind("rad/s", "turn rate about the sensor's own x axis", -20.0, 20.0),
    "sensor_rate_y": ChannelKind("rad/s", "turn rate about the sensor's own y axis", -20.0, 20.0),
    "sensor_rate_z": ChannelKind("rad/s", "turn rate about the sensor's own z axis", -20.0, 20.0),
    "longitudinal_acceleration": ChannelKind("m/s2", "of the car, forward", -30.0, 30.0),
    "lateral_acceleration": ChannelKind("m/s2", "of the car, to the left", -30.0, 30.0),
    "yaw_rate": ChannelKind("rad/s", "of the car, to the left", -5.0, 5.0),
    "wheel_speed": ChannelKind("m/s", "mean rolling speed of the wheels", 0.0, 100.0),
    "handwheel_angle": ChannelKind("rad", "steering wheel, to the left", -20.0, 20.0),
    "throttle": ChannelKind("1", "pedal, 0 to 1", -0.1, 1.1),
    "brake": ChannelKind("1", "pedal or pressure over its largest value, 0 to 1", -0.1, 1.1),
    "engine_speed": ChannelKind("rad/s", "crankshaft", 0.0, 2000.0),
    "gear": ChannelKind("1", "gear engaged, 0 neutral", -1.0, 12.0),
}


@dataclass(frozen=True, slots=True)
class Channel:
    """One quantity over its own time.

    time : Array, shape (n_samples,)
        Since the log's time zero, never falling. [s]
    value : Array, shape (n_samples,)
        In the unit of its kind; never NaN: what was not recorded has no sample.
    source : str
        Column, sentence or message that it came from, as a person would look it up in the file.
    """

    kind: str
    time: Array
    value: Array
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Arms:
    """Where the recorder sits in the car, each forward and to the left of the centre of gravity; None: not told. [m]

    sensor: of the inertial sensor; not told, it sits where the antenna does
    """

    antenna: tuple[float, float] | None = None
    sensor: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Log:
    """What one file recorded.

    channels: by kind (see `KINDS`); a kind appears once.
    start: the date and time (UTC) of time zero, where the file tells it.
    findings: what was wrong with the file and what was left out because of it.
    marks: start and end of each piece that the recorder itself marked, by button or by itself. [s]
    arms: where antenna and sensor sit in the car.
    """

    file: str
    channels: Mapping[str, Channel]
    start: datetime | None = None
    findings: tuple[Finding, ...] = field(default=())
    marks: tuple[tuple[float, float], ...] = ()
    arms: Arms = Arms()

    @property
    def duration(self) -> float:
        """From the first sample of any channel to the last. [s]"""
        starts = [channel.time[0] for channel in self.channels.values() if channel.time.size]
        ends = [channel.time[-1] for channel in self.channels.values() if channel.time.size]
        return float(max(ends) - min(starts)) if starts else 0.0
