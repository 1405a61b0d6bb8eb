"""Words of column names: what they mean, and which of them make which quantity. The data of the recognition."""

from __future__ import annotations

import difflib
import re
from functools import cache

# A meaning, then the words for it. A word of several meanings stands in several lines.
_MEANINGS = """
lat: lat latitude breite
lon: lon long lng longitude laenge
lateral: lat lateral transverse sideways side quer latg latacc lataccel
longitudinal: lon long longitudinal fore inline laengs longg longacc longaccel lonacc
alt: alt altitude height elevation elev ele hmsl msl hoehe
speed: speed spd velocity velo vel v sog vitesse geschwindigkeit tempo kmh mph kph
ground: ground sog over horizontal
course: course cog track heading hdg bearing direction kurs
position: position pos coordinate coord location local plane enu odom
east: east easting ost
north: north northing nord
accuracy: accuracy acc hacc epe eph precision uncertainty sigma std stddev stdev error err hpe cep
horizontal: horizontal hor h hacc epe eph hpe
vertical: vertical vert v vacc epv
hdop: hdop
dop: pdop vdop gdop tdop dop
satellites: satellites satellite sats sat nsat nsats numsat numsats numsv sv svs siv satcount
view: view visible tracked
used: used use fix
fix: fix
quality: quality qual
accel: accel acceleration accelerometer acc accl acceler force gforce latg longg latacc lataccel longacc lonacc
    longaccel beschleunigung a accx accy accz ax ay az
gforce: g gs
rate: rate gyro gyroscope gyr rotation angular omega turn rot w wx wy wz gyrox gyroy gyroz gyrx gyry gyrz yawrate
    rollrate pitchrate velocity dot vel speed
gx: gx gfx
gy: gy gfy
gz: gz gfz
x: x ax accx wx gyrox gyrx xacc xaccel xgyro
y: y ay accy wy gyroy gyry yacc yaccel ygyro
z: z az accz wz gyroz gyrz zacc zaccel zgyro
yaw: yaw yawrate gier
roll: roll rollrate
pitch: pitch pitchrate
wheel: wheel whl ws wss wheelspeed
corner: fl fr rl rr lf rf lr front rear left right avg average mean driven undriven
steer: steer steering swa handwheel stw lenkwinkel
angle: angle ang winkel pos position swa
throttle: throttle tps thr accelerator pps app gas thrott pedal
brake: brake brk brakes braking bremse
pressure: pressure press pres prs
pedal: pedal position pos percent pct
engine: engine eng motor ecu crank crankshaft
rpm: rpm revs rev drehzahl nmot tach tacho engspd enginespeed
gear: gear gearpos gang
time: time t timestamp elapsed clock utc tow tod seconds secs sec millis millisecond milliseconds ms timecode epoch
    unixtime systime zeit datetime timestamps timer
date: date day datum
context: gps gnss gnsss can obd imu sensor phone device car vehicle veh raw log data ins nav receiver calc filtered
    filt corrected signal channel ch value body chassis the of in m s deg
count: num number count no counter
other: type mode state temp temperature volt voltage battery batt vbat bat lap sector split distance dist odometer
    odo trip fuel lambda afr oil coolant water intake boost map maf torque power current gravity magnetic
    magnetometer mag field light sound noise lux humidity barometer baro status error valid validity flag sample row
    frame packet user marker note comment name session run delta predicted target setpoint min max limit undulation
    geoid separation age station checksum crc heart pulse cadence linear slope grade gradient radius curvature duty
    advance ignition injector knock damper suspension ride tire tyre slip trigger beacon session_id version serial
    mount interval gap rssi snr cno variation declination true rank fence uptime rate_hz quaternion qw qx qy qz
    euler azimuth inclination spare reserved confirmed accumulated total jerk load mass weight wind air ambient
    track_id segment clutch handbrake abs tc ecu_state charge soc index id
"""


@cache
def _vocabulary() -> dict[str, frozenset[str]]:
    words: dict[str, set[str]] = {}
    for line in _MEANINGS.replace("\n    ", " ").strip().splitlines():
        meaning, _, listed = line.partition(": ")
        for word in listed.split():
            words.setdefault(word, set()).add(meaning)
    return {word: frozenset(meanings) for word, meanings in words.items()}


# A quantity, then the ways to name it: what must be said (one meaning of each group), and what may be said with it.
# The number is how sure the words alone make it.
Pattern = tuple[float, tuple[str, ...], str]
PATTERNS: dict[str, tuple[Pattern, ...]] = {
    "latitude": ((6.0, ("lat",), "position"),),
    "longitude": ((6.0, ("lon",), "position"),),
    "altitude": ((6.0, ("alt",), "position"),),
    "x": ((4.5, ("x", "position"), "east"), (4.5, ("east",), "position x"), (1.0, ("x",), "")),
    "y": ((4.5, ("y", "position"), "north"), (4.5, ("north",), "position y"), (1.0, ("y",), "")),
    "speed": ((6.0, ("speed",), "ground horizontal"),),
    "course": ((5.5, ("course",), "ground speed angle"),),
    "horizontal_accuracy": (
        (5.5, ("accuracy", "horizontal"), "position"),
        (5.0, ("accuracy", "position"), "horizontal"),
        (2.5, ("accuracy",), ""),
    ),
    "hdop": ((7.0, ("hdop",), "horizontal"),),
    "satellites": ((6.0, ("satellites",), "used fix count"),),
    "fix_quality": ((9.0, ("fix", "quality"), "position"),),
    "longitudinal_acceleration": ((6.5, ("longitudinal", "accel"), "gforce x"), (6.5, ("longitudinal", "gforce"), "x")),
    "lateral_acceleration": ((6.5, ("lateral", "accel"), "gforce y"), (6.5, ("lateral", "gforce"), "y")),
    "yaw_rate": ((6.0, ("yaw", "rate"), "z angle"),),
    "wheel_speed": (
        (6.5, ("wheel", "speed"), "corner"),
        (4.5, ("wheel", "corner"), "speed"),
        (4.0, ("wheel",), "corner"),
    ),
    "handwheel_angle": (
        (6.5, ("steer", "angle"), "wheel"),
        (5.0, ("steer",), "wheel"),
        (6.0, ("steer", "wheel"), "angle"),
    ),
    "throttle": ((6.0, ("throttle",), "pedal angle position"),),
    "brake": ((6.0, ("brake",), "pressure pedal corner angle position"),),
    "engine_speed": ((6.0, ("rpm",), "engine speed"), (6.0, ("engine", "speed"), "rpm")),
    "gear": ((6.0, ("gear",), "position"),),
    "time": ((6.0, ("time",), ""),),
    "date": ((6.0, ("date",), ""), (4.0, ("date", "time"), "")),
}
for _axis, _turn in (("x", "roll"), ("y", "pitch"), ("z", "yaw")):
    PATTERNS[f"sensor_acceleration_{_axis}"] = (
        (6.0, ("accel", _axis), "gforce"),
        (6.0, ("gforce", _axis), "accel"),
        (3.5, (f"g{_axis}",), f"accel gforce {_axis}"),
    )
    PATTERNS[f"sensor_rate_{_axis}"] = (
        (6.0, ("rate", _axis), ""), (3.5, (f"g{_axis}",), f"rate {_axis}"), (6.0, (_turn, "rate"), "angle"),
    )  # fmt: skip


@cache
def tokens(name: str) -> tuple[str, ...]:
    """Words of a name, in lower case: cut at signs, at digits and where small letters turn into capitals.

    Examples
    --------
    >>> tokens("GPS_Speed"), tokens("accelX"), tokens("wheelSpeedFL 2")
    (('gps', 'speed'), ('accel', 'x'), ('wheel', 'speed', 'fl'))
    """
    cut = re.sub(r"([a-z])([A-Z])", r"\1 \2", name)
    cut = re.sub(r"([A-Z])([A-Z][a-z]{2,})", r"\1 \2", cut)
    cut = re.sub(r"[^A-Za-zäöüÄÖÜ]+", " ", re.sub(r"\b2[dD]\b", "horizontal", cut))
    plain = cut.lower().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return tuple(plain.split())


@cache
def meanings(word: str) -> tuple[list[frozenset[str]], float]:
    """What a word may mean, part by part, and how sure that is (1 for a word as listed); empty where nobody knows.

    A word that is not listed is taken apart into listed ones, then completed where it was cut off, then held
    against the listed ones for a slip of the pen.
    """
    vocabulary = _vocabulary()
    if word in vocabulary:
        return [vocabulary[word]], 1.0
    parts = _apart(word)
    if parts:
        return [vocabulary[part] for part in parts], 0.9
    if len(word) >= 4:
        begun = [listed for listed in vocabulary if listed.startswith(word)]
        if begun:
            return [frozenset().union(*(vocabulary[listed] for listed in begun))], 0.85
        close = difflib.get_close_matches(word, [w for w in vocabulary if len(w) >= 4], n=1, cutoff=0.75)
        if close:
            return [vocabulary[close[0]]], 0.8
    return [], 0.0


@cache
def _apart(word: str) -> tuple[str, ...]:
    """A word as listed words written together: as few as possible, single letters last; () where none fit."""
    best: dict[int, tuple[str, ...]] = {0: ()}
    for end in range(1, len(word) + 1):
        for start in sorted(best):
            part = word[start:end]
            fits = part in _vocabulary() and (len(part) >= 3 or end == len(word) or (start == 0 and len(part) == 2))
            if start < end and fits and (end not in best or len(best[start]) + 1 < len(best[end])):
                best[end] = (*best[start], part)
    return best.get(len(word), ()) if len(best.get(len(word), ())) <= 5 else ()
