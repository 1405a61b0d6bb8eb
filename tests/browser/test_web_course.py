"""Drawing a course: list, map, notes, lot, saving; by mouse, finger and keyboard."""

from __future__ import annotations

import itertools
import re

import pytest
from playwright.sync_api import expect

from tests.browser.boxes import assert_at_least, box_of
from tests.browser.reading import HAND, LOOKS, WIDTHS, assert_reads_well_in_every_look, assert_small, wear
from tests.web_app import at_rest, served, settings_over

pytestmark = pytest.mark.browser

ID = "harbour-yard"
WAIT = 180_000  # for a solve on a machine that has much else to do [ms]
DRAW = f"/prepare/courses/{ID}/draw?event=april"  # no car is chosen: no time is worked out


@pytest.fixture
def address(tmp_path, demonstration):
    """A server over a copy of the demo book that this test may change."""
    with served(settings_over(tmp_path, demonstration)) as found:
        yield found


@pytest.fixture
def drawing(visit, address):
    """The page on which a course is drawn."""

    def open_page(width=1280, path=DRAW):
        page = visit(path, width, address=address)
        page.locator(".cone").first.wait_for()
        return page

    return open_page


CONTRAST = """button => {
  const luminance = (text) => {
    const channel = (c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
    const [r, g, b] = text.match(/[\\d.]+/g).map((c) => channel(c / 255));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const style = getComputedStyle(button);
  const [ink, paper] = [luminance(style.color), luminance(getComputedStyle(document.body).backgroundColor)];
  return {
    contrast: (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05), opacity: Number(style.opacity),
    ground: style.backgroundColor, border: style.borderTopStyle,
  };
}"""


def test_a_button_that_is_not_ready_can_be_read_and_is_drawn_as_that(visit, app_server):
    page = visit(DRAW, 390, address=app_server)
    button = page.locator("#save[disabled]")
    button.wait_for()
    for look, least in LOOKS.items():
        wear(page, look)
        found = button.evaluate(CONTRAST)
        assert found["contrast"] >= least, look  # WCAG 2.2, 1.4.3 and 1.4.6; of buttons that wait it asks none
        assert (found["opacity"], found["ground"], found["border"]) == (1, "rgba(0, 0, 0, 0)", "dashed")


OVERLAPS = """() => {
  const shown = [...document.querySelectorAll(".number")].filter((one) => one.checkVisibility());
  const rings = shown.map((one) => one.querySelector("circle").getBoundingClientRect());
  const apart = (a, b) => Math.hypot(a.x - b.x, a.y - b.y) - a.width; // rings of one size
  return {shown: rings.length, on: rings.flatMap((a, i) => rings.slice(i + 1).filter((b) => apart(a, b) < -1)).length};
}"""


@pytest.mark.parametrize("course", ["harbour-yard", "old-mill-airfield"])
@pytest.mark.parametrize("width", WIDTHS)
def test_numbers_on_a_map_do_not_lie_on_each_other(visit, app_server, course, width):
    page = visit(f"/prepare/courses/{course}", width, address=app_server)
    for look in LOOKS:
        wear(page, look)
        page.wait_for_timeout(400)  # until they have found their places
        found = page.evaluate(OVERLAPS)
        assert found["on"] == 0, look
        assert found["shown"] >= 12, look


def test_a_course_that_is_looked_at_fills_a_phone(visit, app_server):
    page = visit("/prepare/courses/old-mill-airfield", 390, address=app_server)
    page.wait_for_timeout(400)
    spread = page.evaluate(
        """() => { const xs = [...document.querySelectorAll(".cone")].map((one) => one.getBoundingClientRect().x);
          return (Math.max(...xs) - Math.min(...xs)) / document.querySelector(".course-map").clientWidth; }"""
    )
    assert spread > 0.7  # with the whole lot it is 0.5


def mark(page, cone):
    """Where a cone is on the map. [px]"""
    found = page.locator(f'[data-cone="{cone}"]').get_attribute("transform")
    return tuple(float(n) for n in re.findall(r"[-\d.]+", found)[:2])


def place(page, cone):
    """Where a cone is on the screen. [px]"""
    box, at = box_of(page.locator(".course-svg")), mark(page, cone)
    return box["x"] + at[0], box["y"] + at[1]


def bring(page):
    page.locator(".course-map").evaluate("map => map.scrollIntoView({block: 'center'})")


def cones_of(page, entry):
    return page.evaluate(
        """(entry) => JSON.parse(document.getElementById("data-course").textContent).entries
          .find((one) => one.id === entry).cones""",
        entry,
    )


def kept(page, address):
    return page.request.get(f"{address}/api/courses/{ID}").json()


def save(page):
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved as version")).to_be_visible()


def drag(page, start, by, steps=8):
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(start[0] + by[0], start[1] + by[1], steps=steps)
    page.mouse.up()


def test_list_and_map_show_the_same_choice(drawing):
    page = drawing()
    cones = cones_of(page, "slalom 1")
    page.locator("#list .entry").nth(1).click()
    assert page.locator(".cone.of-entry").count() == len(cones) == 6
    assert page.locator(".number.chosen").get_attribute("data-entry") == "slalom 1"
    bring(page)
    page.mouse.click(*place(page, cones_of(page, "box")[0]))
    assert page.locator("#list li.chosen .entry-words").inner_text().startswith("box of 2 gates")
    assert page.locator(".cone.chosen").get_attribute("data-cone") == cones_of(page, "box")[0]
    assert page.locator("#told").inner_text().startswith("box, gate 1, left cone.")


def test_a_cone_goes_where_the_mouse_takes_it_and_back(drawing, address):
    page = drawing()
    bring(page)
    cone = cones_of(page, "slalom 1")[2]
    start, on_screen = mark(page, cone), place(page, cone)
    before = {c["id"]: (c["x"], c["y"]) for c in kept(page, address)["course"]["cones"]}
    drag(page, (on_screen[0] + 7, on_screen[1] - 6), (31, 17))  # beside the cone: the nearest is taken
    assert mark(page, cone) == pytest.approx((start[0] + 31, start[1] + 17), abs=1.1)
    page.get_by_role("button", name="Undo").click()
    assert mark(page, cone) == pytest.approx(start, abs=0.1)
    page.keyboard.press("Control+y")
    assert mark(page, cone) == pytest.approx((start[0] + 31, start[1] + 17), abs=1.1)
    save(page)
    after = {c["id"]: (c["x"], c["y"]) for c in kept(page, address)["course"]["cones"]}
    assert {name for name in before if before[name] != after[name]} == {cone}
    dx, dy = (after[cone][k] - before[cone][k] for k in (0, 1))
    assert dx / 31 == pytest.approx(-dy / 17, rel=0.05)  # north is up


def test_the_nearest_of_two_cones_is_taken(drawing):
    """Touch targets of 44 px overlap where cones stand close: the nearest one counts, not the topmost."""
    page = drawing()
    bring(page)
    first, second = cones_of(page, "wall")[:2]
    a, b = place(page, first), place(page, second)
    apart = ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5
    assert apart < 22
    page.mouse.click(a[0] + 0.4 * (b[0] - a[0]), a[1] + 0.4 * (b[1] - a[1]))
    assert page.locator(".cone.chosen").get_attribute("data-cone") == first
    page.mouse.click(a[0] + 0.6 * (b[0] - a[0]), a[1] + 0.6 * (b[1] - a[1]))
    assert page.locator(".cone.chosen").get_attribute("data-cone") == second


def test_keys_choose_and_move_a_cone(drawing, address):
    page = drawing()
    before = {c["id"]: (c["x"], c["y"]) for c in kept(page, address)["course"]["cones"]}
    page.locator(".course-svg").focus()
    for _ in range(3):
        page.keyboard.press("PageDown")
    cone = cones_of(page, "slalom 1")[0]
    assert page.locator(".cone.chosen").get_attribute("data-cone") == cone
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("Alt+ArrowLeft")
    save(page)
    after = {c["id"]: (c["x"], c["y"]) for c in kept(page, address)["course"]["cones"]}
    assert after[cone] == pytest.approx((before[cone][0] + 0.1 - 0.01, before[cone][1] + 1.0), abs=1e-6)


def press(page, key, times=150, **held):
    """Press a key many times, faster than the screen is drawn; other tests press it as a hand does."""
    page.evaluate(
        """([key, times, held]) => {
          const pressed = {key, ...held, bubbles: true, cancelable: true};
          const on = document.activeElement;
          for (let n = 0; n < times; n += 1) on.dispatchEvent(new KeyboardEvent("keydown", pressed));
        }""",
        [key, times, held],
    )


def test_undo_has_no_limit(drawing):
    page = drawing()
    cone = cones_of(page, "slalom 1")[0]
    start = mark(page, cone)
    page.locator(".course-svg").focus()
    for _ in range(3):
        page.keyboard.press("PageDown")
    press(page, "ArrowRight", shiftKey=True)
    assert mark(page, cone)[0] > start[0] + 100
    press(page, "z", ctrlKey=True)
    assert mark(page, cone) == pytest.approx(start, abs=0.1)
    assert page.get_by_role("button", name="Undo").is_disabled()
    press(page, "y", ctrlKey=True)
    assert page.get_by_role("button", name="Redo").is_disabled()


def touch(session, kind, points):
    places = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
    session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": places})


def test_a_finger_moves_a_cone_and_two_fingers_the_map(drawing):
    page = drawing(390)
    bring(page)
    cone = cones_of(page, "slalom 1")[3]
    start, on_screen = mark(page, cone), place(page, cone)
    session = page.context.new_cdp_session(page)
    touch(session, "touchStart", [on_screen])
    for step in range(1, 7):
        touch(session, "touchMove", [(on_screen[0] + 5 * step, on_screen[1] + 4 * step)])
    touch(session, "touchEnd", [])
    assert mark(page, cone) == pytest.approx((start[0] + 30, start[1] + 24), abs=1.1)
    assert page.locator(".tether").count() == 1  # a handle beside the cone, which a finger does not hide
    other = cones_of(page, "slalom 1")[0]
    apart = abs(place(page, cone)[1] - place(page, other)[1]) + abs(place(page, cone)[0] - place(page, other)[0])
    box = box_of(page.locator(".course-svg"))
    x, y = box["x"] + 60, box["y"] + 40
    touch(session, "touchStart", [(x, y), (x + 60, y)])
    for step in range(1, 7):
        touch(session, "touchMove", [(x - 5 * step, y), (x + 60 + 5 * step, y)])
    touch(session, "touchEnd", [])
    now = abs(place(page, cone)[1] - place(page, other)[1]) + abs(place(page, cone)[0] - place(page, other)[0])
    assert now / apart == pytest.approx(2.0, rel=0.05)


def test_words_add_an_entry_and_what_is_not_understood_is_said(drawing):
    page = drawing()
    page.locator("#list .entry").nth(1).click()
    field = page.get_by_label("Then")
    field.fill("slalom of many cones")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".entry-form .problem").last).to_contain_text("is not understood")
    field.fill("gate 6 m wide after 30 m")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#list .entry")).to_have_count(15)
    assert page.locator(".entry-words").nth(2).inner_text() == "gate, 6.00 m wide"


def test_an_entry_is_repeated_mirrored_moved_and_removed(drawing):
    page = drawing()
    words = page.locator(".entry-words")
    page.locator("#list .entry").nth(1).click()
    page.get_by_role("button", name="Mirror").click()
    expect(words.nth(1)).to_contain_text("first cone to your left")
    page.get_by_role("button", name="Repeat").click()
    expect(page.locator("#list .entry")).to_have_count(15)
    assert words.nth(2).inner_text() == words.nth(1).inner_text()
    page.get_by_role("button", name="Later").click()
    expect(page.locator("#list li.chosen .entry-number")).to_have_text("3")
    page.get_by_role("button", name="Remove", exact=True).click()
    expect(page.locator("#list .entry")).to_have_count(14)
    for _ in range(4):
        page.get_by_role("button", name="Undo").click()
    expect(words.nth(1)).to_contain_text("first cone to your right")


def test_taps_in_a_row_are_done_one_after_the_other(drawing):
    page = drawing()
    before = page.locator(".entry-words").nth(1).inner_text()
    page.locator("#list .entry").nth(1).click()
    for name in ("Later", "Later", "Repeat", "Repeat", "Mirror"):
        page.locator("#list .entry-panel").get_by_role("button", name=name, exact=True).dispatch_event("click")
    expect(page.locator("#list .entry")).to_have_count(16)
    expect(page.locator("#list li.chosen .entry-number")).to_have_text("4")
    expect(page.locator("#list li.chosen .entry-words")).to_contain_text("first cone to your left")
    for _ in range(5):
        page.get_by_role("button", name="Undo").click()
    expect(page.locator(".entry-words").nth(1)).to_have_text(before)
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


@pytest.fixture
def held(drawing):
    """A page on which answers to what is done to the list wait, and those that wait."""
    page, waiting = drawing(), []

    def keep(route):
        waiting.append(route)

    page.route("**/api/course/changed", keep)
    page.locator("#list .entry").nth(1).click()
    return page, waiting


def answer(page, waiting, number):
    """Let the answer with this number come once it is asked for; it begins with 1."""
    for _ in range(200):
        if len(waiting) >= number:
            break
        page.wait_for_timeout(50)
    waiting[number - 1].continue_()


def test_what_is_dragged_while_an_answer_is_on_its_way_is_kept(held):
    page, waiting = held
    words = page.locator(".entry-words").nth(1)
    bring(page)
    cone = page.locator("[data-cone]").nth(20).get_attribute("data-cone")
    page.get_by_role("button", name="Mirror").click()
    before = mark(page, cone)
    drag(page, place(page, cone), (30, 0))
    moved = mark(page, cone)
    assert moved != before
    answer(page, waiting, 1)  # about the course before the drag: asked anew
    answer(page, waiting, 2)
    expect(words).to_contain_text("first cone to your left")
    assert mark(page, cone) == pytest.approx(moved, abs=0.5)
    for _ in range(2):
        page.get_by_role("button", name="Undo").click()
    expect(words).to_contain_text("first cone to your right")
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_undo_takes_back_what_is_not_done_yet(held):
    page, waiting = held
    page.get_by_role("button", name="Remove", exact=True).click()
    expect(page.locator("#list")).to_have_attribute("aria-busy", "true")
    page.get_by_role("button", name="Undo").click()
    answer(page, waiting, 1)
    expect(page.locator("#list")).to_have_attribute("aria-busy", "false")
    expect(page.locator("#list .entry")).to_have_count(14)
    expect(page.get_by_role("button", name="Undo")).to_be_disabled()


def test_a_button_stays_under_the_finger_while_the_words_change(drawing):
    page = drawing()
    page.locator("#list .entry").nth(1).click()
    repeat = page.get_by_role("button", name="Repeat").element_handle()
    noted = page.locator("#list .entry-panel [name=in_words]")
    before = noted.input_value()
    page.get_by_role("button", name="Mirror").click()
    expect(noted).not_to_have_value(before)
    assert repeat.evaluate("button => button.isConnected")


def test_notes_are_drawn_as_they_are_typed_and_become_the_course(drawing):
    page = drawing()
    field = page.get_by_label("One note a line")
    assert "slalom 6 cones every 16 m first to your right" in field.input_value()
    field.fill("start\nslalom 5 cones every 18 m first to your left after 20 m\nslal")
    expect(page.locator(".cone")).to_have_count(9)  # the map shows it at once; a finish is set where it ends
    expect(page.locator("#note-problems")).to_contain_text("Line 3")
    assert page.locator("#list .entry").count() == 14  # the course is still what it was
    field.press_sequentially("om 3 cones every 15 m either side after 30 m")
    expect(page.locator(".cone")).to_have_count(12)
    page.get_by_role("button", name="Make this the course").click()
    expect(page.locator("#list .entry")).to_have_count(4)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#list .entry")).to_have_count(14)
    expect(page.locator(".cone")).to_have_count(49 - 1)


def test_a_finding_stands_beside_its_cone_and_leads_to_it(drawing):
    page = drawing()
    bring(page)
    cone = cones_of(page, "slalom 1")[2]
    drag(page, place(page, cone), (-8, 0))
    sign = page.locator(f'.sign[data-about="cone:{cone}"]')
    expect(sign).to_be_visible()
    assert "asks for at least 13.72 m" in sign.locator("title").text_content()
    expect(page.locator(".entry-mark").nth(1)).to_have_text("△ look")
    page.locator(".finding", has_text="asks for at least 13.72 m").click()
    assert page.locator(".cone.chosen").count() == 1


def test_who_saves_second_is_told_and_loses_nothing(drawing, address):
    mine, theirs = drawing(), drawing()
    for page in (mine, theirs):
        page.locator(".course-svg").focus()
        page.keyboard.press("PageDown")
        page.keyboard.press("Shift+ArrowUp")
    save(theirs)
    mine.get_by_role("button", name="Save", exact=True).click()
    expect(mine.locator("#problem")).to_contain_text("Nothing was overwritten")
    mine.get_by_role("button", name="Save as a new course").click()
    expect(mine.get_by_text("Saved as a new course.")).to_be_visible()
    mine.wait_for_url("**/prepare/courses/harbour-yard-long-slaloms/draw**")
    found = mine.request.get(f"{address}/api/courses").json()["courses"]
    assert {one["id"]: one["version"] for one in found}[ID] == 2
    assert "harbour-yard-long-slaloms" in {one["id"] for one in found}


def test_things_of_the_lot_are_added_moved_and_removed(drawing, address):
    page = drawing()
    page.get_by_role("button", name="Add pole").click()
    expect(page.locator("#lot li.chosen .entry")).to_have_text("pole 1")
    bring(page)
    box = box_of(page.locator(".handle"))
    drag(page, (box["x"] + 11, box["y"] + 11), (40, 0))
    page.get_by_label("Radius").fill("0,5")
    page.get_by_label("Radius").press("Enter")
    page.get_by_label("Radius").blur()
    save(page)
    poles = {one["id"]: one for one in kept(page, address)["course"]["site"]["obstacles"]}
    assert poles["pole 1"]["radius"] == 0.5
    page.get_by_role("button", name="Outline of the lot", exact=True).click()
    corners = page.locator(".handle").count()
    page.get_by_role("button", name="Add a corner").click()
    expect(page.locator(".handle")).to_have_count(corners + 1)
    page.get_by_role("button", name="Remove this corner").click()
    expect(page.locator(".handle")).to_have_count(corners)
    page.get_by_role("button", name="pole 1", exact=True).click()
    page.locator("#lot").get_by_role("button", name="Remove", exact=True).click()
    expect(page.locator('[data-obstacle="pole 1"]')).to_have_count(0)


def photo(tmp_path):
    import struct
    import zlib

    row = b"\0" + b"\x80\x90\x70" * 200
    parts = [
        (b"IHDR", struct.pack(">IIBBBBB", 200, 100, 8, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(row * 100)),
        (b"IEND", b""),
    ]
    file = tmp_path / "lot.png"
    chunks = b"".join(struct.pack(">I", len(d)) + k + d + struct.pack(">I", zlib.crc32(k + d)) for k, d in parts)
    file.write_bytes(b"\x89PNG\r\n\x1a\n" + chunks)
    return file


def test_a_photo_is_scaled_and_turned_by_two_known_points(drawing, tmp_path):
    """Marks at a quarter and three quarters of 200 pixels are 100 pixels apart: 50 m there is 50 cm a pixel."""
    page = drawing()
    page.locator("#picture input[type=file]").set_input_files(photo(tmp_path))
    page.locator(".course-svg image").wait_for(state="attached")
    for name, value in (("x0", "10"), ("y0", "20"), ("x1", "10"), ("y1", "70")):
        page.locator(f"#picture [name={name}]").fill(value)
    page.get_by_role("button", name="Lay the picture").click()
    expect(page.locator("#picture-scale")).to_have_text("One pixel is 50.0 cm, turned by 90.0°.")
    page.reload()
    page.wait_for_selector("body[data-ready]")
    expect(page.locator("#picture-scale")).to_have_text("One pixel is 50.0 cm, turned by 90.0°.")
    matrix = [float(n) for n in re.findall(r"[-\d.e]+", page.locator(".course-svg image").get_attribute("transform"))]
    at = (matrix[0] * 50 + matrix[2] * 50 + matrix[4], matrix[1] * 50 + matrix[3] * 50 + matrix[5])
    assert at == pytest.approx((10, 20), abs=1e-6)  # the first mark: pixel 50, 50


def test_the_time_follows_a_change(drawing):
    """The estimate does; nobody works out the exact run meanwhile."""
    with at_rest():
        page = drawing(path=f"{DRAW}&driver=fay")
        answer = page.locator("#answer")
        expect(answer).to_have_text(re.compile(r"\d\d\.\d\d s"), timeout=WAIT)
        first = answer.inner_text()
        assert page.locator(".run").count() > 20
        bring(page)
        cone = cones_of(page, "slalom 1")[2]
        drag(page, place(page, cone), (0, 14))
        expect(answer).not_to_have_text(first, timeout=WAIT)


def test_without_a_car_the_answer_is_the_length(drawing):
    page = drawing()
    expect(page.locator("#answer")).to_have_text("534 m")


def test_a_new_course_begins_with_a_name(visit, address):
    page = visit("/prepare/courses", address=address)
    page.get_by_label("Name").fill("Back lot")
    page.get_by_role("button", name="Begin to draw").click()
    page.wait_for_url("**/prepare/courses/back-lot/draw")
    expect(page.locator("#list .entry")).to_have_count(3)


PAGES = ("/prepare/courses", f"/prepare/courses/{ID}", DRAW)


@pytest.mark.parametrize(("path", "width"), list(itertools.product(PAGES, WIDTHS)))
def test_it_is_small_has_large_targets_and_reads_well(visit, path, width):
    """44 px: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 2.5.5."""
    page = visit(path, width)
    assert_small(page)
    if width == HAND:
        assert_at_least(44, page.locator("main :is(a, button, select, summary, input[type=file]):visible"))
    if path == DRAW:
        page.locator("#list .entry").nth(7).click()
        page.get_by_role("button", name="Stop area").click()
        page.evaluate("scrollTo(0, 0)")
    assert_reads_well_in_every_look(page, least=12)
    assert page.complaints == []


def test_words_for_a_number_are_refused_beside_their_field_and_change_nothing(drawing):
    page = drawing()
    staging = page.locator("#basics [name=staging]")
    was = staging.input_value()
    staging.fill("far")
    staging.press("Tab")
    said = page.locator("#basics label:has([name=staging]) + .problem")
    expect(said).to_contain_text("'far' is no number.")
    page.locator("#basics [name=friction]").fill("0,8")
    page.locator("#basics [name=friction]").press("Tab")
    expect(page.locator("#undo")).to_be_enabled()
    assert staging.input_value() == "far"  # another change does not take it away
    expect(said).to_be_visible()
    staging.fill(was)
    staging.press("Tab")
    expect(said).to_have_count(0)
    page.get_by_role("button", name="Add pole").click()
    radius = page.locator("#lot [name=radius]")
    radius.fill("-1")
    radius.press("Tab")
    expect(page.locator("#lot .problem")).to_contain_text("more than 0 is wanted")
    assert radius.input_value() == "-1"


def test_a_place_of_the_picture_that_is_no_number_is_refused_beside_its_field(drawing, tmp_path):
    from tests.photos import photo

    page = drawing()
    page.locator("#picture input[type=file]").set_input_files(
        {"name": "lot.png", "mimeType": "image/png", "buffer": photo("png")}
    )
    apart = page.locator("#picture [name=apart]")
    apart.fill("forty")
    page.locator("#picture form button").first.click()
    expect(page.locator("#picture label:has([name=apart]) + .problem")).to_contain_text("'forty' is no number.")
    assert apart.input_value() == "forty"
    apart.fill("")
    page.locator("#picture [name=x1]").fill("east")
    page.locator("#picture form button").first.click()
    expect(page.locator("#picture [data-refusal]")).to_contain_text("'east' is no number.")
    assert page.locator("#picture [name=x1]").input_value() == "east"
