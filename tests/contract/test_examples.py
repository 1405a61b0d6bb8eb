"""The gallery scripts run, and one number of each is right."""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def script(name):
    """A gallery script as a module."""
    spec = importlib.util.spec_from_file_location(name, EXAMPLES / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_scripts_are_short():
    assert not [path.name for path in EXAMPLES.glob("*.py") if len(path.read_text(encoding="utf-8").splitlines()) > 60]


def test_every_script_is_tested():
    assert {path.stem for path in EXAMPLES.glob("*.py")} == {
        "course_from_walk",
        "dearest_cones",
        "gradient_table",
        "two_cars",
    }


def test_a_walk_is_drawn(tmp_path, capsys):
    walk = script("course_from_walk")
    course = walk.drawn(tmp_path)
    slalom = next(feature for feature in course.features if feature.kind == "slalom")
    first, last = (course.cone(slalom.cone_ids[i]) for i in (0, -1))
    assert math.dist((first.x, first.y), (last.x, last.y)) == pytest.approx(4 * 18.0)  # five cones every 18 m
    assert (tmp_path / "evening-walk.svg").read_text(encoding="utf-8").startswith("<svg")
    walk.main(tmp_path)
    assert "Evening walk" in capsys.readouterr().out


@pytest.mark.slow
def test_differences_by_feature_add_up(capsys, monkeypatch):
    cars = script("two_cars")
    solutions = {name: cars.solved(name) for name in ("marigold", "pepper")}
    first, second = solutions.values()
    total = sum(seconds for _, seconds in cars.differences(first, second))
    assert total == pytest.approx(second.time - first.time, abs=1e-3)  # features end between stations
    monkeypatch.setattr(cars, "solved", solutions.__getitem__)  # each is solved once
    cars.main()
    assert f"{second.time:.2f} s" in capsys.readouterr().out


@pytest.mark.slow
def test_prices_and_gradients_of_one_solve():
    """One solve serves both scripts."""
    solution = script("dearest_cones").solved()
    assert solution.is_checked, [check for check in solution.checks if not check.ok]
    prices = [cone.price for cone in script("dearest_cones").dearest(solution)]
    assert prices == sorted(prices, reverse=True)
    assert prices[0] > 0.05  # s/m; a slalom at speed has dear cones, common practice, no source
    by_name = {g.name: g.s_per_percent for g in solution.gradients}
    names = [name for name, _ in script("gradient_table").largest(solution)]
    assert "surface.friction" in names
    # Scaling: were friction all that limits a run, its time would go with friction to the power -1/2; power, hands
    # and feet that do not grow with it can only take from that.
    assert -0.5 < by_name["surface.friction"] / solution.time * 100 < 0.0
