"""Autocross: the fastest clean run for a cone course and a car, the price of every cone, the worth of a change."""

from __future__ import annotations

from typing import Any

__all__ = ["FitQuestion", "answer_fit", "prove", "read_car", "read_changes", "read_course", "solve"]

_HOMES = {
    "FitQuestion": "conewise.workflows.fit",
    "answer_fit": "conewise.workflows.fit",
    "prove": "conewise.workflows.prove",
    "read_car": "conewise.cars.car_file",
    "read_changes": "conewise.cars.changes_file",
    "read_course": "conewise.course.files",
    "solve": "conewise.workflows.predict",
}


def __getattr__(name: str) -> Any:
    """Import the public functions when they are first used, so that importing conewise stays instant."""
    if name not in _HOMES:
        message = f"module 'conewise' has no attribute {name!r}"
        raise AttributeError(message)
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)
