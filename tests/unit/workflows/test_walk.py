"""The walk sheet: places found on foot, left and right, the way the driver stands."""

import json
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from conewise.cli.main import run
from conewise.course.files import read_course, write_course
from conewise.course.layout import Course, PassSide
from conewise.reports import walk_map, walk_pdf, walk_words
from conewise.reports.answer import FeaturePrice
from conewise.reports.course_words import name_of
from conewise.reports.units import METRIC, US
from conewise.reports.walk_answer import Place
from conewise.workflows.courses import summary
from conewise.workflows.line import LineQuestion
from conewise.workflows.walk import answer_walk
from tests.cars import DEMO
from tests.solved import DEMO_COURSES, short_course

COURSE = DEMO_COURSES / "harbour-yard.toml"
CAR = DEMO / "marigold.toml"


def sheet_of(course):
    question = LineQuestion(course=course, car=CAR, level="quasi-steady")
    return answer_walk(question, progress=lambda _words: None)


@lru_cache(maxsize=1)
def sheet():
    return sheet_of(COURSE)


def turned(course, angle):
    """The course turned about the origin."""
    c, s = np.cos(angle), np.sin(angle)
    moved = [cone.changed(x=c * cone.x - s * cone.y, y=s * cone.x + c * cone.y) for cone in course.cones]
    return Course(name=course.name, cones=tuple(moved), features=course.features, staging=course.staging)


def test_features_come_in_driving_order():
    starts = [stop.feature.start for stop in sheet().stops]
    assert starts == sorted(starts)
    assert [stop.number for stop in sheet().stops] == list(range(1, len(starts) + 1))
    assert (sheet().stops[0].feature.kind, sheet().stops[-1].feature.kind) == ("start", "finish")


@pytest.mark.parametrize("angle", [0.0, 1.0, 2.5, -2.0])
def test_the_driver_at_the_start_looks_up_the_sheet(tmp_path, angle):
    """The first metres go up, and the left cone of the start stands left of the right one, however the lot lies."""
    write_course(turned(short_course(), angle), tmp_path / "turned.toml")
    found = sheet_of(tmp_path / "turned.toml")
    solution = found.answer.solution
    line = np.column_stack([solution.x, solution.y])
    frame = walk_map.figures.turned(line, walk_map.SHEET, walk_map.turn_of(found))
    ahead = frame.on_sheet(line[[0, 5]])
    assert ahead[1, 1] < ahead[0, 1]  # y counts downwards on a sheet
    assert abs(ahead[1, 0] - ahead[0, 0]) < 0.2 * abs(ahead[1, 1] - ahead[0, 1])
    start = {cone.is_left: (cone.x, cone.y) for cone in solution.cones if cone.feature == solution.features[0].id}
    left, right = frame.on_sheet(np.array([start[True], start[False]]))
    assert left[0] < right[0]


def test_cones_are_told_by_the_side_of_the_driver():
    course = read_course(COURSE)
    words = sheet().cone_words
    for feature in course.features:
        for crossing in feature.crossings:
            for passed in crossing:
                if len(crossing) > 1:
                    side = "left" if passed.pass_side is PassSide.RIGHT else "right"
                    assert words[passed.cone].endswith(f"{side} cone")
                assert feature.id in words[passed.cone]


def test_a_braking_place_lies_on_the_line_before_its_feature_ends():
    braked = [stop for stop in sheet().stops if stop.braking is not None]
    assert len(braked) >= 3
    for stop in braked:
        assert 0.0 < stop.braking.station < stop.feature.end
        assert stop.power is None or stop.braking.station < stop.power.station
        away = np.hypot(sheet().answer.solution.x - stop.braking.x, sheet().answer.solution.y - stop.braking.y)
        assert away.min() < 0.5  # m: places are told on the run that was solved


def test_a_landmark_is_as_far_as_it_is_on_the_lot():
    """Told distance against the straight distance from the place to its cone: bent ways are a little longer."""
    cones = {cone.id: cone for cone in sheet().answer.course.cones}
    places = [place for stop in sheet().stops for place in (stop.braking, stop.power) if place and place.cone]
    assert len(places) >= 5
    for place in places:
        cone = cones[place.cone]
        straight = np.hypot(cone.x - place.x, cone.y - place.y)
        # m: the cone stands beside the line by half a gate and more, and 10 m of a bend are up to 1 m longer
        assert abs(place.ahead) <= straight + 1.0
        assert straight <= abs(place.ahead) + 4.5


@pytest.mark.parametrize(
    ("ahead", "units", "words"),
    [(8.2, METRIC, "8 m before "), (-5.0, METRIC, "5 m after "), (0.4, US, "beside "), (10.0, US, "33 ft before ")],
)
def test_places_are_told_in_the_units_asked_for(ahead, units, words):
    cone = sheet().answer.course.cones[0].id
    place = Place(station=3.0, x=0.0, y=0.0, cone=cone, ahead=ahead)
    assert walk_words.place_words(sheet(), place, units) == words + sheet().cone_words[cone]


def test_a_place_without_a_cone_is_told_from_the_start():
    place = Place(station=120.4, x=0.0, y=0.0, cone="", ahead=0.0)
    assert walk_words.place_words(sheet(), place, METRIC) == "120 m from the start"


def test_features_have_the_same_names_as_in_the_summary_of_the_course():
    """Number and name of the walk sheet are those of `course show`, in its rows, its sentences and its record."""
    rows = {row.id: row.number for row in summary(COURSE).features}
    made = sheet()
    assert {stop.feature.id: stop.number for stop in made.stops} == rows
    for sentence in walk_words.remember(made, METRIC):
        told = [name for name in rows if f"{name}," in sentence or f"{name} (" in sentence or f"for {name}" in sentence]
        assert told, sentence
        assert any(f"(number {rows[name]})" in sentence for name in told)
    names = [row["name"] for row in walk_pdf.walk_data(made, METRIC)["rows"]]
    assert [name_of(f.kind, f.id) for f in made.answer.solution.features] == names


def test_the_side_of_an_open_slalom_is_the_one_that_the_run_takes():
    (open_one,) = [s for s in sheet().stops if s.feature.id in sheet().answer.solution.choices]
    words = walk_words.stop_words(sheet(), open_one, METRIC)
    side = {"left": "right", "right": "left"}[sheet().answer.solution.choices[open_one.feature.id]]
    assert words.endswith(f"first cone to your {side}")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_is_one(paper):
    made = walk_pdf.walk_pdf(sheet(), METRIC, paper=paper)
    assert made.startswith(b"%PDF-")
    assert len(made) > 2e4  # bytes: the map and its fonts are in it


def test_the_command_prints_writes_and_gives_json(tmp_path, capsys, monkeypatch):
    words = ["walk", str(COURSE), "--car", str(CAR), "--level", "quasi-steady"]
    assert run([*words, "--pdf", str(tmp_path / "w.pdf"), "--svg", str(tmp_path / "w.svg"), "--units", "us"]) == 0
    assert "To remember" in capsys.readouterr().out
    assert (tmp_path / "w.pdf").read_bytes().startswith(b"%PDF-")
    assert (tmp_path / "w.svg").read_text().startswith("<svg")
    monkeypatch.setattr("conewise.workflows.walk.answer_walk", lambda _question, **_: sheet())  # the same, solved
    assert run([*words, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["level"] == "quasi-steady"
    assert {f["kind"] for f in record["features"]} >= {"start", "slalom", "hairpin", "finish"}
    assert all((f["braking"] is None) or f["braking"]["words"] for f in record["features"])


def test_a_wrong_ending_is_said_before_the_solve(tmp_path, capsys):
    assert run(["walk", str(COURSE), "--car", str(CAR), "--pdf", str(tmp_path / "w.doc")]) == 2
    assert ".pdf" in capsys.readouterr().err


def test_where_a_feature_begins_is_told_by_its_first_cone_or_gate():
    """Nothing marks a feature's beginning on the lot: the first cone of the slalom stands farther on."""
    made = sheet()
    course = made.answer.course
    for stop in made.stops[1:-1]:
        feature = next(one for one in course.features if one.id == stop.feature.id)
        assert stop.entry.cone in {passed.cone for passed in feature.crossings[0]}
        assert stop.entry.ahead > 0.0
    slalom = made.stops[1]
    price = FeaturePrice(feature=slalom.feature.id, entry_speed_price=0.0, wide_price=0.2)
    said = walk_words.remember(
        replace(made, stops=tuple(replace(one, price=price if one is slalom else None) for one in made.stops)), METRIC
    )
    ahead = METRIC.length(slalom.entry.ahead)
    assert f"Be on the line {ahead} m before slalom 1, cone 1, for slalom 1 (number 2): " in " ".join(said)
