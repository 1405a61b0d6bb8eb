"""Tables of a TOML course file: points, outlines, quantities and names, each refused with its line and field."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, Any

from conewise import quantities, toml_source
from conewise.course.layout import MOST_COORDINATE
from conewise.toml_source import FieldError, short

if TYPE_CHECKING:
    from conewise.course.layout import Point
    from conewise.quantities import Dimension


class CourseFieldError(FieldError):
    """A field of a course file is missing, unknown or of the wrong kind."""

    code = "course-field"
    default_hint = "docs/formats-course.md lists every field with an example."


class Table(toml_source.Table):
    """One table of a course file."""

    error = CourseFieldError

    def need(self, key: str) -> Any:
        """A raw value that must be there."""
        if key not in self.values:
            self.fail(f"'{key}' is missing.", hint=f"Add {key} = ... here.")
        return self.take(key)

    def text(self, key: str, default: str | None = None) -> str:
        """Text that is not empty."""
        if self.take(key) is None and default is not None:
            return default
        return self.as_text(self.need(key), key)

    def as_text(self, value: Any, key: str) -> str:
        """A raw value as text; a plain number is taken as a name."""
        if isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        if not isinstance(value, str) or not value.strip():
            self.fail(f"'{key}' is {short(value)}; text is wanted.", key, hint=f'Write {key} = "...".')
        if any(unicodedata.category(character) == "Cc" for character in value.strip()):
            self.fail(f"'{key}' is {value!r}; one line of plain text is wanted.", key)
        return value.strip()

    def choice(self, key: str, allowed: tuple[str, ...], *, default: str | None = None) -> str:
        """One of a few words."""
        if self.take(key) is None and default is not None:
            return default
        self.need(key)
        return self.one_of(key, allowed)

    def quantity(self, key: str, dimension: Dimension, *, default: float | None = None) -> float:
        """A number in SI units."""
        if self.take(key) is None and default is not None:
            return default
        return self.as_quantity(self.need(key), dimension, key=key)

    def as_quantity(self, value: Any, dimension: Dimension, *, key: str) -> float:
        """A raw value in SI units."""
        name = ", ".join(part for part in (self.label, key) if part)
        if isinstance(value, int) and abs(value) >= 2**63:
            raise quantities.UnitError(value, dimension, "this is too large", where=name, file=self.file_and_line(key))
        number = quantities.parse(value, dimension, where=name, file=self.file_and_line(key))
        if dimension == "length" and abs(number) > MOST_COORDINATE:
            self.fail(f"'{key}' is {number:.6g} m; lengths and coordinates reach to {MOST_COORDINATE:.0f} m.", key)
        return number

    def point(self, value: Any, key: str) -> Point:
        """East and north in metres."""
        if not isinstance(value, list) or len(value) != 2:
            self.fail(f"'{key}' is {short(value)}; a point is wanted.", key, hint="Write [east, north].")
        return self.as_quantity(value[0], "length", key=key), self.as_quantity(value[1], "length", key=key)

    def outline(self, key: str) -> tuple[Point, ...]:
        """A polygon of at least three points; empty where there is none."""
        value = self.take(key)
        if value is None:
            return ()
        if not isinstance(value, list) or len(value) < 3:
            self.fail(
                f"'{key}' is {short(value)}; three points or more are wanted.",
                key,
                hint="Write [[east, north], [east, north], [east, north]].",
            )
        return tuple(self.point(corner, key) for corner in value)

    def names(self, key: str) -> list[str]:
        """A list of ids that is not empty."""
        return self.as_names(self.need(key), key)

    def as_names(self, value: Any, key: str) -> list[str]:
        """A raw value as a list of ids."""
        if not isinstance(value, list) or not value:
            self.fail(f"'{key}' is {short(value)}; a list of names is wanted.", key, hint=f'{key} = ["a", "b"]')
        return [self.as_text(item, key) for item in value]
