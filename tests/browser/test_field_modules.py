"""What a phone reads and scores by itself is what the laptop reads and scores; what it keeps it keeps."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from conewise.course.drill import Card, score
from conewise.course.files import read_course
from conewise.course.reference import lay_out
from conewise.course.shape import N_POINTS, DrawingError, shape_score
from conewise.errors import ConewiseError
from conewise.event.run_time import written_run
from tests.browser.modules import module_page
from tests.solved import DEMO_COURSES

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page(browser):
    with module_page(browser) as page:
        yield page


READ = """async (texts) => {
  const {readRun} = await import("/js/field/run_time.js");
  return texts.map(readRun);
}"""


def said_by_the_laptop(text):
    try:
        said = written_run(text)
    except ConewiseError:
        return None
    return (said.raw_time, said.cones, said.outcome, said.is_void)


def said_by_the_phone(record):
    if "problem" in record:
        return None
    return (record["rawTime"], record["cones"], record["outcome"], record["isVoid"])


def test_the_phone_reads_times_as_the_laptop_does(page, rng):
    times = ["", "62.345", "62,345", "62345", "1:02.345", "1:2.3", "1:60.1", "10:00", "10:00.1", "4.999", "5.0", "600",
             "600.0", "600.1", "102345", "999999", "6234", "0234", "62", "6", ".5", "62.", "62.34567", "1:02", "1:02,3",
             "00005", "05000", "4999", "-62.3", "62.3.4", "1:2:3"]  # fmt: skip
    tails = ["", "+1", "+12", "+123", "(2)", " ( 3 )", " + 4", "+", "()", " DNF", "+1 off", "DNS", " re-run", "rerun",
             " RE  RUN", " fast", "+2DSQ", "dnf+1"]  # fmt: skip
    texts = [a + b for a, b in product(times, tails)]
    alphabet = list("0123456789:.,+() dnfofsqre-u")
    texts += ["".join(rng.choice(alphabet, size=rng.integers(1, 9))) for _ in range(3000)]
    read = page.evaluate(READ, texts)
    wrong = [
        (text, said_by_the_laptop(text), record)
        for text, record in zip(texts, read, strict=True)
        if said_by_the_laptop(text) != said_by_the_phone(record)
    ]
    assert wrong == []
    assert sum("problem" not in record for record in read) > 100


def test_what_could_mean_two_things_is_asked(page):
    six, four, one, none = page.evaluate(READ, ["102345", "6234", "6999", "999999"])
    assert six == {"problem": "two", "readings": ["1:02.345", "102.345"]}
    assert four == {"problem": "two", "readings": ["62.34", "6.234"]}
    assert one["readings"] == ["69.99", "6.999"]
    assert none["readings"] == []  # a minute has no 99 seconds, and no run takes 999.999 s


SCORE = """async (cases) => {
  const {scoreOrder} = await import("/js/field/order.js");
  return cases.map(({stretch, order, sides}) => scoreOrder(stretch, order, sides));
}"""


def test_the_phone_scores_order_and_sides_as_the_laptop_does(page, rng):
    cases, wanted = [], []
    for _ in range(300):
        kinds = rng.choice(["gate", "slalom", "cone"], size=rng.integers(1, 9))
        stretch = [
            Card(feature=f"f{i}", number=i + 2, kind=kind, n_crossings=int(rng.integers(1, 3)), is_pairs=False,
                 side=str(rng.choice(["", "left", "right"])), question="first cone")
            for i, kind in enumerate(kinds.tolist())
        ]  # fmt: skip
        told = rng.permutation(len(stretch))[: rng.integers(0, len(stretch) + 1)]
        order = [stretch[int(i)] for i in told]
        sides = {card.feature: str(rng.choice(["left", "right"])) for card in order}
        found = score(stretch, order, sides)
        wanted.append((found.n_in_order, found.missing, found.n_sides, found.wrong_sides, found.is_known))
        as_record = [
            {"feature": c.feature, "number": c.number, "looks": c.looks, "side": c.side} for c in stretch
        ]  # fmt: skip
        cases.append({"stretch": as_record, "order": [as_record[int(i)] for i in told], "sides": sides})
    told = [
        (one["nInOrder"], tuple(one["missing"]), one["nSides"], tuple(one["wrongSides"]), one["isKnown"])
        for one in page.evaluate(SCORE, cases)
    ]
    assert told == wanted
    assert 0 < sum(known for *_, known in told) < len(told)


SHAPE = """async ({course, drawings}) => {
  const {scoreShape} = await import("/js/field/shape.js");
  return drawings.map((drawing) => scoreShape(course, drawing));
}"""


def test_the_phone_scores_drawings_as_the_laptop_does(page, rng):
    geometry = lay_out(read_course(DEMO_COURSES / "harbour-yard.toml"))
    station = np.linspace(0.0, geometry.path.length, N_POINTS)
    points = geometry.path.at(station)
    line = np.column_stack([points.x, points.y])
    course = {
        "line": line.tolist(),
        "length": geometry.path.length,
        "spans": [{"feature": s.id, "number": i, "start": s.start, "end": s.end} for i, s in enumerate(geometry.spans)],
    }
    drawings = []
    for _ in range(12):
        pick = np.sort(rng.choice(N_POINTS, size=60, replace=False))
        drawn = line[pick] + rng.normal(scale=rng.choice([0.5, 4.0, 12.0]), size=(60, 2)).cumsum(axis=0) / 6
        angle, scale = rng.uniform(0, 6.28), rng.uniform(0.01, 5.0)
        turn = scale * np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        drawings.append(drawn @ turn.T * ([1.0, -1.0] if rng.random() < 0.3 else [1.0, 1.0]) + rng.normal(size=2))
    drawings.append(rng.normal(size=(20, 2)))
    told = page.evaluate(SHAPE, {"course": course, "drawings": [drawing.tolist() for drawing in drawings]})
    for drawing, record in zip(drawings, told, strict=True):
        found = shape_score(geometry, drawing)
        # Sums are taken in another order, so pairs of nearly equal cost may differ.
        assert record["distance"] == pytest.approx(found.distance, rel=1e-6)
        assert record["verdict"] == found.verdict
        assert record["worstFeature"] == found.worst_feature
        assert record["worstDistance"] == pytest.approx(found.worst_distance, rel=1e-6)
    assert {record["verdict"] for record in told} >= {"good", "mirrored", "off"}
    for drawing, problem in (([[0, 0], [1, 1]], "few"), ([[2, 2]] * 5, "spot")):
        assert page.evaluate(SHAPE, {"course": course, "drawings": [drawing]}) == [{"problem": problem}]
        with pytest.raises(DrawingError):
            shape_score(geometry, np.array(drawing, dtype=float))
