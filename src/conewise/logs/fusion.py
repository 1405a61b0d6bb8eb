"""Fusing: from the channels of a log to the smoothed motion of the car, with how sure it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

import numpy as np

from conewise.findings import Finding, Sentence, Value
from conewise.logs import motion
from conewise.logs.arms import Turning, accelerations_off, change_of
from conewise.logs.doubted import doubted
from conewise.logs.drawn_paths import draw
from conewise.logs.kalman import SEEN, WIDTH
from conewise.logs.liveliness import UNDER_WAY, liveliness_of
from conewise.logs.lost import lost_stretches
from conewise.logs.passes import Filtered, Problem, backward, filtered_room, forward, smoothed_states
from conewise.logs.problem import Known, prepare
from conewise.logs.sensor_model import SensorModel
from conewise.logs.sensors import SENSOR_AXES
from conewise.logs.track import Track
from conewise.logs.wander import LEAST_LEFT, beyond_belief

if TYPE_CHECKING:
    from collections.abc import Callable

    from conewise.course.earth import LocalPlane
    from conewise.findings import Severity
    from conewise.logs.log import Array, Log
    from conewise.logs.passes import Flags
    from conewise.logs.problem import Prepared

MOST_PASSES = 8
SETTLED = 0.01  # change of a position between two passes [m]
KNOWN_WELL = 0.01  # what may be left of delays [s] and mounting [rad]
MOST_ROUNDS = 5
ROUNDS_TO_KNOW = 2  # delays and mounting that have not settled after so many are left aside
POSITIONS, SPEEDS = (motion.AT_X, motion.AT_Y), (motion.EAST_SPEED, motion.NORTH_SPEED, motion.SPEED)
FEW = 50  # readings that say nothing about their noise
WORSE = 1.4  # squared normalised innovation, in the median, from which a receiver is believed to be worse than it says
BETTER = 0.7  # and below which its speeds are believed to be better
WHITE = 0.2  # correlation of one innovation with the next up to which errors are independent; common practice
LEAST_SPEED_NOISE = 0.03  # no received speed is believed to be better [m/s]; common practice, no source
# How fast a body turns against its path, by how fast the path turns: the least of what eleven solved runs have, 0.15 to
# 0.27 (docs/models/fusion.md) [-]
BODY_TURNS = 0.15
UNKNOWN_ARM = 0.5  # from the centre of gravity to a phone on the windscreen or an antenna on the roof [m]
GRAVITY = 9.80665  # standard [m/s2]
NO_PATH = np.zeros((0, 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Smoothed:
    """The last pass over a log.

    state: shape (n_steps, WIDTH), at the beginning of each step; see `conewise.logs.motion`
    covariance: shape (n_steps, N_MOVING, N_MOVING), of its moving part as `moving_of` has it
    path: like state, at which the pass was linearised
    restarts: shape (n_steps,), where the filter started anew
    """

    state: Array
    covariance: Array
    path: Array
    filtered: Filtered
    restarts: Flags


def fuse(log: Log, *, plane: LocalPlane | None = None, model: SensorModel | None = None) -> Track:
    """The motion of the car that explains a log best, 50 samples a second.

    Parameters
    ----------
    log : Log
        With positions or speeds of a receiver, or wheel speeds; inertial sensors and channels of the car as there are.
    plane : LocalPlane, optional
        In which latitudes and longitudes are laid; left out: the plane through the first position.
    model : SensorModel, optional
        What is believed of the sensors where the log does not say.

    Returns
    -------
    Track
        Of the centre of gravity where the log tells the antenna's arm, else of the place where the antenna sits. Its
        findings say what was used, guessed and left out.

    Raises
    ------
    NothingToFuseError
        Where the log has neither positions nor speeds.

    Notes
    -----
    Extended Kalman filter and Rauch-Tung-Striebel smoother, repeated at the smoothed path until the path stays
    (docs/models/fusion.md).
    """
    return track_of(*fused(log, plane=plane, model=model or SensorModel()))


def fused(log: Log, *, plane: LocalPlane | None, model: SensorModel) -> tuple[Prepared, Smoothed]:
    """The last problem and pass of a log.

    Once more where the passes before found other delays or another mounting than guessed; then, with those, where the
    receiver is worse than it says, or its speeds are better. Sensors that disagree grossly with it are left out.
    """
    prepared = prepare(log, plane=plane, model=model)
    without = doubted(log, prepared)
    if without.kinds:
        log = without.without(log)
        prepared = prepare(log, plane=prepared.plane, model=model)
    smoothed = smooth(prepared)
    for n_rounds in range(1, MOST_ROUNDS):
        off = smoothed.state[0, prepared.problem.places[[motion.DELAY, motion.SPEED_DELAY, motion.MOUNTING]]]
        is_known, before = bool(np.max(np.abs(off)) < KNOWN_WELL), model
        if is_known or n_rounds > ROUNDS_TO_KNOW:  # a delay that is wrong and said to be makes innovations small
            model = _found(model, prepared, smoothed)
        if is_known and model == before:
            break
        at, of = prepared.known.delays
        known = Known((at + off[0], of + off[1]), prepared.known.mounting + off[2])
        del smoothed
        prepared = prepare(log, plane=prepared.plane, model=model, known=known)
        smoothed = smooth(prepared)
    return replace(prepared, doubted=without), smoothed


def _found(model: SensorModel, prepared: Prepared, smoothed: Smoothed) -> SensorModel:
    """The model with the receiver's noise that its innovations show, and how lively the car is driven."""
    filtered, lively = smoothed.filtered, model.liveliness
    if prepared.inertial is None:
        lively = liveliness_of(prepared, model, path=smoothed.state, restarts=smoothed.restarts)
    return replace(
        model,
        liveliness=lively,
        white_factor=model.white_factor * _excess(prepared, filtered, POSITIONS),
        received_speed=max(model.received_speed * _speed_factor(prepared, filtered), LEAST_SPEED_NOISE),
    )


def _innovations(prepared: Prepared, filtered: Filtered, kinds: tuple[int, ...]) -> Array:
    """Normalised innovations of some readings while the car moves, in their order."""
    problem = prepared.problem
    step = np.searchsorted(problem.first, np.arange(problem.kind.size), side="right") - 1
    use = np.isin(problem.kind, kinds) & ~prepared.rest[step]
    return np.asarray(filtered.innovation[use] / np.sqrt(np.abs(filtered.spread[use])))


def _excess(prepared: Prepared, filtered: Filtered, kinds: tuple[int, ...]) -> float:
    """How many times larger than believed the noise of some readings must be; 1 where they are as good as believed."""
    size = _size(_innovations(prepared, filtered, kinds))
    return size if size**2 > WORSE else 1.0


def _size(innovations: Array) -> float:
    """Standard deviation of normalised innovations from their median square, which is 0.455 for normal ones."""
    return 1.0 if innovations.size < FEW else float(np.sqrt(np.median(innovations**2) / 0.455))


def _speed_factor(prepared: Prepared, filtered: Filtered) -> float:
    """How many times as large as believed the noise of received speeds is; 1 where they are as good as believed.

    Smaller only where an inertial sensor foretells them, and each component has shown in enough readings that one
    error says nothing of the next: a receiver that smooths its speeds has small innovations and errors that last.
    """
    worse = _excess(prepared, filtered, SPEEDS)
    each = [_innovations(prepared, filtered, (kind,)) for kind in SPEEDS]
    size = _size(np.concatenate(each))
    if worse > 1.0 or prepared.inertial is None or size**2 > BETTER:
        return worse
    is_white = all(_is_white(one) for one in each if one.size)
    return size if is_white else 1.0


def _is_white(innovations: Array) -> bool:
    """Whether it is established that one says nothing of the next; never by fewer than `FEW`."""
    if innovations.size < FEW:
        return False
    return bool(abs(np.corrcoef(innovations[1:], innovations[:-1])[0, 1]) < WHITE)


def smooth(prepared: Prepared) -> Smoothed:
    """Filter and smooth, then again around the smoothed path until it stays.

    The first pass filters along its own predictions where a gyroscope carries the direction from fix to fix. Without
    one it goes along the first guess, and leaves nothing out, since predictions can be wrong by a whole turn.
    """
    problem, restarts = prepared.problem, prepared.restarts.copy()
    filtered = filtered_room(problem)
    if prepared.has_rate:
        forward(problem, NO_PATH, restarts, filtered)
    else:
        forward(problem._replace(gate=np.inf), _guessed_path(problem), restarts, filtered)
    state = smoothed_states(problem, filtered, restarts)
    for _ in range(MOST_PASSES - 1):
        before = state
        forward(problem, before, restarts, filtered)
        state = smoothed_states(problem, filtered, restarts)
        if np.max(np.abs(state[:, :2] - before[:, :2])) < SETTLED:
            break
    state, covariance = backward(problem, filtered, restarts)
    return Smoothed(state=state, covariance=covariance, path=before, filtered=filtered, restarts=restarts)


def _guessed_path(problem: Problem) -> Array:
    """States of the first guess."""
    path = np.zeros((problem.guess.shape[0], WIDTH))
    path[:, : problem.mean.size] = problem.mean
    path[:, [motion.X, motion.Y, motion.YAW, motion.FORWARD]] = problem.guess
    path[:, motion.YAW_RATE] = np.gradient(problem.guess[:, 2], problem.step)
    path[:, motion.FORWARD_CHANGE] = np.gradient(problem.guess[:, 3], problem.step)
    return path


def track_of(prepared: Prepared, smoothed: Smoothed) -> Track:
    """The track of smoothed states: values in the middle of each step, deviations by the derivatives of each."""
    moving = moving_of(prepared.problem, smoothed.state)
    antenna = prepared.antenna or (0.0, 0.0)
    values = _outputs(moving, antenna)
    slopes = _slopes(moving, antenna)  # (n, 7 outputs, 8 states)
    spread = np.einsum("nij,njk,nlk->nil", slopes, smoothed.covariance, slopes)
    variance = np.maximum(np.einsum("nii->ni", spread), 0.0)
    if prepared.inertial is not None:
        moves, left = ~prepared.rest, _left_of_inertial(prepared, smoothed)
        share = np.square(1.0 - np.append(0.0, np.mean(smoothed.state[:, [motion.PITCH, motion.ROLL]], axis=0)))
        beyond = share * beyond_belief(left, prepared.problem, np.median(variance[moves, 4:], axis=0) / share)
        variance[moves, 4:] = np.maximum(variance[moves, 4:] + beyond, LEAST_LEFT * variance[moves, 4:])
    body_turns = 0.0
    if not prepared.has_rate and not prepared.rest.all():
        body_turns = BODY_TURNS * float(np.sqrt(np.mean(np.square(values[~prepared.rest, 4]))))
        variance[~prepared.rest, 4] += body_turns**2
    sd = np.sqrt(variance)
    x, y, speed, heading, rate, along, across = values.T
    return Track(
        time=prepared.steps.middles,
        x=x,
        y=y,
        speed=speed,
        heading=np.unwrap(heading),
        yaw_rate=rate,
        longitudinal_acceleration=along,
        lateral_acceleration=across,
        position_covariance=spread[:, :2, :2],
        speed_deviation=sd[:, 2],
        heading_deviation=sd[:, 3],
        yaw_rate_deviation=sd[:, 4],
        longitudinal_acceleration_deviation=sd[:, 5],
        lateral_acceleration_deviation=sd[:, 6],
        position_rate=1.0 / prepared.receiver.interval,
        sample_positions=_sampler(prepared.problem, smoothed, (values[:, :2], slopes[:, :2])),
        body_turns=body_turns,
        has_rate=prepared.has_rate,
        plane=prepared.plane,
        lost=lost_stretches(
            prepared.receiver.time,
            time=prepared.steps.middles,
            speed=speed,
            variance=np.trace(spread[:, :2, :2], axis1=1, axis2=2) / 2.0,
        ),
        doubted=prepared.doubted.kinds,
        findings=findings_of(prepared, smoothed),
    )


def _left_of_inertial(prepared: Prepared, smoothed: Smoothed) -> list[tuple[Array, Array]]:
    """What smoothing leaves of each channel of the inertial sensor while the car moves, and the readings' variances."""
    problem, state, left = prepared.problem, smoothed.state, []
    step = np.searchsorted(problem.first, np.arange(problem.kind.size), side="right") - 1
    for kind, at, bias in (
        (motion.SENSOR_RATE, motion.YAW_RATE, motion.BIAS_RATE),
        (motion.SENSOR_X, motion.FORWARD_CHANGE, motion.BIAS_X),
        (motion.SENSOR_Y, motion.SIDEWAYS_CHANGE, motion.BIAS_Y),
    ):
        use = (problem.kind == kind) & ~prepared.rest[step]
        told = state[step[use], at] + state[step[use], problem.places[bias]]
        left.append((problem.value[use] - told, problem.variance[use]))
    return left


def moving_of(problem: Problem, state: Array) -> Array:
    """The moving states with the changes of the speeds last, whatever drives them; shape (n, N_MOVING)."""
    moving, rows = state[:, : motion.N_MOVING].copy(), np.zeros((SEEN, WIDTH))
    for k, each in enumerate(state):
        moving[k, motion.FORWARD_CHANGE :] = motion.seen(each, problem.places, rows)
    return moving


CREEP = 0.3  # below about this speed the direction of travel fades into that of the body [m/s]


def _outputs(moving: Array, antenna: tuple[float, float] = (0.0, 0.0), change: Array | None = None) -> Array:
    """x, y, speed, heading, yaw rate, longitudinal and lateral acceleration half a step on; shape (n, 7).

    Of the centre of gravity; the states are those of the antenna, which sits so far forward and to the left of it.
    change: of the yaw rate, where it is known; from the states if not [rad/s2]
    """
    x, y, yaw, u, v, r, du, dv = moving.T
    half = motion.STEP / 2.0
    drift = dv - v / motion.SIDEWAYS_MEMORY
    ahead, aside = half * (u + half * du / 2.0), half * (v + half * drift / 2.0)
    c, s = np.cos(yaw + half * r / 2.0), np.sin(yaw + half * r / 2.0)
    east, north = ahead * c - aside * s, ahead * s + aside * c
    u, v = u + half * du + r * antenna[1], v + half * drift - r * antenna[0]
    sideslip = np.arctan2(v * np.abs(u), u * u + CREEP**2)
    more = accelerations_off(antenna, Turning(r, change_of(r) if change is None else change))
    felt_along, felt_across = du - r * (v + r * antenna[0]) - more[0], drift + r * (u - r * antenna[1]) - more[1]
    c, s = np.cos(yaw + half * r), np.sin(yaw + half * r)
    cb, sb = np.cos(sideslip), np.sin(sideslip)
    backwards = u < -CREEP
    sign = np.where(backwards, -1.0, 1.0)
    sideslip = np.where(backwards, np.pi - sideslip, sideslip)
    return np.column_stack(
        [
            x + east - antenna[0] * c + antenna[1] * s,
            y + north - antenna[0] * s - antenna[1] * c,
            np.hypot(u, v),
            yaw + half * r + sideslip,
            r,
            sign * felt_along * cb + felt_across * sb,
            sign * felt_across * cb - felt_along * sb,
        ]
    )


def _slopes(moving: Array, antenna: tuple[float, float] = (0.0, 0.0)) -> Array:
    """Derivatives of the outputs by the moving states, shape (n, 7, N_MOVING), by central differences."""
    slopes, turns = np.zeros((moving.shape[0], 7, motion.N_MOVING)), change_of(moving[:, motion.YAW_RATE])
    for i in range(motion.N_MOVING):
        step = np.zeros(motion.N_MOVING)
        step[i] = 1e-5
        change = _outputs(moving + step, antenna, turns) - _outputs(moving - step, antenna, turns)
        slopes[:, :, i] = change / 2e-5
    return slopes


def _sampler(
    problem: Problem, smoothed: Smoothed, out: tuple[Array, Array]
) -> Callable[[np.random.Generator, int], Array]:
    """Draws paths of the positions from the joint posterior."""
    place, slopes = out

    def sample_positions(rng: np.random.Generator, count: int) -> Array:
        paths = np.empty((count, *place.shape))
        for path in paths:
            noise = (
                rng.standard_normal((problem.first.size - 1, problem.start.size)),
                rng.standard_normal(problem.kind.size),
            )
            off = draw(problem, smoothed.filtered, smoothed.restarts, noise)
            path[:] = place + np.einsum("nij,nj->ni", slopes, off)
        return paths

    return sample_positions


def findings_of(prepared: Prepared, smoothed: Smoothed) -> tuple[Finding, ...]:
    """What was used, guessed and left out."""
    receiver, found = prepared.receiver, list(prepared.doubted.findings)
    if not receiver.time.size:
        found.append(_note("no-positions", "The log has no positions: the path starts at the origin and drifts."))
    elif receiver.n_repeated:
        message = f"{receiver.n_repeated} positions repeat the one before and were left out."
        found.append(_note("repeated-positions", message))
    if receiver.time.size and prepared.antenna is None:
        found.append(_unknown_arm(smoothed.state[:, motion.YAW_RATE], smoothed.state[:, motion.FORWARD]))
    if prepared.inertial is None and not prepared.doubted.kinds & set(SENSOR_AXES):
        message = "No inertial sensor of six axes that feels gravity: between two fixes the motion is a guess."
        found.append(_note("no-inertial", message))
    elif prepared.inertial is not None and not prepared.inertial.is_levelled:
        message = "The car never stands in this log, so that the sensor was levelled by the mean of the whole log."
        found.append(Finding("warning", "never-at-rest", message))
    if any(prepared.known.delays):
        message = "The receiver tells positions {:.2f} s and speeds {:.2f} s late; this is undone."
        found.append(_note("receiver-delay", message.format(*prepared.known.delays)))
    kind, is_out = prepared.problem.kind, smoothed.filtered.spread < 0.0
    n_out = int(np.sum(is_out & (kind == motion.AT_X)))
    if n_out:
        n_all = int(np.sum(kind == motion.AT_X))
        message = f"{n_out} of {n_all} positions disagree with everything else and were left out."
        found.append(Finding("warning" if n_out > n_all / 50 else "note", "positions-left-out", message))
    return (*found, *_anew(prepared, smoothed))


def _anew(prepared: Prepared, smoothed: Smoothed) -> list[Finding]:
    """Where the filter started anew: after pauses of the recording, usual between runs, and for other reasons."""
    found = []
    paused, lost = prepared.restarts & smoothed.restarts, smoothed.restarts & ~prepared.restarts
    for severity, restarts, why in (
        ("note", paused, "The recording paused, as between runs, and the filter started anew"),
        ("warning", lost, "The filter started anew"),
    ):
        anew = prepared.steps.middles[restarts]
        if anew.size:
            times = ", ".join(f"{time:.1f}" for time in anew[:5]) + (" and later" if anew.size > 5 else "")
            message = f"{why}: the motion before says nothing of the motion after."
            found.append(Finding(cast("Severity", severity), "started-anew", message, where=f"at {times} s"))
    return found


def _unknown_arm(rate: Array, forward: Array) -> Finding:
    """What it may do that nobody told where the antenna sits: in the hardest turns, one moment of twenty on the way."""
    moving = np.abs(forward) > UNDER_WAY
    if not moving.any():
        moving[:] = True
    speed = UNKNOWN_ARM * float(np.percentile(np.abs(rate)[moving], 95.0))
    acceleration = UNKNOWN_ARM * float(np.percentile(np.hypot(rate**2, change_of(rate))[moving], 95.0))
    arm = Value(UNKNOWN_ARM, "length", 1)
    message = Sentence(
        "Where the antenna sits in the car is not told. {} away from the centre of gravity puts places {} off to that "
        f"side, and where this car turns hard speeds by {{}} and accelerations by {acceleration / GRAVITY:.3f} g. "
        "A mapping file with [arms] undoes it.",
        arm, arm, Value(speed, "speed", 2),
    )  # fmt: skip
    return _note("arm-unknown", message)


def _note(code: str, message: str) -> Finding:
    return Finding("note", code, message)
