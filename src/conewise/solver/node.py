"""The node of the minimum-time problem: one evaluation of the car model, and what the transcription needs of it.

Everything is made once in SX and mapped over nodes, cones and windows; course, mesh and parameters are data.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from conewise.smooth import absolute, positive
from conewise.solver.machine import MachineFunction
from conewise.solver.symbols import casadi as ca
from conewise.vehicle.drivetrain import LEAST_LAUNCH, launch_acceleration
from conewise.vehicle.motion import LIMIT_USE, CarState, Motion, motion
from conewise.vehicle.parameters import N_GEARS, ModelParameters

STATES = (
    "v_x",
    "v_y",
    "yaw_rate",
    "roll",
    "roll_rate",
    "lateral_offset",
    "relative_heading",
    "road_wheel_angle",
    "command",
)
VARIABLES = (*STATES, "specific_x", "specific_y", "steer_slope", "command_slope")
SCALE = np.array([10.0, 1.0, 0.5, 0.03, 0.3, 1.0, 0.2, 0.1, 0.5, 5.0, 5.0, 0.05, 0.25])
N_STATES, N_VARIABLES = len(STATES), len(VARIABLES)
OFFSET, HEADING = STATES.index("lateral_offset"), STATES.index("relative_heading")

# columns of a node's data
NODE_DATA = (
    "curvature_left", "curvature_right", "step_left", "step_right", "time_left", "time_right",
    *(f"gear_{i + 1}" for i in range(N_GEARS)), "drive", "friction", "ground_along", "ground_across", "smoothing",
)  # fmt: skip
CONE_DATA = ("ahead", "left", "side", "radius")

# rows of a node's limits, with their bounds; the two last have one bound
LIMITS = (
    "use_fl", "use_fr", "use_rl", "use_rr", "slip_front", "slip_rear", "road_wheel_angle", "road_wheel_rate",
    "pedal_rate", "engine_speed", "forward",
)  # fmt: skip
LIMITS_LOW = np.array([-LIMIT_USE] * 4 + [-1.0] * 5 + [-np.inf, 1.0])
LIMITS_HIGH = np.array([LIMIT_USE] * 4 + [1.0] * 5 + [1.0, np.inf])
N_LIMITS = len(LIMITS)
END_GUARD = 0.10  # the body is taken longer at both ends, since an end can pass a cone between two nodes [m]
CORNER_SOFTENING = 0.02  # rounds the corner of the body's outline [m]


@dataclass(frozen=True)
class NodeFunctions:
    """CasADi functions of one node, of one cone at one node, and of the launch."""

    value: Any  # (z, d, p) -> rows A, B, algebraic, limits; time, cost
    derivatives: Any  # (z, d, p, multipliers, cost weight) -> nonzeros of the rows' Jacobian and of the Hessian's upper
    # triangle, gradient of the cost
    by_parameter: Any  # (z, d, p, multipliers, cost weight) -> gradient by p of the node's share of the Lagrangian
    motion: Any  # (z, d, p) -> accelerations, loads, uses for reports
    cone_value: Any  # (place, c, p, margin) -> clearance
    cone_derivatives: Any  # (place, c, p, margin, multiplier) -> gradient, upper triangle of the Hessian
    cone_by_parameter: Any  # (place, c, p, margin, multiplier) -> gradient by p
    launch: Any  # (p, extra) -> speed, time
    launch_by_parameter: Any
    jacobian_pattern: Any
    hessian_pattern: Any


@dataclass(frozen=True)
class NodeCode:
    """The same as machine code over the columns of all nodes or cones."""

    value: MachineFunction
    derivatives: MachineFunction
    by_parameter: MachineFunction
    motion: MachineFunction
    cone_value: MachineFunction
    cone_derivatives: MachineFunction
    cone_by_parameter: MachineFunction


@lru_cache(maxsize=1)
def node_code() -> NodeCode:
    """Machine code of the model; made once a process."""
    f = node_functions()
    return NodeCode(
        value=MachineFunction(f.value, broadcast={2}),
        derivatives=MachineFunction(f.derivatives, broadcast={2, 4}),
        by_parameter=MachineFunction(f.by_parameter, broadcast={2, 4}),
        motion=MachineFunction(f.motion, broadcast={2}),
        cone_value=MachineFunction(f.cone_value, broadcast={2}),
        cone_derivatives=MachineFunction(f.cone_derivatives, broadcast={2}),
        cone_by_parameter=MachineFunction(f.cone_by_parameter, broadcast={2}),
    )


def _state(z: Any) -> CarState:
    return CarState(
        v_x=z[0], v_y=z[1], yaw_rate=z[2], roll=z[3], roll_rate=z[4], road_wheel_angle=z[7], command=z[8]
    )  # fmt: skip


def _symbolic_motion(z: Any, d: dict[str, Any], p: ModelParameters) -> Motion:
    gear = [d[f"gear_{i + 1}"] for i in range(N_GEARS)] + [d["drive"]]
    local = _with_surface(p, d["friction"])
    return motion(_state(z), z[9], z[10], gear=gear, p=local, ground_x=_ground(z, d)[0])


def _ground(z: Any, d: dict[str, Any]) -> tuple[Any, Any]:
    """Gravity along and across the car on a slope. [m/s2]"""
    cos, sin = np.cos(z[6]), np.sin(z[6])
    return d["ground_along"] * cos + d["ground_across"] * sin, d["ground_across"] * cos - d["ground_along"] * sin


def _with_surface(p: ModelParameters, friction: Any) -> ModelParameters:
    values = {name: getattr(p, name) for name in ModelParameters.__dataclass_fields__}
    return ModelParameters(**values | {"surface": p.surface * friction})


def _time_rates(z: Any, d: dict[str, Any], m: Motion) -> tuple[list[Any], Any]:
    """Rates of the states that do not depend on the path's curvature, and the speed along the path."""
    along = z[0] * np.cos(z[6]) - z[1] * np.sin(z[6])
    across = z[0] * np.sin(z[6]) + z[1] * np.cos(z[6])
    ground_x, ground_y = _ground(z, d)
    rates = [
        z[9] + ground_x + z[1] * z[2],
        z[10] + ground_y - z[0] * z[2],
        m.yaw_acceleration,
        z[4],
        m.roll_acceleration,
        across,
        z[2],
    ]
    return rates, along


def _node_expressions(z: Any, d: dict[str, Any], p: ModelParameters) -> tuple[list[Any], ...]:
    """A, B, algebraic residuals, limits, [time, cost] of a node in physical units."""
    m = _symbolic_motion(z, d, p)
    rates, along = _time_rates(z, d, m)
    sides = []
    for side, sign in (("right", 1.0), ("left", -1.0)):
        kappa, step = d[f"curvature_{side}"], d[f"step_{side}"]
        slowness = (1.0 - z[OFFSET] * kappa) / along
        moved = [z[i] + sign * step / 2.0 * rates[i] * slowness for i in range(7)]
        moved[HEADING] = moved[HEADING] - sign * step / 2.0 * kappa
        sides.append((moved, slowness))
    (ahead, slowness_right), (behind, slowness_left) = sides
    ahead += [z[7] + d["step_right"] * z[11], z[8] + d["step_right"] * z[12]]
    behind += [z[7], z[8]]
    limits = [
        *m.longitudinal_use,
        m.slip_use_front / p.slip_limit,
        m.slip_use_rear / p.slip_limit,
        z[7] / p.road_wheel_limit,
        z[11] / slowness_right / p.road_wheel_rate,
        z[12] / slowness_right / p.pedal_rate,
        m.engine_use,
        along,
    ]
    time = d["time_left"] / 2.0 * slowness_left + d["time_right"] / 2.0 * slowness_right
    effort = (z[11] / SCALE[11]) ** 2 + (z[12] / SCALE[12]) ** 2
    return ahead, behind, [m.residual_x, m.residual_y], limits, [time, time + d["smoothing"] * d["step_right"] * effort]


def _column(parts: list[Any]) -> Any:
    return ca.vertcat(*(ca.SX(part) for part in parts))


def _triangle(expression: Any, z: Any) -> Any:
    return ca.triu(ca.hessian(expression, z)[0])


def _nonzeros(matrix: Any) -> Any:
    return ca.vertcat(*matrix.nonzeros()) if matrix.nnz() else ca.SX(0, 1)


@lru_cache(maxsize=1)
def node_functions() -> NodeFunctions:
    """The model in symbols; made once a process (about half a second)."""
    scaled, data = ca.SX.sym("z", N_VARIABLES), ca.SX.sym("d", len(NODE_DATA))
    vector = ca.SX.sym("p", ModelParameters.size())
    p = ModelParameters.from_vector([vector[i] for i in range(vector.numel())])
    d = {name: data[i] for i, name in enumerate(NODE_DATA)}
    z = [scaled[i] * SCALE[i] for i in range(N_VARIABLES)]
    ahead, behind, algebraic, limits, (time, cost) = _node_expressions(z, d, p)
    state_scale = SCALE[:N_STATES]
    A = _column(ahead) / state_scale
    B = _column(behind) / state_scale
    rows = ca.vertcat(A, B, _column(algebraic) / SCALE[9:11], _column(limits))
    multipliers, weight = ca.SX.sym("l", rows.numel()), ca.SX.sym("w")
    lagrangian = ca.dot(multipliers, rows) + weight * cost
    jacobian = ca.jacobian(rows, scaled)
    hessian = _triangle(lagrangian, scaled)
    inputs = [scaled, data, vector]
    weighed = [*inputs, multipliers, weight]
    slopes = [_nonzeros(jacobian), _nonzeros(hessian), ca.densify(ca.gradient(cost, scaled))]
    return NodeFunctions(
        value=ca.Function("node_value", inputs, [rows, time, cost]),
        derivatives=ca.Function("node_derivatives", weighed, slopes),
        by_parameter=ca.Function("node_by_parameter", weighed, [ca.densify(ca.gradient(lagrangian, vector))]),
        jacobian_pattern=jacobian.sparsity(),
        hessian_pattern=hessian.sparsity(),
        **_cone_functions(vector, p),
        **_launch_functions(vector, p),
        **_report_functions(inputs, z, d, p),
    )


def _cone_functions(vector: Any, p: ModelParameters) -> dict[str, Any]:
    """Clearance of the body's outline to a cone, from lateral offset and heading at a node.

    Beside the body the cone's base keeps radius and margin away from the side; a distance e beyond its ends the
    demand falls by e2 / 2R: a little less than the circle of the base and its margin would allow at the corner.
    """
    place, data, margin = ca.SX.sym("z", 2), ca.SX.sym("c", len(CONE_DATA)), ca.SX.sym("margin")
    ahead, left, side, radius = (data[i] for i in range(len(CONE_DATA)))
    n, xi = place[0] * SCALE[OFFSET], place[1] * SCALE[HEADING]
    across = left - n
    X = ahead * np.cos(xi) + across * np.sin(xi)
    Y = across * np.cos(xi) - ahead * np.sin(xi)
    beyond = positive(absolute(X - p.body_middle, CORNER_SOFTENING) - p.body_length / 2.0 - END_GUARD, CORNER_SOFTENING)
    reach = radius + margin
    row = side * Y + beyond * beyond / (2.0 * reach) - p.body_width / 2.0 - reach
    multiplier = ca.SX.sym("l")
    inputs = [place, data, vector, margin]
    hessian = ca.hessian(multiplier * row, place)[0]
    upper = ca.vertcat(hessian[0, 0], hessian[0, 1], hessian[1, 1])
    weighed = [*inputs, multiplier]
    return {
        "cone_value": ca.Function("cone_value", inputs, [row]),
        "cone_derivatives": ca.Function("cone_derivatives", weighed, [ca.densify(ca.gradient(row, place)), upper]),
        "cone_by_parameter": ca.Function(
            "cone_by_parameter", weighed, [ca.densify(ca.gradient(multiplier * row, vector))]
        ),
    }


def _launch_functions(vector: Any, p: ModelParameters) -> dict[str, Any]:
    """Speed and time at the first node, `extra` metres after the start beam."""
    extra, multiplier = ca.SX.sym("extra"), ca.SX.sym("l")
    a = np.maximum(launch_acceleration(p), LEAST_LAUNCH)
    speed = np.sqrt(2.0 * a * (p.staging + extra)) / SCALE[0]
    time = np.sqrt(2.0 * (p.staging + extra) / a) - np.sqrt(2.0 * (p.staging + 1e-9) / a)
    lagrangian = time - multiplier * speed
    return {
        "launch": ca.Function("launch", [vector, extra], [ca.SX(speed), ca.SX(time)]),
        "launch_by_parameter": ca.Function(
            "launch_by_parameter", [vector, extra, multiplier], [ca.densify(ca.gradient(lagrangian, vector))]
        ),
    }


def _report_functions(inputs: list[Any], z: list[Any], d: dict[str, Any], p: ModelParameters) -> dict[str, Any]:
    m = _symbolic_motion(z, d, p)
    report = _column([*m.wheel_loads, m.use_front, m.use_rear, *m.longitudinal_use, m.engine_use, *m.lateral])
    return {"motion": ca.Function("node_motion", inputs, [report])}
