"""Course files in TOML: surveyed cones with features in driving order, or walk notes. Nothing is left out."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from conewise.course.feature_forms import feature_id, read_crossings
from conewise.course.layout import (
    Anchor,
    Cone,
    Course,
    CourseFeature,
    DuplicateConeError,
    FeatureKind,
    LayoutError,
    Obstacle,
    Patch,
    Site,
    Slope,
    StopArea,
)
from conewise.course.toml_table import Table
from conewise.file_forms import refuse_other_form
from conewise.records import Record
from conewise.refusals import refusal, wanted
from conewise.toml_source import Lines, TomlSyntaxError

if TYPE_CHECKING:
    from collections.abc import Sequence

R = TypeVar("R", bound=Record)


def read_toml(text: str, *, file: str) -> Course:
    """Course of a TOML text in either form.

    Parameters
    ----------
    text : str
        The file's text.
    file : str
        Its name, for messages.

    Raises
    ------
    TomlSyntaxError, CourseFieldError, conewise.quantities.UnitError
        If the text cannot be read; file, line, feature and field are named.
    LayoutError
        If cones and features contradict each other.
    WalkNoteError, WalkError
        If a walk note is not understood, or the notes do not make a course.
    """
    try:
        table = Table.of_text(text, file=file)
    except TomlSyntaxError as error:
        raise _doubled_cone(text, error, file=file) or error from None
    refuse_other_form(table.values, "course", where=file)
    if "walk" in table:
        from conewise.course.walk import read_walk

        walked = read_walk(table.table("walk", "walk"))
        if "cones" in table or "feature" in table:
            table.fail("A file has either [walk] notes or surveyed [cones] with [[feature]]s.", "walk")
        return _course(table, walked.cones, walked.features, stop=walked.stop)
    table.need("cones")
    listed = table.table("cones", "cones")
    cones = tuple(_cone(listed, name) for name in listed.values)
    return _course(table, cones, _features(table.tables("feature")))


def _doubled_cone(text: str, error: TomlSyntaxError, *, file: str) -> LayoutError | None:
    """The better error where a syntax error is only a cone listed twice."""
    line = re.search(r"line (\d+)$", error.where)
    if "overwrite" not in error.message or line is None:
        return None
    lines = Lines(text)
    key = next((k for s, k in lines.doubled if s == ("cones",)), None)
    if key is None:
        return None
    doubled = DuplicateConeError(key)
    doubled.where = f"{file}, line {line[1]}, cone '{key}'"
    return doubled


def _course(
    table: Table,
    cones: tuple[Cone, ...],
    features: tuple[CourseFeature, ...],
    *,
    stop: StopArea | None = None,
) -> Course:
    """The course from its parts; contradictions get their line."""
    values = {
        "name": table.text("name"),
        "cones": cones,
        "features": features,
        "site": _site(table.table("site", "site")),
        "stop": _stop(table.table("stop", "stop")) if "stop" in table else stop,
        "staging": table.quantity("staging", "length", default=Course.model_fields["staging"].default),
        "rules": table.text("rules", Course.model_fields["rules"].default),
        "source": table.file,
    }
    for optional in ("walk", "stop"):
        table.take(optional)
    table.finish()
    try:
        return record(table, Course, **values)
    except LayoutError as error:
        error.where = _where(error, table, features)
        raise


def _where(error: LayoutError, table: Table, features: Sequence[CourseFeature]) -> str:
    """File, line, feature and cone of a contradiction."""
    numbers = [n for n, f in enumerate(features, start=1) if f.id == error.feature]
    line = None
    if numbers:
        line = table.lines.of(("feature", numbers[-1]))
    elif error.cone:
        line = table.lines.of(("cones",), error.cone)
    elif error.entry:
        line = table.lines.of(error.entry)
    place = f"{table.file}, line {line}" if line else table.file
    return ", ".join(part for part in (place, error.where) if part)


def record(table: Table, cls: type[R], /, **values: Any) -> R:
    """A record from read values; a value outside its range becomes an error with its place."""
    try:
        return cls(**values)
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0]) if first["loc"] else ""
        table.fail(refusal(key, first) if key else f"This cannot be: {wanted(first)}.", key)


def _cone(table: Table, name: str) -> Cone:
    """One entry of [cones]: a point, or a table with more about the cone."""
    value = table.take(name)
    entry = Table(value, table.file, table.lines, (*table.section, name), f"cone '{name}'")
    if not isinstance(value, dict):
        x, y = table.point(value, name)
        return record(table, Cone, id=name, x=x, y=y)
    if table.lines.of(entry.section) is None:
        entry.section = table.section
    x, y = entry.point(entry.need("at"), "at")
    cone = record(
        entry,
        Cone,
        id=name,
        x=x,
        y=y,
        base=entry.quantity("base", "length", default=Cone.model_fields["base"].default),
        position_sd=entry.quantity("position_sd", "length", default=0.0),
        points_to=entry.text("points_to") if "points_to" in entry else None,
    )
    entry.finish()
    return cone


def _features(tables: list[Table]) -> tuple[CourseFeature, ...]:
    """Every [[feature]] in the order of the file; one without an id is numbered within its kind."""
    counts: dict[FeatureKind, int] = {}
    features = []
    for number, table in enumerate(tables, start=1):
        kind = FeatureKind(table.choice("kind", tuple(FeatureKind)))
        counts[kind] = counts.get(kind, 0) + 1
        name = table.text("id", feature_id(kind, counts[kind]))
        table.label = f"feature {number} '{name}'"
        features.append(CourseFeature(id=name, kind=kind, crossings=read_crossings(table, kind)))
        table.finish()
    return tuple(features)


def _site(table: Table) -> Site:
    """The table [site] with its obstacles and patches."""
    site = record(
        table,
        Site,
        outline=table.outline("outline"),
        obstacles=tuple(_obstacle(item) for item in table.tables("obstacle")),
        friction=table.quantity("friction", "ratio", default=1.0),
        patches=tuple(_patch(item) for item in table.tables("patch")),
        slope=_slope(table.table("slope", "site, slope")),
        heading_to_north=table.quantity("heading_to_north", "angle", default=0.0),
        anchor=_anchor(table.table("anchor", "site, anchor")) if "anchor" in table else None,
    )
    table.finish()
    return site


def _obstacle(table: Table) -> Obstacle:
    """One [[site.obstacle]]."""
    name = table.text("id")
    table.label = f"obstacle '{name}'"
    obstacle = record(
        table,
        Obstacle,
        id=name,
        kind=table.text("kind"),
        outline=table.outline("outline"),
        centre=table.point(table.take("centre"), "centre") if "centre" in table else None,
        radius=table.quantity("radius", "length", default=0.0),
    )
    table.finish()
    return obstacle


def _patch(table: Table) -> Patch:
    """One [[site.patch]]."""
    table.need("outline")
    outline, friction = table.outline("outline"), table.quantity("friction", "ratio")
    patch = record(table, Patch, outline=outline, friction=friction)
    table.finish()
    return patch


def _slope(table: Table) -> Slope:
    """The plane on which the site lies."""
    grade, direction = table.quantity("grade", "ratio", default=0.0), table.quantity("direction", "angle", default=0.0)
    slope = record(table, Slope, grade=grade, direction=direction)
    table.finish()
    return slope


def _anchor(table: Table) -> Anchor:
    """Latitude and longitude of the plan's origin, in decimal degrees."""
    degrees = {key: _decimal_degrees(table, key) for key in ("latitude", "longitude")}
    anchor = record(table, Anchor, **degrees)
    table.finish()
    return anchor


def _decimal_degrees(table: Table, key: str) -> float:
    """A plain number of degrees, as every satellite receiver shows it."""
    value = table.need(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        table.fail(f"'{key}' is {value!r}.", key, hint=f"Write decimal degrees: {key} = 51.123456789.")
    return float(value)


def _stop(table: Table) -> StopArea:
    """The table [stop]."""
    kind, length = table.choice("kind", ("box", "lane"), default="box"), table.quantity("length", "length")
    stop = record(table, StopArea, kind=kind, length=length, outline=table.outline("outline"))
    table.finish()
    return stop
