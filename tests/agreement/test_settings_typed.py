"""`conewise settings` from the command line: two courses with weights, on a wet surface, a novice."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import conewise.demo
from conewise.cli.main import run
from conewise.course.files import write_course
from tests.courses import club_course
from tests.solved import short_course

pytestmark = pytest.mark.slow

CAR = Path(conewise.demo.__file__).parent / "cars" / "marigold.toml"
RANGES = """
[[setting]]
name = "front bar"
field = "front.bar_arm"
values = ["0.21 m", "0.23 m", "0.25 m"]

[[setting]]
name = "brake balance"
field = "brakes.front_share"
low = "0.72"
high = "0.82"
step = "0.02"
"""


def test_two_courses_in_the_wet_are_weighed_and_their_bounds_are_kept(tmp_path, capsys):
    first, second = short_course(), club_course(7, length=150.0, n_features=3)
    for name, course in (("first.toml", first), ("second.toml", second)):
        write_course(course, tmp_path / name)
    (tmp_path / "ranges.toml").write_text(RANGES, encoding="utf-8")
    typed = [
        "settings", str(tmp_path / "first.toml"), str(tmp_path / "second.toml"), "--weight", "3", "--weight", "1",
        "--car", str(CAR), "--ranges", str(tmp_path / "ranges.toml"), "--surface", "wet", "--driver", "novice",
        "--workers", "1", "--json",
    ]  # fmt: skip
    code = run(typed)
    out, said = capsys.readouterr()
    assert code in {0, 6}, said  # 6: a run failed one of its checks, and says which
    record = json.loads(out)
    assert (code == 0) is record["ok"]
    assert [course["name"] for course in record["courses"]] == [first.name, second.name]
    assert [course["weight"] for course in record["courses"]] == [0.75, 0.25]
    assert record["surface"] < 1.0
    bounds = {bound["name"]: bound for bound in record["bounds"]}
    assert set(bounds) == {"lock order of the brakes", "lock order at the first stop", "understeer"}
    assert all(bound["after"] >= bound["least"] - 1e-9 for bound in bounds.values())
    balance = next(row for row in record["settings"] if row["name"] == "brake balance")
    assert balance["best"] > balance["now"]  # in gear with cold front pads the rear locks first as it stands
