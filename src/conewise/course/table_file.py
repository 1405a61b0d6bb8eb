"""Courses as a table of cones (CSV): one row a cone and feature, in driving order."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from pydantic import ValidationError

from conewise import quantities
from conewise.course.feature_forms import FREE_SIDES
from conewise.course.layout import (
    CONE_BASE,
    Cone,
    ConePass,
    Course,
    CourseFeature,
    FeatureKind,
    LayoutError,
    PassSide,
    Site,
)
from conewise.errors import InputError
from conewise.refusals import refusal

if TYPE_CHECKING:
    from collections.abc import Iterable

COLUMNS = ("cone", "x_m", "y_m", "feature", "kind", "crossing", "pass", "points_to", "base_m", "position_sd_m")
_LENGTH_UNITS = ("m", "ft")
_NEEDED = ("cone", "x", "y")
_KNOWN = {"cone", "x", "y", "feature", "kind", "crossing", "pass", "points_to", "base", "position_sd"}


class ConeTableError(InputError):
    """A table of cones that cannot be read: a column or a value is missing or not understood."""

    code = "cone-table"
    default_hint = f"Columns: {', '.join(COLUMNS)}; lengths may be named _ft. docs/formats-course.md has an example."

    def __init__(self, problem: str, *, where: str, hint: str = "") -> None:
        super().__init__(problem, where=where, hint=hint)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row: its line, and its fields by plain name."""

    line: int
    fields: dict[str, str]
    units: dict[str, str]
    file: str

    def place(self, field: str = "") -> str:
        return ", ".join(part for part in (f"{self.file}, line {self.line}", field) if part)

    def text(self, field: str) -> str:
        return self.fields.get(field, "").strip()

    def length(self, field: str, default: float | None = None) -> float:
        """A length in metres; the column's name carries its unit."""
        value = self.text(field)
        if not value and default is not None:
            return default
        bare = isinstance(_number(value), float)
        quantity = f"{value} {self.units[field]}" if bare else value
        place = f"{self.file}, line {self.line}"
        return quantities.parse(_number(quantity), "length", where=field, file=place)

    def choice(self, field: str, allowed: Iterable[str]) -> str:
        """One of a few words."""
        value = self.text(field).lower()
        if value not in allowed:
            problem = f"'{field}' is \"{self.text(field)}\"." if value else f"'{field}' is empty."
            raise ConeTableError(problem, where=self.place(field), hint=f"Write one of: {', '.join(allowed)}.")
        return value


def _number(text: str) -> str | float:
    """A float where the text is one in metres, so that no digit is lost."""
    try:
        return float(text.removesuffix(" m"))
    except ValueError:
        return text


def read_csv(text: str, *, file: str) -> Course:
    """Course of a table of cones.

    Parameters
    ----------
    text : str
        Rows separated by comma, semicolon or tab, the first with the names of the columns.
    file : str
        Its name, for messages; the course is called after it.

    Raises
    ------
    ConeTableError, conewise.quantities.UnitError
        If a column or a value is missing or not understood; file, line and field are named.
    LayoutError
        If cones and features contradict each other.
    """
    rows = _rows(text, file=file)
    cones: dict[str, Cone] = {}
    lines: dict[str, int] = {}
    for row in rows:
        cone = _cone(row)
        first = cones.setdefault(cone.id, cone)
        if first != cone:
            raise ConeTableError(
                f"Cone '{cone.id}' stands at another place here than in line {lines[cone.id]}.",
                where=row.place(),
                hint="Give the second cone its own id; a cone that is passed twice has the same place in both rows.",
            )
        lines.setdefault(cone.id, row.line)
    features = _features([row for row in rows if row.text("feature") or row.text("kind")], file=file)
    try:
        return Course(name=_stem(file), cones=tuple(cones.values()), features=features, source=file)
    except LayoutError as error:
        place = f"{file}, line {lines[error.cone]}" if error.cone in lines else file
        error.where = ", ".join(part for part in (place, error.where) if part)
        raise


def _stem(file: str) -> str:
    """A course's name from the name of its file."""
    return file.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0] or "course"


def _rows(text: str, *, file: str) -> list[_Row]:
    """Every row that is not empty, with its line."""
    head = text.lstrip().splitlines()[0]
    delimiter = max(",;\t", key=head.count)
    try:
        reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
        table = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise ConeTableError(f"The table cannot be read: {error}.", where=file) from None
    names, units = _columns(table[0][1], place=f"{file}, line {table[0][0]}")
    rows = []
    for line, cells in table[1:]:
        if len(cells) > len(names):
            raise ConeTableError(
                f"This row has {len(cells)} fields, the first row names {len(names)}.", where=f"{file}, line {line}"
            )
        texts = [_with_point(cell) for cell in cells] if delimiter == ";" else cells
        rows.append(_Row(line, dict(zip(names, texts, strict=False)), units, file))
    if not rows:
        raise ConeTableError("The table has no cones.", where=file)
    return rows


def _with_point(cell: str) -> str:
    """A number with a decimal comma as one with a point; other text as it is."""
    text = cell.replace(",", ".")
    return cell if isinstance(_number(text), str) else text


def _columns(head: list[str], *, place: str) -> tuple[list[str], dict[str, str]]:
    """Plain names of the columns, and the unit of those that are lengths."""
    names, units = [], {}
    for cell in head:
        name, unit = cell.strip().lower().lstrip("# "), ""
        stem, _, tail = name.rpartition("_")
        if tail in _LENGTH_UNITS and stem:
            name, unit = stem, tail
        units[name] = unit or "m"
        names.append(name)
    for name in names:
        if name not in _KNOWN:
            raise ConeTableError(f"There is no column '{name}' in a table of cones.", where=place)
    for name in _NEEDED:
        if name not in names:
            raise ConeTableError(f"The column '{name}' is missing.", where=place)
    return names, units


def _cone(row: _Row) -> Cone:
    """The cone of a row."""
    if not row.text("cone"):
        raise ConeTableError("The cone has no id.", where=row.place("cone"))
    try:
        return Cone(
            id=row.text("cone"),
            x=row.length("x"),
            y=row.length("y"),
            base=row.length("base", CONE_BASE),
            position_sd=row.length("position_sd", 0.0),
            points_to=row.text("points_to") or None,
        )
    except ValidationError as error:
        first = error.errors()[0]
        raise ConeTableError(refusal(str(first["loc"][0]), first), where=row.place(str(first["loc"][0]))) from None


def _features(rows: list[_Row], *, file: str) -> tuple[CourseFeature, ...]:
    """Features from the rows that belong to one, in the order of the rows."""
    if not rows:
        raise ConeTableError(
            "The table has cones but no features.",
            where=file,
            hint="Add the columns feature, kind and pass, rows in driving order: "
            "s1, 0, 3, start, start, right (the side of the cone on which the car goes).",
        )
    features = []
    for name, group in groupby(rows, key=lambda row: row.text("feature")):
        members = list(group)
        if not name:
            raise ConeTableError(
                "The row has a kind and no feature.",
                where=members[0].place("feature"),
                hint='Name the feature, for example "gate 4"; rows of one feature carry the same name.',
            )
        kinds = [FeatureKind(row.choice("kind", tuple(FeatureKind))) for row in members]
        other = next((row for row, kind in zip(members, kinds, strict=True) if kind is not kinds[0]), None)
        if other is not None:
            problem = f"The feature '{name}' is a {kinds[0]} above and a {other.text('kind')} here."
            raise ConeTableError(problem, where=other.place("kind"), hint="Give each feature its own name.")
        features.append(CourseFeature(id=name, kind=kinds[0], crossings=_crossings(members, kinds[0])))
    return tuple(features)


def _crossings(rows: list[_Row], kind: FeatureKind) -> tuple[tuple[ConePass, ...], ...]:
    """Cones passed together: those with one number in `crossing`; without numbers pairs in gates, else one by one."""
    passes = [ConePass(cone=r.text("cone"), pass_side=PassSide(r.choice("pass", FREE_SIDES))) for r in rows]
    numbers = [row.text("crossing") for row in rows]
    if not any(numbers):
        in_pairs = kind in _PAIRED and [p.pass_side for p in passes] == [PassSide.RIGHT, PassSide.LEFT] * (
            len(passes) // 2
        )
        numbers = [str(n // 2 if in_pairs else n) for n in range(len(passes))]
    return tuple(
        tuple(cone_pass for _, cone_pass in group)
        for _, group in groupby(zip(numbers, passes, strict=True), key=lambda pair: pair[0])
    )


_PAIRED = {
    FeatureKind.START,
    FeatureKind.GATE,
    FeatureKind.OFFSET_GATE,
    FeatureKind.BOX,
    FeatureKind.SWEEPER,
    FeatureKind.HAIRPIN,
    FeatureKind.FINISH,
}


def csv_text(course: Course) -> str:
    """Table of a course's cones: a row for each cone in each feature, then the cones of no feature."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for feature in course.features:
        for number, crossing in enumerate(feature.crossings, start=1):
            for cone_pass in crossing:
                cone = course.cone(cone_pass.cone)
                writer.writerow(_cells(cone, (feature.id, feature.kind.value, str(number), cone_pass.pass_side.value)))
    used = {name for feature in course.features for name in feature.cone_ids}
    for cone in course.cones:
        if cone.id not in used:
            writer.writerow(_cells(cone, ("", "", "", "")))
    return out.getvalue()


def _cells(cone: Cone, of_feature: tuple[str, str, str, str]) -> list[str]:
    """One row; `of_feature` is feature, kind, crossing and passing side."""
    return [
        cone.id,
        repr(cone.x),
        repr(cone.y),
        *of_feature,
        cone.points_to or "",
        repr(cone.base),
        repr(cone.position_sd),
    ]


def left_out_of_csv(course: Course) -> list[str]:
    """What a table of cones cannot hold and this course has."""
    site, usual = course.site, Course.model_fields
    present = {
        "name": True,
        "rules": course.rules != usual["rules"].default,
        "staging distance": course.staging != usual["staging"].default,
        "stop area": course.stop is not None,
        "site outline": bool(site.outline),
        "obstacles": bool(site.obstacles),
        "surface friction": site.friction != Site().friction,
        "patches": bool(site.patches),
        "slope": site.slope != Site().slope,
        "heading to north": site.heading_to_north != 0.0,
        "geographic anchor": site.anchor is not None,
    }
    return [what for what, is_there in present.items() if is_there]
