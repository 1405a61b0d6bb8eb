"""The times of the examples: made by their generator, and judged near the truth that it was given."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
from bench.make_demo_times import TARGET, TRUTH, demo_times

from conewise.workflows.prove import prove


def test_the_file_is_what_the_generator_makes():
    assert (files("conewise.demo") / "times" / TARGET.name).read_text(encoding="utf-8") == demo_times()


def test_the_truth_lies_in_the_interval():
    answer = prove(TARGET)
    low, high = answer.effect.interval
    assert low < answer.effect.reference_time * np.expm1(TRUTH.effect) < high
    assert answer.findings == ()
