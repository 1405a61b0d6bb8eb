"""The drawing of a fit: to scale, nothing off the sheet, what is not known said."""

import re
import xml.etree.ElementTree as ET

import pytest

from conewise.reports.fit_picture import fit_svg
from conewise.workflows.fit import FitQuestion, answer_fit
from tests.cars import DEMO
from tests.fits import DAY

SVG = "{http://www.w3.org/2000/svg}"


def drawn(car="marigold", system="metric", **asked):
    answer = answer_fit(FitQuestion(car=DEMO / f"{car}.toml", **asked), day=DAY)
    return answer, ET.fromstring(fit_svg(answer, system=system))


def outlines(root, kind):
    shapes = [e for e in root.iter(f"{SVG}polygon") if e.get("class") == kind]
    return [[tuple(map(float, p.split(","))) for p in shape.get("points").split()] for shape in shapes]


def test_widths_and_heights_are_to_one_scale():
    answer, root = drawn(wheel="15x9 +20", tyre="225/45R15 87V", axles=("front",))
    old, new = outlines(root, "old")[0], outlines(root, "tyre")[0]
    front = answer.axles[0]
    width = {id(o): max(x for x, _ in o) - min(x for x, _ in o) for o in (old, new)}
    scale = width[id(new)] / front.after.section
    assert width[id(old)] == pytest.approx(front.before.section * scale, abs=0.3)
    wall = max(y for _, y in new) - min(y for _, y in new)
    assert wall == pytest.approx(front.after.tyre.sidewall * scale, abs=0.3)
    moved = max(x for x, _ in new) - max(x for x, _ in old)
    assert moved == pytest.approx(front.shift.tyre_outer * scale, abs=0.3)


@pytest.mark.parametrize("offset", ["+60", "+0", "-60"])
def test_nothing_lies_off_the_sheet(offset):
    _, root = drawn(wheel=f"15x10 {offset}", tyre="225/45R15 87V")
    _, _, width, height = map(float, root.get("viewBox").split())
    places = [p for kind in ("old", "tyre") for shape in outlines(root, kind) for p in shape]
    assert all(0 < x < width and 0 < y < height for x, y in places)
    boxes = [e for e in root.iter(f"{SVG}rect") if e.get("class") == "body"]
    assert len(boxes) == 4
    assert all(0 <= float(e.get("x")) <= width - float(e.get("width")) for e in boxes)
    assert all(0 <= float(e.get("x")) <= width for e in root.iter(f"{SVG}text"))


def test_what_is_not_known_is_written():
    _, root = drawn("pepper", wheel="16x7 +40", axles=("front",))
    texts = [e.text for e in root.iter(f"{SVG}text")]
    assert texts.count("not known") == 2
    assert not [e for e in root.iter(f"{SVG}rect") if e.get("class") == "body"]


def test_units_of_the_labels():
    _, root = drawn(wheel="15x9 +20", axles=("front",), system="us")
    texts = " ".join(e.text for e in root.iter(f"{SVG}text"))
    assert re.search(r"outer edge: 0\.81 in out", texts)  # 12.7 + 8 mm
    assert " mm" not in texts
