"""The charts of the app: what they draw, how they answer to mouse, fingers and keys."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.reports.palette import cividis
from tests.browser.bare_page import bare_page, serve
from tests.browser.boxes import box_of

pytestmark = pytest.mark.browser

CHART = """async ({points, options}) => {
  const {Along} = await import("/static/js/chart/along.js");
  const {TraceChart} = await import("/static/js/chart/trace.js");
  const x = Float64Array.from({length: points}, (_, i) => (i * 600) / (points - 1));
  const y = x.map((s) => 60 + 25 * Math.sin(s / 17) + 5 * Math.sin(s * 3));
  const along = new Along(0, 600);
  const make = (quantity, unit, list) => new TraceChart(document.getElementById("main"), {
    along, x: {quantity: "Distance along the course", unit: "m", digits: 0},
    y: {quantity, unit, digits: 1, hasFloor: true},
    series: options.names
      ? [{name: "best", x, y: list}, {name: "yours", x, y: list.map((v) => 0.9 * v)}]
      : [{name: "", x, y: list}],
    bands: [{from: 0, to: 100}, {from: 100, to: 250}, {from: 250, to: 400}, {from: 400, to: 600}],
  });
  const speed = make("Speed", "km/h", y);
  const share = make("Friction use", "%", y.map((v) => v * 1.1));
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  Object.assign(window, {along, speed, share});
}"""


@pytest.fixture(scope="module")
def address():
    server, address = serve({"/": bare_page()})
    yield address
    server.shutdown()
    server.server_close()


@pytest.fixture
def page(browser, address):
    context = browser.new_context(viewport={"width": 900, "height": 900}, has_touch=True)
    page = context.new_page()
    page.complaints = []
    page.on("console", lambda message: page.complaints.append(message.text))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.goto(address)
    yield page
    context.close()
    assert not [words for words in page.complaints if "404" not in words]


def chart(page, points=6000, **options):
    page.evaluate(CHART, {"points": points, "options": {"names": False} | options})
    return page.locator(".chart-plot").first


def frame(page):
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def window_of(page):
    return page.evaluate("[along.from, along.to]")


def hair(page, which=0):
    return (
        page.locator(".chart-hair").nth(which).evaluate("hair => new DOMMatrix(getComputedStyle(hair).transform).m41")
    )


def module(page, path, body):
    return page.evaluate(f"async () => {{ const module = await import('/static/js/chart/{path}.js'); {body} }}")


def test_the_colours_are_those_of_the_reports(page):
    shares = np.linspace(0, 1, 33).tolist()
    found = page.evaluate(
        "async (shares) => shares.map((await import('/static/js/chart/cividis.js')).cividis)",
        shares,
    )
    channels = [[int(colour[i : i + 2], 16) for i in (1, 3, 5)] for colour in (*found, *map(cividis, shares))]
    ours, theirs = np.array(channels).reshape(2, len(shares), 3)
    assert np.abs(ours - theirs).max() <= 1  # a half is rounded up there, to even here


def test_thinning_keeps_every_peak(page):
    """Lowest and highest of every pixel column, against numpy's own."""
    rng = np.random.default_rng(7)
    y = rng.normal(size=20_000)
    kept = page.evaluate(
        """async ({y, columns}) => {
          const {decimated} = await import("/static/js/chart/decimate.js");
          const x = y.map((_, i) => i);
          return decimated(x, y, {from: 0, to: y.length, columns});
        }""",
        {"y": y.tolist(), "columns": 200},
    )
    assert len(kept) <= 4 * 200
    assert kept == sorted(set(kept))
    columns = np.array(kept) * 200 // 20_000
    for column, values in enumerate(y.reshape(200, 100)):
        of_column = y[[k for k, c in zip(kept, columns, strict=True) if c == column]]
        assert of_column.min() == values.min()
        assert of_column.max() == values.max()


def test_thinning_keeps_gaps(page):
    gap = page.evaluate(
        """async () => {
          const {decimated} = await import("/static/js/chart/decimate.js");
          const x = Array.from({length: 5000}, (_, i) => i);
          const y = x.map((v) => (v > 2000 && v < 2100 ? NaN : v));
          return decimated(x, y, {from: 0, to: 5000, columns: 100}).filter((i) => i > 2000 && i < 2100).length;
        }"""
    )
    assert gap > 0


@pytest.mark.parametrize(("low", "high"), [(0.0, 82.6), (-0.86, 0.43), (3.0, 3.0), (-1e-4, 2e-4), (0.0, 12345.0)])
def test_ticks_enclose_the_range(page, low, high):
    ticks = page.evaluate(
        "async ([low, high]) => (await import('/static/js/chart/numbers.js')).niceTicks(low, high)", [low, high]
    )
    assert 2 <= len(ticks) <= 5
    assert ticks[0] <= low
    assert ticks[-1] >= high
    steps = np.diff(ticks)
    assert steps == pytest.approx(np.full(len(steps), steps[0]))
    leading = steps[0] / 10 ** np.floor(np.log10(steps[0] * 1.0001))
    assert min(abs(leading - round_number) for round_number in (1, 2, 5)) < 1e-6


def test_a_minus_is_a_minus_and_a_rounded_zero_has_none(page):
    found = page.evaluate(
        "async () => { const {shown} = await import('/static/js/chart/numbers.js');"
        " return [shown(-1.25, 1), shown(-0.01, 1), shown(NaN, 1), shown(2, 0)]; }"
    )
    assert found == ["−1.3", "0.0", "–", "2"]


def test_the_mouse_moves_one_cursor_in_all_charts(page):
    plot = chart(page)
    box = box_of(plot)
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 40)
    at = page.evaluate("along.at")
    left = page.evaluate("speed.scaleX.start")
    assert at == pytest.approx(600 * (box["width"] * 0.5 - left) / (box["width"] - 1 - left), abs=1)
    assert hair(page, 0) == pytest.approx(box["width"] * 0.5, abs=1)
    assert hair(page, 1) == pytest.approx(hair(page, 0), abs=0.2)
    expected = 60 + 25 * np.sin(at / 17) + 5 * np.sin(at * 3)
    assert float(page.locator(".chart-value").first.inner_text().split()[0]) == pytest.approx(expected, abs=1)


def test_keys_step_jump_zoom_and_show_all(page):
    plot = chart(page, points=601)
    plot.focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert page.evaluate("along.at") == pytest.approx(11)
    assert plot.get_attribute("aria-valuenow") == "11"
    assert "km/h" in plot.get_attribute("aria-valuetext")
    page.keyboard.press("End")
    assert page.evaluate("along.at") == 600
    page.keyboard.press("+")
    page.keyboard.press("+")
    assert window_of(page) == pytest.approx([600 - 600 / 2.25, 600])
    page.keyboard.press("Home")
    assert window_of(page)[0] == 0  # the stretch follows the cursor
    page.keyboard.press("0")
    assert window_of(page) == [0, 600]


def test_the_wheel_zooms_where_the_cursor_is_once_the_chart_has_the_focus(page):
    plot = chart(page)
    box = box_of(plot)
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + 40)
    page.mouse.wheel(0, -300)
    assert window_of(page) == [0, 600]  # the page keeps its own wheel
    plot.focus()
    about = page.evaluate("along.at")
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(50)
    low, high = window_of(page)
    assert high - low < 450
    frame(page)
    page.mouse.move(box["x"] + box["width"] * 0.75, box["y"] + 41)
    assert page.evaluate("along.at") == pytest.approx(about, abs=0.5)


def test_a_drag_moves_the_stretch(page):
    plot = chart(page)
    page.evaluate("along.show(100, 300)")
    frame(page)
    box = box_of(plot)
    page.mouse.move(box["x"] + 500, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 400, box["y"] + 40, steps=10)
    page.mouse.up()
    low, high = window_of(page)
    per_pixel = 200 / (box["width"] - 1 - page.evaluate("speed.scaleX.start"))
    assert low == pytest.approx(100 + 100 * per_pixel, rel=0.02)
    assert high - low == pytest.approx(200)


def touch(session, kind, points):
    places = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
    session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": places})


def test_two_fingers_zoom_and_one_finger_moves_the_cursor(page):
    plot = chart(page)
    box = box_of(plot)
    x, y = box["x"], box["y"] + 60
    session = page.context.new_cdp_session(page)
    touch(session, "touchStart", [(x + 300, y)])
    touch(session, "touchMove", [(x + 360, y)])
    touch(session, "touchEnd", [])
    assert hair(page) == pytest.approx(360, abs=2)
    touch(session, "touchStart", [(x + 300, y), (x + 500, y)])
    for step in range(1, 11):
        touch(session, "touchMove", [(x + 300 - 10 * step, y), (x + 500 + 10 * step, y)])
    touch(session, "touchEnd", [])
    low, high = window_of(page)
    assert high - low == pytest.approx(300, rel=0.05)


def test_the_look_changes_what_is_drawn(page):
    chart(page)
    shot = "() => document.querySelector('canvas').toDataURL()"
    light = page.evaluate(shot)
    page.evaluate("document.documentElement.dataset.look = 'dark'")
    frame(page)
    assert page.evaluate(shot) != light


def test_axes_and_table_say_quantity_and_unit(page):
    plot = chart(page, names=True)
    assert plot.get_attribute("aria-label") == "Speed [km/h]"
    assert page.locator("[data-axis=y]").all_inner_texts() == ["Speed [km/h]", "Friction use [%]"]
    assert set(page.locator("[data-axis=x]").all_inner_texts()) == {"Distance along the course [m]"}
    assert "lowest" in plot.get_attribute("aria-description")
    page.locator(".chart-table summary").first.click()
    rows = page.locator(".chart-numbers tr")
    rows.nth(25).wait_for()
    assert rows.count() == 26
    assert rows.first.inner_text().split("\t") == ["Distance along the course [m]", "best [km/h]", "yours [km/h]"]
    assert rows.nth(1).inner_text().split("\t") == ["0", "60.0", "54.0"]
    assert page.locator(".chart-names").first.inner_text().split() == ["best", "yours"]


def test_the_canvas_is_as_sharp_as_the_screen(browser, address):
    context = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=3)
    page = context.new_page()
    page.goto(address)
    chart(page)
    width, shown = page.evaluate("[speed.sheet.canvas.width, speed.plot.clientWidth]")
    assert width == 3 * shown
    context.close()


INTERVALS = """async (rows) => {
  const {IntervalChart} = await import("/static/js/chart/interval.js");
  window.chart ??= new IntervalChart(document.getElementById("main"), {
    value: {quantity: "Gain", unit: "s", digits: 2}, rows: [], name: "Change",
    words: {low: "slower", high: "faster", number: "Gain, interval"}});
  chart.show(rows);
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
}"""


def test_intervals_have_their_numbers_beside_and_sharpen_in_place(page):
    rough = [
        {"name": "Softer tyre", "estimate": 0.42, "low": 0.1, "high": 0.8, "isRough": True},
        {"name": "Stiffer bar", "estimate": -0.05, "low": -0.1, "high": 0.02, "note": "front"},
    ]
    page.evaluate(INTERVALS, rough)
    cells = page.locator(".intervals tbody tr")
    assert cells.nth(0).inner_text().split("\t")[-1] == "0.42 0.10 … 0.80"
    assert cells.nth(1).locator("th").inner_text() == "Stiffer bar\nfront"
    page.evaluate("chart.body.firstChild.dataset.mine = 'yes'")
    page.evaluate(INTERVALS, [rough[0] | {"estimate": 0.5, "low": 0.45, "high": 0.55, "isRough": False}, rough[1]])
    assert cells.nth(0).inner_text().split("\t")[-1] == "0.50 0.45 … 0.55"
    assert cells.nth(0).get_attribute("data-mine") == "yes"  # the row stayed
    page.evaluate(INTERVALS, rough[1:])
    assert cells.count() == 1


def test_points_are_found_by_pointer_and_key(page):
    page.evaluate(
        """async () => {
          const {ScatterChart} = await import("/static/js/chart/scatter.js");
          const points = [[1, 40.2], [2, 39.8], [3, 39.1]].map(([x, y]) => ({x, y, name: `run ${x}`}));
          window.chart = new ScatterChart(document.getElementById("main"), {
            x: {quantity: "Run", unit: "number", isWhole: true}, y: {quantity: "Time", unit: "s", digits: 1},
            groups: [{name: "before", points: points.slice(0, 2)}, {name: "after", points: points.slice(2)}],
            line: [[1, 40.2], [3, 39.1]]});
          await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
        }"""
    )
    plot = page.locator(".chart-plot")
    x, y = page.evaluate("[chart.scaleX.at(3), chart.scaleY.at(39.1)]")
    box = box_of(plot)
    page.mouse.move(box["x"] + x - 9, box["y"] + y - 9)
    assert page.locator(".chart-value").inner_text() == "run 3: 3 number, 39.1 s"
    plot.focus()
    page.keyboard.press("ArrowLeft")
    assert page.locator(".chart-value").inner_text() == "run 2: 2 number, 39.8 s"
    page.locator("summary").click()
    page.locator(".chart-numbers tbody tr").nth(2).wait_for()
    assert page.locator(".chart-numbers tbody tr").count() == 3
