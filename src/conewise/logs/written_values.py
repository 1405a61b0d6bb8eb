"""Fields that are text: dates, clocks, numbers with a unit or a letter behind them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from conewise.logs.columns import Array, Form

_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([AaPp][Mm])?"
_ZONE = r"\s*(Z|z|[+-]\d{2}:?\d{2})?"
_YEAR_FIRST = r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})"
_YEAR_LAST = r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})"
_LETTER = r"^([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([NSEWnsew])$"
_WITH_UNIT = r"^([+-]?\d+(?:[.,]\d+)?)\s*([^\d\s.,][^\s]*)$"
_ENOUGH = 0.5  # share of the fields that must be understood
_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Written:
    """What a column of text turned out to hold. has_zone: whether times say their distance from UTC."""

    values: Array
    form: Form
    unit: str = ""
    has_zone: bool = True


def written_values(text: Any) -> Written:
    """Numbers in a column of text.

    Parameters
    ----------
    text : polars.Series of str
        As the file has it.

    Returns
    -------
    Written
        Numbers where at least half of what is written can be understood one way, else text without values.
    """
    text = text.str.strip_chars(" \t\"'")
    n_full = int((text.str.len_chars() > 0).sum() or 0)
    nothing = np.full(len(text), np.nan)
    if n_full == 0:
        return Written(nothing, "number")
    for read in (_numbers, _moments, _clocks, _dates, _lettered, _with_unit):
        found = read(text)
        if found is not None and np.isfinite(found.values).sum() >= _ENOUGH * n_full:
            return found
    return Written(nothing, "text")


def _array(series: Any) -> Array:
    return np.asarray(series.to_numpy(), dtype=np.float64)


def _number(series: Any) -> Array:
    """Numbers of a series of text, with either decimal sign; NaN where there is none."""
    import polars as pl

    return _array(series.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False).fill_null(float("nan")))


def _numbers(text: Any) -> Written | None:
    return Written(_number(text), "number")


def _groups(text: Any, pattern: str) -> list[Any] | None:
    """The groups of a pattern, one series each; None where nothing matches."""
    found = text.str.extract_groups(pattern).struct.unnest()
    series = [found[name] for name in found.columns]
    return None if series[0].null_count() == len(text) else series


def _seconds(parts: list[Any]) -> Array:
    """Seconds since midnight of hour, minute, second and half of the day."""
    hour, minute = _number(parts[0]), _number(parts[1])
    second = np.nan_to_num(_number(parts[2]))
    half = parts[3].str.to_lowercase().fill_null("").to_numpy()
    hour = np.where(half == "pm", hour % 12 + 12, np.where(half == "am", hour % 12, hour))
    return np.asarray(3600.0 * hour + 60.0 * minute + second)


def _day(year: Array, month: Array, day: Array) -> Array:
    """Seconds since 1970 of midnight; NaN where there is no such day."""
    ok = (year >= 1970) & (year < 2200) & (month >= 1) & (month <= 12) & (day >= 1) & (day <= 31)
    months = np.where(ok, (year - 1970) * 12 + month - 1, 0).astype("int64").astype("datetime64[M]")
    days = months.astype("datetime64[D]").astype(np.int64) + np.where(ok, day - 1, 0)
    return np.where(ok, days * _DAY, np.nan)


def _midnight(parts: list[Any], *, year_first: bool) -> Array | None:
    """Midnight of three numbers; None where day and month cannot be told apart."""
    first, second, third = (_number(part) for part in parts)
    if year_first:
        return _day(first, second, third)
    if np.nanmax(first) > 12:
        return _day(third, second, first)
    if np.nanmax(second) > 12:
        return _day(third, first, second)
    return None


def _moments(text: Any) -> Written | None:
    """Date and time in one field; a date that can be read two ways leaves the clock alone."""
    for year_first, date in ((True, _YEAR_FIRST), (False, _YEAR_LAST)):
        parts = _groups(text, f"^{date}[T ]+{_CLOCK}{_ZONE}$")
        if parts is None:
            continue
        clock = _seconds(parts[3:7])
        midnight = _midnight(parts[:3], year_first=year_first)
        if midnight is None:
            dotted = bool(text.str.contains(r"^\d{1,2}\.").any())
            first, second, third = (_number(part) for part in parts[:3])
            if not dotted:
                return Written(clock, "clock")
            midnight = _day(third, second, first)
        zone = parts[7].fill_null("")
        return Written(midnight + clock - _offset(zone), "datetime", has_zone=bool((zone != "").any()))
    return None


def _offset(zone: Any) -> Array:
    """Seconds that local time is ahead of UTC."""
    parts = zone.str.extract_groups(r"^([+-])(\d{2}):?(\d{2})$").struct.unnest()
    sign, hours, minutes = (parts[name] for name in parts.columns)
    size = 3600.0 * np.nan_to_num(_number(hours)) + 60.0 * np.nan_to_num(_number(minutes))
    return np.where(sign.fill_null("+").to_numpy() == "-", -size, size)


def _clocks(text: Any) -> Written | None:
    """Hours, minutes and seconds; minutes and seconds with decimals."""
    if (parts := _groups(text, f"^{_CLOCK}{_ZONE}$")) is not None:
        return Written(_seconds(parts[:4]), "clock")
    if (parts := _groups(text, r"^(\d{1,3}):(\d{2}[.,]\d+)$")) is not None:
        return Written(60.0 * _number(parts[0]) + _number(parts[1]), "clock")
    return None


def _dates(text: Any) -> Written | None:
    for year_first, date in ((True, _YEAR_FIRST), (False, _YEAR_LAST)):
        if (parts := _groups(text, f"^{date}$")) is not None:
            midnight = _midnight(parts, year_first=year_first)
            return None if midnight is None else Written(midnight, "date")
    return None


def _lettered(text: Any) -> Written | None:
    """Degrees with the letter of their hemisphere."""
    if (parts := _groups(text, _LETTER)) is None:
        return None
    south_or_west = np.isin(parts[1].fill_null("").str.to_lowercase().to_numpy(), ("s", "w"))
    return Written(np.where(south_or_west, -1.0, 1.0) * _number(parts[0]), "number", "deg")


def _with_unit(text: Any) -> Written | None:
    """Numbers with one unit behind all of them."""
    if (parts := _groups(text, _WITH_UNIT)) is None:
        return None
    units = parts[1].drop_nulls().unique().to_list()
    return Written(_number(parts[0]), "number", str(units[0])) if len(units) == 1 else None
