"""Recognition of columns, held to a labelled set of headers, each mangled ten ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from conewise.logs.recognition import SURE, propose
from conewise.logs.units import plain_unit
from tests.labelled_headers import HELD_OUT, MANGLES, TUNED, filled, headers, mangled

# What nobody can know: lengths in feet without a unit, where everyone else means metres.
UNKNOWABLE = {"altitude:ft", "lateral_acceleration:ft/s2", "longitudinal_acceleration:ft/s2"}


@dataclass(frozen=True)
class Judged:
    """One column of the set with what was proposed."""

    mangle: str
    name: str
    label: str
    proposal: object

    @property
    def quantity_is_right(self):
        quantity = self.label.partition(":")[0]
        return self.proposal.quantity == ("ignore" if quantity == "-" else quantity)

    @property
    def is_right(self):
        quantity, _, unit = self.label.partition(":")
        told = plain_unit(self.proposal.unit) if not self.proposal.unit.startswith("epoch") else self.proposal.unit
        return self.quantity_is_right and (quantity in {"-", "date"} or told == (unit or "1"))


def judged(text):
    for number, (names, labels) in enumerate(headers(text)):
        written = filled(names, labels, np.random.default_rng(number))
        for mangle, change in {"as written": lambda *both: both, **MANGLES}.items():
            columns = mangled(written, change)
            for column, label, proposal in zip(columns, labels, propose(columns), strict=True):
                if not (mangle == "no unit" and label in UNKNOWABLE):
                    yield Judged(mangle, f"{column.name} [{column.unit}]", label, proposal)


@pytest.fixture(scope="module")
def every():
    return {"tuned": list(judged(TUNED)), "held out": list(judged(HELD_OUT))}


def test_the_set_is_large_enough():
    assert len(list(headers(TUNED))) + len(list(headers(HELD_OUT))) >= 60
    assert len(MANGLES) == 10


@pytest.mark.parametrize("part", ["tuned", "held out"])
def test_what_is_sure_is_right(every, part):
    sure = [entry for entry in every[part] if entry.proposal.is_sure]
    wrong = [(e.mangle, e.name, e.label, e.proposal.quantity, e.proposal.unit) for e in sure if not e.is_right]
    assert len(wrong) <= 0.005 * len(sure), wrong  # sure means 0.95; one in two hundred leaves room for a new header


@pytest.mark.parametrize("part", ["tuned", "held out"])
def test_time_and_speed_are_never_sure_and_wrong(every, part):
    told = {"time", "speed"}
    wrong = [
        (e.mangle, e.name, e.label)
        for e in every[part]
        if e.proposal.is_sure and not e.is_right and told & {e.proposal.quantity, e.label.partition(":")[0]}
    ]
    assert not wrong


@pytest.mark.parametrize(
    ("mangle", "share"), [("as written", 0.95), ("clipped", 0.93), ("slip", 0.94), ("no unit", 0.75)]
)
def test_few_columns_need_asking(every, mangle, share):
    entries = [entry for part in every.values() for entry in part if entry.mangle == mangle]
    assert np.mean([entry.proposal.is_sure for entry in entries]) >= share


def test_probabilities_are_no_boast(every):
    """Of the columns between two probabilities, at least the lower share is right, less what few columns allow."""
    entries = [entry for part in every.values() for entry in part]
    for low, high in ((0.6, 0.95), (SURE, 1.01)):
        inside = [entry.quantity_is_right for entry in entries if low <= entry.proposal.probability < high]
        assert np.mean(inside) >= low - 2.0 * np.sqrt(low * (1.0 - low) / len(inside))
    doubtful = [entry for entry in entries if entry.proposal.probability < 0.6]
    assert np.mean([entry.quantity_is_right for entry in doubtful]) < 0.6
