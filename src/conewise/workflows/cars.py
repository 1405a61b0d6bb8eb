"""What is known about a car, and is it in order: new, show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from conewise.cars.car import field
from conewise.cars.car_file import car_of
from conewise.cars.plausible import check_car, value_in_words
from conewise.cars.questions import answered, car_file
from conewise.cars.toml_file import CarFileMissingError, NotACarFileError, Table
from conewise.errors import ConflictError
from conewise.findings import by_severity
from conewise.quantities import show
from conewise.vehicle.build import outside_model
from conewise.vehicle.derived import DerivedValue, derived_values, safety_findings
from conewise.workflows.named import car_from

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from conewise.cars.car import Car
    from conewise.findings import Finding
    from conewise.quantities import Sourced, System
    from conewise.workflows.named import Source

_KG_PER_LB = 0.45359237


class CarFileExistsError(ConflictError):
    """The car file to be written is already there."""

    code = "car-file-exists"

    def __init__(self, path: Path) -> None:
        super().__init__(f"'{path.name}' is already there and stays as it is.", where=str(path))


@dataclass(frozen=True, slots=True, kw_only=True)
class CarSheet:
    """Everything that is known about a car."""

    car: Car
    derived: tuple[DerivedValue, ...]
    findings: tuple[Finding, ...]
    outside: Mapping[str, str]  # fields that the time model does not know, with the reason

    def as_dict(self) -> dict[str, object]:
        """For JSON: SI units, named beside each value."""
        car = self.car
        return {
            "name": car.name,
            "kind": car.kind,
            "drive": car.drive,
            "transmission": car.transmission.kind,
            "differential": {"front": car.front.differential.kind, "rear": car.rear.differential.kind},
            "abs": car.brakes.abs,
            "values": [self._value_dict(name, value) for name, value in car.values.items()],
            "derived": [
                {"name": d.name, "meaning": d.meaning, "value_si": d.value, "dimension": d.dimension, "per": d.per}
                for d in self.derived
            ],
            "findings": [
                {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where} for f in self.findings
            ],
        }

    def _value_dict(self, name: str, value: Sourced) -> dict[str, object]:
        return {
            "name": name,
            "meaning": field(name).meaning,
            "value_si": value.value,
            "uncertainty_si": value.uncertainty,
            "dimension": field(name).dimension,
            "origin": value.origin.value,
            "outside_model": self.outside.get(name),
        }


def car_sheet(path: Source, *, system: System = "metric") -> CarSheet:
    """Given, typical and derived values of a car file, and what looks odd about them.

    Parameters
    ----------
    path : Path
        Car file.
    system : str, default "metric"
        Units of the findings.

    Returns
    -------
    CarSheet

    Raises
    ------
    CarFileMissingError
        If there is no such file.
    InputError
        If the file cannot be used.
    """
    return _sheet(car_from(path), system)


def _sheet(car: Car, system: System) -> CarSheet:
    findings = by_severity([*check_car(car, system=system), *safety_findings(car)])
    return CarSheet(car=car, derived=derived_values(car), findings=tuple(findings), outside=outside_model(car))


def refuse_existing(path: Path, *, force: bool) -> None:
    """Say early that a file is there, or that its name or folder will not do.

    Raises
    ------
    CarFileExistsError
        If the file is there and `force` is not said.
    CarFileMissingError
        If its folder is not there.
    NotACarFileError
        If its name does not end in .toml.
    """
    if path.suffix.lower() != ".toml":
        raise NotACarFileError(f"A car is written to a .toml file, not to '{path.name}'.", where=str(path))
    if not path.parent.is_dir():
        raise CarFileMissingError(path.parent)
    if path.exists() and not force:
        raise CarFileExistsError(path)


def new_car(answers: Mapping[str, str], path: Path, *, force: bool = False) -> CarSheet:
    """Write a commented car file from the answers to `questions.QUESTIONS`.

    Parameters
    ----------
    answers : Mapping[str, str]
        Text of each answer by the question's key; what is missing, empty or not known is typical.
    path : Path
        File to write.
    force : bool, default False
        Whether a file that is there may be replaced.

    Returns
    -------
    CarSheet

    Raises
    ------
    CarFileExistsError
        If the file is there and `force` is not said.
    AnswerError
        If an answer cannot be used.
    """
    refuse_existing(path, force=force)
    text = car_file(answered(answers))
    sheet = _sheet(car_of(Table.of_text(text, file=str(path))), "metric")
    try:
        with path.open("w" if force else "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise CarFileExistsError(path) from None
    return sheet


def value_row(name: str, value: Sourced, system: System) -> tuple[str, str, str, str]:
    """Name, value, standard uncertainty and origin of a field, in words."""
    facts = field(name)
    number, spread = (value_in_words(x, facts, system) for x in (value.value, value.uncertainty))
    return name, number, spread, value.origin.value


def derived_row(value: DerivedValue, system: System) -> tuple[str, str, str]:
    """Name, value and meaning of a derived value, in words."""
    if value.per != "kg":
        text = show(value.value, value.dimension, system)
        return value.name, f"{text}/{value.per}" if value.per else text, value.meaning
    if system == "us":
        return value.name, f"{show(value.value * _KG_PER_LB, 'power', 'us')}/lb", value.meaning
    return value.name, f"{value.value:.3g} W/kg", value.meaning
