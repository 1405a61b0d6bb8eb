"""The pleasant forms in which a file writes a feature, and the crossings that they stand for.

`left` and `right` in a gate, and `first` in a slalom, are the driver's sides; `pass` is the side of the cone on
which the car goes. A cone on the driver's left is passed on its right.
"""

from __future__ import annotations

from itertools import cycle
from typing import TYPE_CHECKING, Any

from conewise.course.layout import ConePass, CourseFeature, FeatureKind, PassSide

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from conewise.course.toml_table import Table

Crossing = tuple[ConePass, ...]
Crossings = tuple[Crossing, ...]

GATE_KINDS = (FeatureKind.START, FeatureKind.GATE, FeatureKind.OFFSET_GATE, FeatureKind.FINISH)
SIDES = ("left", "right")
FREE_SIDES = ("left", "right", "either")

# the side of the cone on which the car goes, by the driver's side on which the cone is
_PASS = {"left": PassSide.RIGHT, "right": PassSide.LEFT, "either": PassSide.EITHER}
_OTHER = {"left": "right", "right": "left", "either": "either"}


def feature_id(kind: FeatureKind, count: int) -> str:
    """Id of a feature that has none: "slalom 2"; start and finish carry no number."""
    if kind in (FeatureKind.START, FeatureKind.FINISH) and count == 1:
        return str(kind)
    return f"{str(kind).replace('-', ' ')} {count}"


def gate(left: str, right: str) -> Crossing:
    """Two cones passed together, one on the driver's left and one on the right."""
    return (
        ConePass(cone=left, pass_side=PassSide.RIGHT),
        ConePass(cone=right, pass_side=PassSide.LEFT),
    )


def gates(pairs: Sequence[Sequence[str]]) -> Crossings:
    """Gates one after the other; each pair is the left and the right cone."""
    return tuple(gate(left, right) for left, right in pairs)


def row(cones: Sequence[str], pass_side: PassSide) -> Crossings:
    """Cones one after the other, all passed on one side."""
    return tuple((ConePass(cone=cone, pass_side=pass_side),) for cone in cones)


def slalom(cones: Sequence[str], first: str) -> Crossings:
    """Cones on alternating sides of the driver; `first` is where the first cone is, "either" leaves it free.

    Free means that the driver chooses the side of the first cone; the sides alternate all the same.
    """
    sides = cycle((_PASS[first], _PASS[_OTHER[first]]))
    return tuple((ConePass(cone=cone, pass_side=side),) for cone, side in zip(cones, sides, strict=False))


def split_gate(left: str, right: str, *, first: str) -> Crossings:
    """A gate whose cones are not abreast: `first` is the driver's side of the cone that comes first."""
    crossings = tuple((cone_pass,) for cone_pass in gate(left, right))
    return crossings if first == "left" else crossings[::-1]


def read_crossings(table: Table, kind: FeatureKind) -> Crossings:
    """Crossings of one feature of a file.

    Raises
    ------
    CourseFieldError
        If a field is missing or cannot be used; file, line, feature and field are named.
    """
    if "crossings" in table:
        return _read_general(table)
    if kind in _READERS:
        return _READERS[kind](table)
    if "gates" in table:
        return _read_gates(table)
    if "cones" not in table:
        table.fail(f"A {kind} needs 'gates', or 'cones' with 'pass'.", hint='gates = [["left", "right"]]')
    return _read_row(table)


def _read_gate(table: Table) -> Crossings:
    return (gate(table.text("left"), table.text("right")),)


def _read_split_gate(table: Table) -> Crossings:
    return split_gate(table.text("left"), table.text("right"), first=table.choice("first", SIDES))


def _read_slalom(table: Table) -> Crossings:
    return slalom(table.names("cones"), table.choice("first", FREE_SIDES))


def _read_cone(table: Table) -> Crossings:
    return row([table.text("cone")], PassSide(table.choice("pass", FREE_SIDES)))


def _read_row(table: Table) -> Crossings:
    return row(table.names("cones"), PassSide(table.choice("pass", FREE_SIDES)))


def _read_gates(table: Table) -> Crossings:
    """The field `gates`: pairs of a left and a right cone."""
    pairs = table.need("gates")
    if not isinstance(pairs, list) or not pairs:
        table.fail("'gates' is not a list of pairs.", "gates", hint='gates = [["left", "right"]]')
    named = [table.as_names(pair, "gates") for pair in pairs]
    for pair in named:
        if len(pair) != 2:
            table.fail(f"A gate of 'gates' has {len(pair)} cones; it takes two.", "gates", hint='["left", "right"]')
    return gates(named)


def _read_general(table: Table) -> Crossings:
    """The field `crossings`: lists of cones passed together, each with its side."""
    hint = 'crossings = [[{ cone = "a", pass = "left" }]]'
    value = table.take("crossings")
    if not isinstance(value, list) or not value:
        table.fail("'crossings' is not a list of crossings.", "crossings", hint=hint)
    crossings = []
    for crossing in value:
        if not isinstance(crossing, list) or not crossing:
            table.fail("A crossing of 'crossings' is not a list of cones.", "crossings", hint=hint)
        crossings.append(tuple(_read_pass(table, entry, hint) for entry in crossing))
    return tuple(crossings)


def _read_pass(table: Table, entry: Any, hint: str) -> ConePass:
    """One cone and its side in `crossings`."""
    if not isinstance(entry, dict) or set(entry) != {"cone", "pass"} or entry["pass"] not in FREE_SIDES:
        table.fail(f"{entry!r} is not a cone with its side.", "crossings", hint=hint)
    return ConePass(cone=table.as_text(entry["cone"], "crossings"), pass_side=PassSide(entry["pass"]))


_READERS: dict[FeatureKind, Callable[[Table], Crossings]] = {
    **dict.fromkeys(GATE_KINDS, _read_gate),
    FeatureKind.SPLIT_GATE: _read_split_gate,
    FeatureKind.SLALOM: _read_slalom,
    FeatureKind.CONE: _read_cone,
    FeatureKind.BOX: _read_gates,
    FeatureKind.WALL: _read_row,
}


def feature_fields(feature: CourseFeature) -> dict[str, Any]:
    """Fields that stand for the feature's crossings in a file, in the most readable form that says it exactly."""
    for form in _FORMS.get(feature.kind, ()):
        fields = form(feature)
        if fields is not None:
            return fields
    return {
        "crossings": [[{"cone": p.cone, "pass": p.pass_side.value} for p in crossing] for crossing in feature.crossings]
    }


def _pairs(feature: CourseFeature) -> list[tuple[str, str]] | None:
    """Left and right cone of every crossing, where all are gates."""
    pairs = [(c[0].cone, c[-1].cone) for c in feature.crossings]
    return pairs if gates(pairs) == feature.crossings else None


def _as_gate(feature: CourseFeature) -> dict[str, Any] | None:
    pairs = _pairs(feature)
    return {"left": pairs[0][0], "right": pairs[0][1]} if pairs and len(pairs) == 1 else None


def _as_gates(feature: CourseFeature) -> dict[str, Any] | None:
    pairs = _pairs(feature)
    return {"gates": [list(pair) for pair in pairs]} if pairs else None


def _as_split_gate(feature: CourseFeature) -> dict[str, Any] | None:
    if len(feature.crossings) != 2:
        return None
    one, two = (crossing[0].cone for crossing in feature.crossings)
    for first, (left, right) in (("left", (one, two)), ("right", (two, one))):
        if split_gate(left, right, first=first) == feature.crossings:
            return {"left": left, "right": right, "first": first}
    return None


def _as_slalom(feature: CourseFeature) -> dict[str, Any] | None:
    cones = [crossing[0].cone for crossing in feature.crossings]
    sides = (side for side in FREE_SIDES if slalom(cones, side) == feature.crossings)
    first = next(sides, None)
    return {"cones": cones, "first": first} if first else None


def _as_row(feature: CourseFeature) -> dict[str, Any] | None:
    cones = [crossing[0].cone for crossing in feature.crossings]
    side = feature.crossings[0][0].pass_side
    return {"cones": cones, "pass": side.value} if row(cones, side) == feature.crossings else None


def _as_cone(feature: CourseFeature) -> dict[str, Any] | None:
    fields = _as_row(feature)
    if fields is None or len(fields["cones"]) != 1:
        return None
    return {"cone": fields["cones"][0], "pass": fields["pass"]}


_FORMS: dict[FeatureKind, tuple[Callable[[CourseFeature], dict[str, Any] | None], ...]] = {
    **dict.fromkeys(GATE_KINDS, (_as_gate,)),
    FeatureKind.SPLIT_GATE: (_as_split_gate,),
    FeatureKind.SLALOM: (_as_slalom,),
    FeatureKind.CONE: (_as_cone,),
    FeatureKind.BOX: (_as_gates,),
    FeatureKind.WALL: (_as_row,),
    FeatureKind.SWEEPER: (_as_gates, _as_row),
    FeatureKind.HAIRPIN: (_as_gates, _as_row),
}
