"""Fusing simulated recordings of known motions: exact where nothing is wrong, sane where much is."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from conewise.course.earth import LocalPlane
from conewise.course.layout import Anchor
from conewise.logs import fusion, kalman, motion
from conewise.logs.fusion import fuse, fused
from conewise.logs.log import Channel, Log
from conewise.logs.moves import Moves, aims
from conewise.logs.problem import NothingToFuseError
from conewise.logs.simulated import SensorNoise, simulated_log
from tests.known_motions import GRAVITY, QUIET, errors, told, weaving

PHONE = SensorNoise()
QUANTITIES = ("speed", "heading", "yaw_rate", "longitudinal_acceleration", "lateral_acceleration")
ARRAYS = ("time", "x", "y", "position_covariance", *QUANTITIES, *(f"{name}_deviation" for name in QUANTITIES))


def recording(noise, seed=5, **others):
    return simulated_log(weaving(), rng=np.random.default_rng(seed), noise=noise, **others)


def changed(log, kinds, change):
    """The same log with some channels changed."""
    return replace(log, channels={k: change(c) if k in kinds else c for k, c in log.channels.items()})


def only(log, *kinds):
    return replace(log, channels={k: c for k, c in log.channels.items() if k in kinds})


def codes(track):
    return {finding.code for finding in track.findings}


def rms(values, known, track, *, above=1.0):
    moving = np.interp(track.time, known.time, known.speed) > above
    return float(np.sqrt(np.mean(values[moving] ** 2)))


def is_sane(track):
    """No value is missing, times are even, deviations are positive."""
    assert all(np.isfinite(getattr(track, name)).all() for name in ARRAYS)
    assert np.diff(track.time) == pytest.approx(0.02)
    assert np.all(np.linalg.eigvalsh(track.position_covariance) > 0.0)
    assert all(np.all(getattr(track, name) > 0.0) for name in ARRAYS if name.endswith("deviation"))
    assert np.all(track.speed >= 0.0)
    return True


def test_a_perfect_recording_gives_back_the_motion():
    known = weaving()
    track = fuse(recording(QUIET), model=told(QUIET))
    wrong = errors(known, track)
    assert is_sane(track)
    assert np.hypot(wrong["x"], wrong["y"]).max() < 0.02
    assert rms(wrong["speed"], known, track) < 0.02  # accelerations are held over a step of 0.02 s
    assert np.degrees(rms(wrong["heading"], known, track, above=2.0)) < 0.1
    assert rms(wrong["lateral_acceleration"], known, track, above=2.0) < 0.01 * GRAVITY


def test_a_phone_is_worth_what_its_deviations_say():
    """The stated accuracies; bench/bench_fusion.py measures them over many seeds."""
    known = weaving()
    track = fuse(recording(PHONE), model=told(PHONE))
    wrong = errors(known, track)
    assert is_sane(track)
    assert rms(wrong["speed"], known, track) < 0.15
    assert np.degrees(rms(wrong["heading"], known, track)) < 1.0
    assert rms(wrong["lateral_acceleration"], known, track) < 0.03 * GRAVITY
    assert track.position_rate == pytest.approx(10.0)


def test_rests_are_found_and_the_sensor_is_levelled_where_no_speed_is_told():
    known = weaving()
    prepared, _ = fused(recording(replace(PHONE, received_speed=None)), plane=None, model=told(PHONE))
    stands = np.interp(prepared.steps.middles, known.time, known.speed) < 0.01
    assert prepared.inertial.is_levelled
    assert np.mean(stands[prepared.rest]) > 0.98
    assert np.mean(prepared.rest[stands]) > 0.5


def test_a_receiver_is_not_judged_by_innovations_that_a_wrong_delay_made():
    """The first guess of the delay is 0.03 s off in these recordings; the noise of speeds is what the model is told."""
    for seed in (1, 4, 6):
        prepared, _ = fused(recording(PHONE, seed=seed), plane=None, model=told(PHONE))
        is_speed = prepared.problem.kind == motion.EAST_SPEED
        assert prepared.problem.variance[is_speed] == pytest.approx(PHONE.received_speed**2)


def test_nothing_need_be_told_of_the_sensors():
    known = weaving()
    track = fuse(recording(PHONE))
    wrong = errors(known, track)
    assert is_sane(track)
    assert rms(wrong["speed"], known, track) < 0.15
    delay = next(finding for finding in track.findings if finding.code == "receiver-delay")
    assert "positions 0.1" in delay.message  # 0.12 s


def test_the_delay_of_the_receiver_is_found():
    late = replace(PHONE, delay=0.8)
    known = weaving()
    track = fuse(recording(late), model=told(late))
    wrong = errors(known, track)
    # 0.8 s at 12 m/s would be 10 m
    assert rms(np.hypot(wrong["x"], wrong["y"]), known, track) < 1.5
    assert rms(wrong["speed"], known, track) < 0.15


@pytest.mark.parametrize("turned_round", ["acceleration", "rate"])
def test_a_sensor_of_the_other_sign_is_found_out(turned_round):
    """It tells pull for push, or its gyroscope counts clockwise."""
    kinds = {f"sensor_{turned_round}_{axis}" for axis in "xyz"}
    known, track = (
        weaving(),
        fuse(changed(recording(PHONE), kinds, lambda c: replace(c, value=-c.value)), model=told(PHONE)),
    )
    wrong = errors(known, track)
    assert np.degrees(rms(wrong["heading"], known, track)) < 1.0
    assert rms(wrong["lateral_acceleration"], known, track) < 0.03 * GRAVITY


def test_a_sensor_without_gravity_is_left_alone():
    """Some devices take gravity out of their accelerations: what is level cannot be told then."""
    nothing = {f"sensor_acceleration_{axis}" for axis in "xyz"}
    track = fuse(changed(recording(PHONE), nothing, lambda c: replace(c, value=0.0 * c.value)), model=told(PHONE))
    assert is_sane(track)
    assert "no-inertial" in codes(track)


@pytest.mark.parametrize("kinds", [("speed",), ("x", "y"), ("speed", "course", "sensor")])
def test_few_channels_are_enough(kinds):
    log = recording(PHONE)
    part = {kind: channel for kind, channel in log.channels.items() if kind.startswith(kinds)}
    assert is_sane(fuse(replace(log, channels=part)))


def test_clocks_that_stand_still_do_no_harm():
    """Times rounded to a tenth of a second, so that ten samples share one."""
    log = recording(replace(PHONE, vehicle_rate=50.0))
    assert is_sane(fuse(changed(log, set(log.channels), lambda c: replace(c, time=np.round(c.time, 1)))))


@pytest.mark.parametrize(
    ("noise", "most"),
    [
        (replace(PHONE, inertial_rate=0.0, delay=0.0), 0.3),
        (replace(PHONE, inertial_rate=0.0, delay=0.0, receiver_rate=1.0), 0.8),
        (replace(PHONE, inertial_rate=0.0, delay=0.0, receiver_rate=1.0, received_speed=None), 1.5),
        (replace(PHONE, receiver_rate=25.0, vehicle_rate=50.0), 0.15),
        (replace(PHONE, inertial_rate=0.0, vehicle_rate=50.0), 0.15),
        (replace(PHONE, receiver_rate=1.0), 0.3),
    ],
    ids=["10 Hz alone", "1 Hz alone", "1 Hz without speeds", "everything", "car and receiver", "1 Hz and inertial"],
)
def test_any_subset_gives_a_track(noise, most):
    known = weaving()
    track = fuse(recording(noise), model=told(noise))
    wrong = errors(known, track)
    assert is_sane(track)
    assert rms(wrong["speed"], known, track) < most
    assert np.mean(np.abs(wrong["speed"]) < 3.0 * track.speed_deviation) > 0.95


def test_wheels_and_yaw_rate_alone_are_dead_reckoning():
    noise = replace(PHONE, inertial_rate=0.0, vehicle_rate=50.0)
    known = weaving()
    track = fuse(only(recording(noise), "wheel_speed", "yaw_rate"), model=told(noise))
    assert is_sane(track)
    assert track.position_rate == 0.0
    assert "no-positions" in codes(track)
    assert rms(errors(known, track)["speed"], known, track) < 0.5  # wheels of 1% scale error
    turned = track.heading[-1] - track.heading[0]
    assert turned == pytest.approx(known.yaw[-1] - known.yaw[0], abs=0.3)  # 0.01 rad/s for half a minute


def test_wheels_that_slip_make_nothing_worse():
    """Slip grows with the acceleration of the car, which looks like a late receiver and a faster car."""
    known, noise = weaving(), replace(PHONE, inertial_rate=0.0, delay=0.0)
    alone = fuse(recording(noise), model=told(noise))
    slipping = replace(noise, vehicle_rate=50.0, wheel_slip=0.006)  # 3% at 5 m/s2
    wheels = fuse(
        only(recording(slipping), "x", "y", "horizontal_accuracy", "speed", "course", "wheel_speed"), model=told(noise)
    )
    without, found = (rms(errors(known, track)["speed"], known, track) for track in (alone, wheels))
    assert found < 1.3 * without
    assert "receiver-delay" not in codes(wheels)
    ratio = errors(known, wheels)["speed"] / wheels.speed_deviation
    assert rms(ratio, known, wheels) < 1.4


def test_what_follows_an_aim_has_the_size_that_is_believed():
    """Both lags run on until nothing of their start is left."""
    kept = np.exp(-motion.STEP / np.array(motion.MEMORIES_UNSEEN))
    still, sizes = np.zeros(3), np.array(motion.SIZES_UNSEEN)
    moves = Moves(shared=still, changes=still, memories=np.array(motion.MEMORIES_UNSEEN), sizes=sizes)
    believed = [belief for _, belief in sorted(aims(moves).items())]
    added = [aim.added(motion.STEP) for aim in believed]
    covariance = np.zeros((3, 2, 2))
    for _ in range(2000):
        for c, k, more in zip(covariance, kept, added, strict=True):
            step = np.array([[k, 1.0 - k], [0.0, k]])
            c[:] = step @ c @ step.T + np.diag([0.0, more])
    assert np.sqrt(covariance[:, 0, 0]) == pytest.approx(motion.SIZES_UNSEEN)
    assert np.sqrt(covariance[:, 1, 1]) == pytest.approx([aim.spread for aim in believed])


def test_outliers_are_left_out():
    log = recording(PHONE)
    rng = np.random.default_rng(1)
    hit = rng.choice(log.channels["x"].time.size, 12, replace=False)

    def spoilt(channel):
        value = channel.value.copy()
        value[hit] += 40.0
        return replace(channel, value=value)

    clean, track = fuse(log, model=told(PHONE)), fuse(changed(log, {"x"}, spoilt), model=told(PHONE))
    assert is_sane(track)
    assert "positions-left-out" in codes(track)
    assert np.abs(track.x - clean.x).max() < 0.3


def test_a_dropout_is_bridged_and_widens_the_deviations():
    log = recording(PHONE)

    def silent(channel):
        keep = (channel.time < 12.0) | (channel.time > 24.0)
        return Channel(channel.kind, channel.time[keep], channel.value[keep], channel.source)

    told_kinds = {"x", "y", "speed", "course", "horizontal_accuracy"}
    known, track = weaving(), fuse(changed(log, told_kinds, silent), model=told(PHONE))
    assert is_sane(track)
    whole = fuse(log, model=told(PHONE))
    inside = (track.time > 12.0) & (track.time < 24.0)
    assert track.speed_deviation[inside].max() > 1.5 * whole.speed_deviation[inside].max()
    assert np.all(track.position_covariance[inside, 0, 0] > whole.position_covariance[inside, 0, 0])
    assert rms(errors(known, track)["speed"], known, track) < 0.15


def test_a_receiver_that_freezes_is_not_believed():
    log = recording(PHONE)

    def frozen(channel):
        held = (channel.time > 12.0) & (channel.time < 14.0)
        return replace(channel, value=np.where(held, channel.value[np.argmax(held)], channel.value))

    track = fuse(changed(log, {"x", "y", "speed", "course"}, frozen), model=told(PHONE))
    assert is_sane(track)
    assert "repeated-positions" in codes(track)
    assert rms(errors(weaving(), track)["speed"], weaving(), track) < 0.15


def test_a_receiver_that_is_worse_than_it_says_is_found_out():
    noise = replace(PHONE, received_speed=0.6)
    track = fuse(recording(noise), model=told(replace(noise, received_speed=0.1)))
    wrong = errors(weaving(), track)["speed"]
    assert np.mean((wrong / track.speed_deviation) ** 2) < 4.0


def test_two_recordings_joined_after_a_long_silence_start_anew():
    log = recording(replace(PHONE, inertial_rate=0.0, delay=0.0))

    def twice(channel):
        shift = 40.0 if channel.kind == "x" else 0.0
        time = np.concatenate([channel.time, channel.time + 300.0])
        return Channel(channel.kind, time, np.concatenate([channel.value, channel.value + shift]), channel.source)

    track = fuse(changed(log, set(log.channels), twice), model=told(PHONE))
    assert is_sane(track)
    anew = next(finding for finding in track.findings if finding.code == "started-anew")
    assert anew.severity == "note"
    assert "as between runs" in anew.message
    alone = fuse(log, model=told(PHONE))
    later = np.interp(alone.time + 300.0, track.time, track.x)
    assert later - 40.0 == pytest.approx(alone.x, abs=0.1)


def test_latitudes_give_the_same_track_on_the_same_plane():
    plane = LocalPlane(Anchor(latitude=48.0, longitude=11.0))
    track = fuse(recording(PHONE, plane=plane), plane=plane, model=told(PHONE))
    flat = fuse(recording(PHONE), model=told(PHONE))
    assert track.plane is plane
    assert flat.plane is None
    assert track.x == pytest.approx(flat.x, abs=1e-4)
    assert track.y == pytest.approx(flat.y, abs=1e-4)


def test_drawn_paths_scatter_like_the_covariance_of_the_track():
    track = fuse(recording(PHONE), model=told(PHONE))
    paths = track.sample_positions(np.random.default_rng(3), 300)
    assert paths.shape == (300, track.time.size, 2)
    off = paths - np.column_stack([track.x, track.y])
    for k in range(100, track.time.size, 300):
        found = off[:, k].T @ off[:, k] / 300
        size = np.sqrt(np.outer(*2 * [np.diag(track.position_covariance[k])]))
        # four standard errors of a covariance from 300 draws: sqrt(2 / 300)
        assert np.abs(found - track.position_covariance[k]).max() < 4.0 * np.sqrt(2.0 / 300) * size.max()
    step = np.diff(off[:, 600:700], axis=1)
    assert step.std() < 0.05 * off[:, 600:700].std()  # neighbours move together


@pytest.mark.parametrize("kinds", [(), ("sensor_acceleration_x",), ("throttle",)])
def test_a_log_that_tells_no_motion_is_refused(kinds):
    t = np.arange(0.0, 5.0, 0.1)
    log = Log(file="day.csv", channels={kind: Channel(kind, t, 0.0 * t, kind) for kind in kinds})
    with pytest.raises(NothingToFuseError, match="neither positions nor speeds") as caught:
        fuse(log)
    assert caught.value.where == "day.csv"


def test_every_state_has_its_place_in_a_row():
    """Compiled code looks at no bounds: a state too many would be written into what stands behind the row."""
    exclude = motion.N_DRIVING - motion.N_MOVING  # a log has either the one or the other that drives what moves
    most = motion.N_MOVING + motion.N_DECAYING - exclude
    assert most + 1 <= kalman.WIDTH  # one more for states that a log does not have
    assert motion.N_DRIVING <= kalman.TURNED_WIDTH
    assert motion.N_MOVING == kalman.MOST_MOVING
    assert kalman.WIDTH % 8 == 0


@pytest.mark.parametrize(("n", "believed"), [(30, 1.0), (45, 1.0), (100, None)])
def test_few_speeds_never_show_that_they_are_better_than_believed(n, believed):
    """Half of what is believed, white: by 30 or 45 of each component, as a run at 1 Hz has, that is not established."""
    innovation = 0.5 * np.random.default_rng(0).standard_normal(2 * n)
    kind = np.tile([motion.EAST_SPEED, motion.NORTH_SPEED], n)
    problem = SimpleNamespace(first=np.arange(0, 2 * n + 1, 2), kind=kind)
    prepared = SimpleNamespace(problem=problem, rest=np.zeros(n, dtype=bool), inertial=object())
    found = fusion._speed_factor(prepared, SimpleNamespace(innovation=innovation, spread=np.ones(2 * n)))
    assert found == (believed or pytest.approx(0.5, abs=0.1))
