"""Derivatives by the numbers of a car file, and what the errors of these numbers make of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from conewise.vehicle import build

if TYPE_CHECKING:
    from collections.abc import Mapping

    from conewise.cars.car import Car
    from conewise.cars.driver import Driver
    from conewise.quantities import Sourced

Array = NDArray[np.float64]


def slopes_by_file(car: Car, slopes: Array, *, driver: Driver | None = None) -> dict[str, float]:
    """Derivative by every number of a car file, by its name. [s per SI unit]

    Parameters
    ----------
    car : Car
    slopes : Array, shape (ModelParameters.size(),)
        By the model's numbers. [s per SI unit]
    driver : Driver, optional
    """
    by_file: Array = slopes @ build.jacobian(car, driver=driver)
    return {facts.name: float(slope) for facts, slope in zip(build.file_parameters(car), by_file, strict=True)}


def shared_name(name: str, values: Mapping[str, Sourced]) -> str:
    """The name under which a number's error counts: the same tyre front and rear is off alike."""
    other = name.replace("rear.tyre.", "front.tyre.", 1)
    return other if other in values and values[other] == values[name] else name


def by_error(slopes: Mapping[str, float], values: Mapping[str, Sourced]) -> dict[str, float]:
    """What one standard deviation of each independent error changes, by the name under which it counts. [s]

    Parameters
    ----------
    slopes : Mapping of name to float
        [s per SI unit]
    values : Mapping of name to Sourced
        The numbers with their uncertainties.
    """
    found: dict[str, float] = {}
    for name, slope in slopes.items():
        source = shared_name(name, values)
        found[source] = found.get(source, 0.0) + slope * values[name].uncertainty
    return found
