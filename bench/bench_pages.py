"""How fast charts and maps answer: hover to cursor with 6,000 points, frames while a cone is dragged among 200.

In headless Chromium without a graphics processor, also with the processor slowed down six times as a stand-in for a
phone. A time runs from the event to the frame in which its effect is drawn.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from conewise.course.layout import Cone, ConePass, Course, CourseFeature, FeatureKind, PassSide
from tests.browser.bare_page import bare_page, serve
from tests.browser.conftest import ARGUMENTS
from tests.browser.test_web_chart import CHART
from tests.conftest import chromium_path
from tests.web_app import client_of, clock, served, settings_over

MOVES = 200
SLOWED = 6  # times, as a stand-in for a phone
CONES = 200

HOVER = """() => {
  window.waits = [];
  let sent = 0;
  const plot = document.querySelector(".chart-plot");
  plot.addEventListener("pointermove", (event) => { sent = event.timeStamp; }, {capture: true});
  along.addEventListener("cursor", () => {
    const from = sent;
    requestAnimationFrame(() => waits.push(performance.now() - from));
  });
}"""
FRAMES = """() => {
  window.frames_ = [];
  let before = performance.now();
  const step = (now) => { frames_.push(now - before); before = now; window.counting && requestAnimationFrame(step); };
  window.counting = true;
  requestAnimationFrame(step);
}"""


def told(what, values, unit="ms"):
    ordered = sorted(values)
    at_95 = ordered[int(0.95 * (len(ordered) - 1))]
    print(f"{what:<56} median {statistics.median(ordered):6.1f}  95% {at_95:6.1f}  most {ordered[-1]:6.1f} {unit}")


def slowed(page, times):
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": times})


def hover(browser, address, times):
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(address)
    page.evaluate(CHART, {"points": 6000, "options": {"names": False}})
    slowed(page, times)
    page.evaluate(HOVER)
    box = page.locator(".chart-plot").first.bounding_box()
    for i in range(MOVES):
        page.mouse.move(box["x"] + 60 + (i * 37) % (box["width"] - 80), box["y"] + 40)
        time.sleep(0.02)
    waits = page.evaluate("waits")
    told(f"hover to cursor, 6,000 points, {len(waits)} moves, {times}x", waits)
    page.context.close()


def big_course():
    """A start, 198 cones of slaloms to and fro, a finish: what is dragged among is what counts here."""
    cones = [Cone(id="s1", x=0, y=3), Cone(id="s2", x=0, y=-3)]
    features = [gate("start", FeatureKind.START, "s1", "s2")]
    for row in range(14):
        names = []
        for k in range(14):
            names.append(f"r{row}c{k}")
            place = k if row % 2 == 0 else 13 - k
            cones.append(Cone(id=names[-1], x=20.0 + 18.0 * place, y=20.0 * row))
        sides = [PassSide.LEFT if k % 2 else PassSide.RIGHT for k in range(14)]
        crossings = tuple((ConePass(cone=n, pass_side=s),) for n, s in zip(names, sides, strict=True))
        features.append(CourseFeature(id=f"slalom {row + 1}", kind=FeatureKind.SLALOM, crossings=crossings))
    cones += [Cone(id="f1", x=0, y=263), Cone(id="f2", x=0, y=257)]
    features.append(gate("finish", FeatureKind.FINISH, "f2", "f1"))
    return Course(name="Two hundred cones", cones=tuple(cones[:CONES]), features=tuple(features))


def gate(name, kind, left, right):
    passes = (ConePass(cone=left, pass_side=PassSide.RIGHT), ConePass(cone=right, pass_side=PassSide.LEFT))
    return CourseFeature(id=name, kind=kind, crossings=(passes,))


def drag(browser, address, course, times):
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(f"{address}/prepare/courses/{course}/draw?event=april")
    page.wait_for_selector("body[data-ready]")
    page.locator(".course-map").evaluate("map => map.scrollIntoView({block: 'center'})")
    sheet = page.locator(".course-svg").bounding_box()
    mark = page.locator('[data-cone="r6c6"]').get_attribute("transform")
    x, y = (float(n) for n in mark[len("translate(") : mark.index(")")].split())
    slowed(page, times)
    page.mouse.move(sheet["x"] + x, sheet["y"] + y)
    page.mouse.down()
    page.evaluate(FRAMES)
    for i in range(MOVES):
        page.mouse.move(sheet["x"] + x + 0.3 * i, sheet["y"] + y + 0.2 * i)
    frames = page.evaluate("(window.counting = false, frames_)")[1:]
    page.mouse.up()
    n_cones = page.locator(".cone").count()
    told(f"a frame while a cone is dragged, {n_cones} cones, {times}x", frames)
    print(f"{'':<56} {1000 * len(frames) / sum(frames):6.1f} frames a second, {len(frames)} frames")
    page.context.close()


def main():
    from conewise.workflows.demo_book import keep_demo_book

    server, bare = serve({"/": bare_page()})
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        keep_demo_book(folder / "demonstration", now=clock)
        settings = settings_over(folder, folder / "demonstration")
        with client_of(settings) as client:
            course = client.post("/api/courses", json={"course": big_course().model_dump(mode="json")}).json()["id"]
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=ARGUMENTS)
        for times in (1, SLOWED):
            hover(browser, bare, times)
        with served(settings) as address:
            for times in (1, SLOWED):
                drag(browser, address, course, times)
        browser.close()
    server.shutdown()
    server.server_close()


if __name__ == "__main__":
    main()
