"""What `fit` is told of a wheel, as values: quantities, patterns, seats, gaps; each is refused where it was told."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from conewise.cars.fit_case import GAPS, Candidate
from conewise.cars.wheel_mounting import bolt_pattern as pattern_of
from conewise.cars.wheel_mounting import seat_of
from conewise.errors import ByFace, InputError
from conewise.quantities import parse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from conewise.quantities import Dimension

_RIMS = re.compile(r"^\s*([\d.]+)\s*(?:in|\")?\s*(?:to|-|–)\s*([\d.]+)\s*(?:in|\")?\s*$")
_INCH = 0.0254


class FitOptionError(InputError):
    """An option of `conewise fit` that no wheel can have, or that cannot be read."""

    code = "fit-option"
    default_hint = ByFace(
        "Write it as the name of the field shows.", typed="conewise fit --help shows how each option is written."
    )

    def __init__(self, told: ByFace, value: object, problem: str, *, hint: str = "") -> None:
        said = ByFace(f'"{value}" cannot be used: {problem}.', typed=f'{told.typed} is "{value}": {problem}.')
        super().__init__(said, where=told, hint=hint)


def told_in(name: str, option: str = "") -> ByFace:
    """Where a value is told: the field of a page, the option of the command.

    Examples
    --------
    >>> told_in("bolt_pattern"), told_in("bolt_pattern").typed
    ('bolt_pattern', '--bolt-pattern')
    """
    return ByFace(name, typed=option or f"--{name.replace('_', '-')}")


_GAP = told_in("gap")


def candidate_of(  # one argument an option or a pair of them
    *,
    bolt_pattern: str | None,
    bore: str | None,
    centred: bool,
    seats: tuple[str | None, str | None],
    turns: float | None,
    marked: tuple[str | None, str | None],
) -> Candidate:
    """What is known of the new wheel and tyre.

    Parameters
    ----------
    bolt_pattern, bore : str or None
    centred : bool
    seats : tuple of str or None
        Of the wheel, and of the nuts or bolts.
    turns : float or None
    marked : tuple of str or None
        Load of the wheel, and rims that the tyre's maker approves.

    Returns
    -------
    Candidate

    Raises
    ------
    FitOptionError
        If a value is outside what wheels have.
    InputError
        If a pattern, a seat or a quantity cannot be read.
    """
    wheel_seat, fastener_seat = (
        None if word is None else seat_of(word, where=told)
        for word, told in zip(seats, (told_in("seat"), told_in("fastener_seat", "--nut-seat")), strict=True)
    )
    wheel_load, rims = marked
    if turns is not None and not 0 < turns <= 60:
        raise FitOptionError(told_in("turns"), f"{turns:g}", "nuts and bolts are turned more than 0 and up to 60 times")
    return Candidate(
        bolt_pattern=None if bolt_pattern is None else pattern_of(bolt_pattern, where=told_in("bolt_pattern")),
        bore=_within(bore, told_in("bore"), "length", (0.04, 0.18, "40 to 180 mm")),
        is_centred=centred,
        seat=wheel_seat,
        fastener_seat=fastener_seat,
        turns=turns,
        load_rating=_within(wheel_load, told_in("wheel_load"), "mass", (150, 3000, "150 to 3000 kg")),
        rims=None if rims is None else _rims(rims),
    )


def spacer_of(text: str | None) -> float | None:
    """A spacer. [m]"""
    return _within(text, told_in("spacer"), "length", (0.0, 0.06, "0 to 60 mm"))


def mass_of(text: str | None) -> float | None:
    """One wheel with its tyre. [kg]"""
    return _within(text, told_in("mass"), "mass", (4, 60, "4 to 60 kg"))


def grade_of(treadwear: float | None) -> float | None:
    """A treadwear grade."""
    if treadwear is not None and not 0 <= treadwear <= 1000:
        raise FitOptionError(told_in("treadwear"), f"{treadwear:g}", "treadwear grades go from 0 to 1000")
    return treadwear


def _within(text: str | None, told: ByFace, dimension: Dimension, limits: tuple[float, float, str]) -> float | None:
    """A quantity in SI; a length needs its unit here, since a bare one would be metres."""
    if text is None:
        return None
    low, high, words = limits
    if dimension == "length" and re.fullmatch(r"\s*[+-]?[\d.]+\s*", text) and float(text) != 0:
        raise FitOptionError(told, text, "the unit is missing", hint=f'Write "{text.strip()} mm".')
    value = parse(text, dimension, where=told)
    if not low <= value <= high:
        raise FitOptionError(told, text, f"it lies outside {words}")
    return value


def _rims(text: str) -> tuple[float, float]:
    found = _RIMS.match(text)
    if found is None:
        raise FitOptionError(told_in("rims"), text, "this is not a range of rim widths", hint='Write "8.5 to 10 in".')
    low, high = float(found[1]), float(found[2])
    if not 3 <= low <= high <= 15:
        raise FitOptionError(told_in("rims"), text, "rims go from the narrower to the wider, within 3 to 15 in")
    return low * _INCH, high * _INCH


def loads_of(texts: Sequence[str], axles: Sequence[str]) -> dict[str, float]:
    """Loads of axles with the driver in, weighed. [kg]

    Parameters
    ----------
    texts : sequence of str
        "front=560 kg"; the axle may be left out where only one gets the wheels.
    axles : sequence of str
        Axles that get the wheels.

    Raises
    ------
    FitOptionError
        If an axle is not told or gets no wheels, is told twice, or the load is none that a car has.
    """
    found: dict[str, float] = {}
    for text in texts:
        axle, sign, load = (part.strip() for part in text.partition("="))
        if not sign and len(axles) == 1:
            axle, load = axles[0], axle
        if axle not in axles or axle in found:
            problem = "this axle is told twice" if axle in found else f"say which axle: {' or '.join(axles)}"
            raise FitOptionError(told_in("axle_load"), text, problem, hint=f'Write "{axles[0]}=560 kg".')
        told = _within(load, told_in(f"axle_load_{axle}", "--axle-load"), "mass", (100, 3000, "100 to 3000 kg"))
        assert told is not None
        found[axle] = told
    return found


def gaps_of(texts: Sequence[str], axles: Sequence[str]) -> dict[tuple[str, str], float]:
    """Gaps measured with the new wheel on, by axle and name. [m]

    Parameters
    ----------
    texts : sequence of str
        "front.strut=9 mm"; the axle may be left out where only one gets the wheels.
    axles : sequence of str
        Axles that get the wheels.

    Raises
    ------
    FitOptionError
        If there is no such gap, its axle is not told or gets no wheels, or it is told twice.
    """
    found: dict[tuple[str, str], float] = {}
    for text in texts:
        key, gap = _gap(text, axles)
        if key in found:
            raise FitOptionError(_GAP, text, f"{'.'.join(key)} is given twice", hint="Leave one of the two out.")
        found[key] = gap
    return found


def _gap(text: str, axles: Sequence[str]) -> tuple[tuple[str, str], float]:
    name, equals, size = text.partition("=")
    plain = re.sub(r"full[ -]", "full_", name.strip().lower())
    *axle, key = re.split(r"[. ]+", plain)
    if not equals or key not in GAPS:
        hint = f'Write --gap "{axles[0]}.strut=9 mm".'
        raise FitOptionError(_GAP, text, f"a gap is one of {', '.join(GAPS)}", hint=hint)
    if not axle and len(axles) > 1:
        hint = f'Write --gap "front.{key}={size.strip()}", and the rear one beside it.'
        raise FitOptionError(
            _GAP, text, "the axle is missing, and a gap of one axle says nothing of the other", hint=hint
        )
    where = axle[0] if axle else axles[0]
    if len(axle) > 1 or where not in axles:
        raise FitOptionError(_GAP, text, f"the wheels are asked about for: {', '.join(axles)}")
    if (where, key) == ("rear", "full_lock"):
        raise FitOptionError(_GAP, text, "full lock is asked of the front axle only")
    gap = _within(size, told_in(f"{where}_{key}", f"--gap {where}.{key}"), "length", (0.0, 0.3, "0 to 300 mm"))
    assert gap is not None
    return (where, key), gap
