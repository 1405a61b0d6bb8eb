"""The pictures of the guide: which page each shows, and the demo book with kept answers that they are made from.

What takes minutes to solve is kept in `tests/pictures/answers`; `make pictures` solves what is not there, so that the
pictures show the program's own answers and a test can open the same pages within seconds.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path

from conewise.web.work import Desk, finite, kind_named
from conewise.workflows.book_place import BookPlace
from conewise.workflows.jobs import Asker, ask, jobs_of
from conewise.workflows.recordings import take_upload
from tests.web_app import NOW

PROJECT = Path(__file__).resolve().parents[1]
SHOWN = PROJECT / "docs" / "pictures"
KEPT = Path(__file__).parent / "pictures"
ANSWERS = KEPT / "answers"
PAGES = KEPT / "pages.json"

DEE = "event=september&driver=dee"
ROADSTER = {"course": "harbour-yard", "car": "marigold"}
ASKED = {"courses": ["harbour-yard"], "car_file": "marigold", "driver": "regular"}
QUESTIONS = {  # what the pages ask, by the name under which its answer is kept
    "line": ("line", ROADSTER | {"driver": "regular"}),
    "paces": ("paces", ROADSTER),
    "debrief": ("debrief", {"log": "harbour-yard-evening", "course": "harbour-yard", "car_file": "marigold"}),
    "advise": ("advise", ASKED | {"parts": "short-list", "budget": "700 EUR"}),
    "settings": ("settings", ASKED),
}
DESK, HAND = (1280, 860), (390, 844)


def nothing(page):
    """The page as it comes."""


def an_entry(page):
    """The slalom is chosen in the list, and what can be done with it stands below."""
    page.locator("#list button", has_text="slalom of 6 cones").first.click()


def the_walk(page):
    """The map to walk by."""
    page.get_by_role("button", name="Walk", exact=True).click()


def digits(page):
    """A time is typed, and a cone."""
    for key in ("3", "5", "8", "1", "2", "Cone +1"):
        page.get_by_role("button", name=key, exact=True).click()


def in_the_charts(page):
    """The cursor stands in the slalom."""
    page.locator(".chart-plot").first.focus()
    for _ in range(3):
        page.keyboard.press("PageDown")
    page.evaluate("document.activeElement.blur(), scrollTo(0, 0)")


@dataclass(frozen=True)
class Scene:
    """One picture: its page, how large the screen is, and what was done before."""

    path: str
    screen: tuple[int, int] = DESK
    done: object = nothing
    waits_for: str = "main h1"


SCENES = {
    "start": Scene("/?event=september"),
    "ready": Scene("/prepare/ready?event=september"),
    "drawing": Scene("/prepare/courses/harbour-yard/draw?event=september", done=an_entry, waits_for="#list button"),
    "car": Scene(f"/prepare/car?{DEE}"),
    "line": Scene(f"/walk/line?{DEE}", done=in_the_charts, waits_for=".chart-plot"),
    "runs-phone": Scene("/drive/runs?event=september", HAND, digits),
    "lot-phone": Scene(f"/field?{DEE}", HAND, the_walk),
    "results": Scene("/drive/results?event=september"),
    "build-up": Scene(f"/drive/build-up?{DEE}"),
    "needs-phone": Scene("/drive/overview?event=september", HAND),
    "debrief": Scene(f"/debrief?{DEE}", waits_for=".chart-plot"),
    "debrief-phone": Scene(f"/debrief?{DEE}", HAND, waits_for=".chart-plot"),
    "change": Scene(f"/change?{DEE}"),
    "settings": Scene(f"/change/settings?{DEE}"),
    "proof": Scene("/prove?times={times}&name=bar.csv"),
}

# Of every element that is seen: its words, and how it looks as far as no font decides it.
LOOK = """() => [...document.querySelectorAll("body, body *")].filter((e) => e.checkVisibility()).map((e) => {
  const style = getComputedStyle(e);
  const words = [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data.trim()).filter(Boolean).join(" ");
  const kinds = ["display", "color", "backgroundColor", "fontSize", "fontWeight", "paddingTop", "paddingLeft",
    "borderTopWidth", "borderTopColor", "stroke", "fill"];
  return [e.tagName, e.getAttribute("class") ?? "", words, e.value ?? "", ...kinds.map((kind) => style[kind])];
})"""


def clock():
    """The morning of the last event, standing still: a picture says the same whenever it is made."""
    return NOW


def place_of(settings):
    """The book of a server."""
    return BookPlace(book=settings.book, now=clock)


def keep_answers(settings):
    """Put the kept answers into the book, as jobs that are done."""
    for name, (kind, question) in QUESTIONS.items():
        result = json.loads(gzip.decompress((ANSWERS / f"{name}.json.gz").read_bytes()))
        work = kind_named(kind)
        whole = work.asks.model_validate(question).model_dump(mode="json")
        job = ask(place_of(settings), kind, whole, names=work.names, asker=Asker())
        with jobs_of(place_of(settings)) as jobs:
            assert jobs.take(kind).id == job.id
            jobs.finish(job.id, result)


def solve_answers(settings):
    """Solve what is asked and not kept; it takes minutes."""
    ANSWERS.mkdir(parents=True, exist_ok=True)
    desk = Desk(place=place_of(settings), job="", tell=lambda _, words: print(words, flush=True), show=lambda _: None)
    for name, (kind, question) in QUESTIONS.items():
        path = ANSWERS / f"{name}.json.gz"
        if path.exists():
            continue
        work = kind_named(kind)
        result = finite(work.work(work.asks.model_validate(question), desk))
        path.write_bytes(gzip.compress(json.dumps(result, separators=(",", ":")).encode(), mtime=0))


def send_times(settings, demonstration):
    """The times file of the demonstration, sent; its address."""
    content = (demonstration / "times" / "harbour-yard-bar-test.csv").read_bytes()
    return take_upload(place_of(settings), content, "bar.csv").address


def seen(page):
    """Digests of a page's words and of its look, to be held against those of the day on which its picture was made."""
    found = page.evaluate(LOOK)
    words = [[words, value] for _, _, words, value, *_ in found]
    return {"words": _digest(words), "look": _digest([[tag, *rest] for tag, _, _, _, *rest in found])}


def _digest(value):
    return hashlib.sha256(json.dumps(value).encode()).hexdigest()[:16]


def picture(page):
    """What is on the screen, as WebP."""
    session = page.context.new_cdp_session(page)
    made = session.send("Page.captureScreenshot", {"format": "webp", "quality": 75})
    return base64.b64decode(made["data"])


def named_pictures():
    """Pictures that the pages of the documents name."""
    texts = [path.read_text(encoding="utf-8") for path in sorted((PROJECT / "docs").rglob("*.md"))]
    texts.append((PROJECT / "README.md").read_text(encoding="utf-8"))
    return {name for text in texts for name in re.findall(r"!\[[^\]]*\]\((?:docs/)?pictures/([^)]+)\)", text)}
