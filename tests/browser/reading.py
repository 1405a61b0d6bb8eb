"""What makes a page hard to read, from what audit.js found on it."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path

NUMBER = re.compile(r"[−+]?[\d.]+( s)?")
# Contrast 4.5:1 for text: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 1.4.3; 7:1: 1.4.6.
LOOKS = {"light": 4.5, "dark": 4.5, "sunlight": 7.0}
DESK, HAND = WIDTHS = (1280, 390)  # of a laptop and of a phone [px]
MOST_BYTES = 300_000  # of a page with all that it loads
HOSTILE = "<img src=x onerror='window.broken = 1'><b>&amp;"  # a name that must stay a name


AUDIT = (Path(__file__).parent / "audit.js").read_text(encoding="utf-8")


def audit(page):
    """Every visible piece of text of the page; as one string, which comes ten times as fast as its parts."""
    return json.loads(page.evaluate(f"() => JSON.stringify(({AUDIT})())"))


def trimmed(box, share=0.22):
    """The box of the letters: the line box without the empty space above and below them."""
    trim = share * (box["bottom"] - box["top"])
    return box["left"] + 0.5, box["right"] - 0.5, box["top"] + trim, box["bottom"] - trim


def meets(a, b):
    return a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]


def overlapping(boxes):
    """Pairs of boxes that meet; down the page, so that a box is held against those only that begin beside it."""
    down = sorted(boxes, key=lambda box: box[0][2])
    for i, a in enumerate(down):
        for b in itertools.islice(down, i + 1, None):
            if b[0][2] >= a[0][3]:
                break
            if meets(a[0], b[0]):
                yield a, b


def inside(box, frame, slack=1.0):
    return (
        box["left"] >= frame["left"] - slack
        and box["right"] <= frame["right"] + slack
        and box["top"] >= frame["top"] - slack
        and box["bottom"] <= frame["bottom"] + slack
    )


def problems(page, look):
    """Text that is cut, beside the page, on another text, pale, small or off the grid, by what is wrong."""
    texts = page["found"]
    boxes = [(trimmed(box), t["text"], t["place"]) for t in texts for box in t["boxes"]]
    found = {
        "beside the page": [
            t["text"] for t in texts for b in t["boxes"] if b["left"] < 0 or b["right"] > page["width"]
        ],
        "cut": [t["text"] for t in texts for b in t["boxes"] for clip in t["clips"] if not inside(b, clip)],
        "off the map": [t["text"] for t in texts if t["sheet"] for b in t["boxes"] if not inside(b, t["sheet"])],
        "a broken number": [t["text"] for t in texts if NUMBER.fullmatch(t["text"]) and len(t["boxes"]) > 1],
        "overlapping": [(a[1:], b[1:]) for a, b in overlapping(boxes)],
        "pale": [(t["text"], t["place"], round(t["contrast"], 2)) for t in texts if t["contrast"] < LOOKS[look]],
        "small": [(t["text"], t["size"]) for t in texts if t["size"] < (20 if look == "sunlight" else 14)],
        "off the grid": {tuple(space.values()) for space in page["spaced"] if space["value"] % 8},
    }
    return {name: what for name, what in found.items() if what}


def assert_reads_well(page, look, *, least=60):
    """No sideways scroll, no cut text, no text on text, few sizes and families, enough contrast, one grid.

    `least`: pieces of text that the page has at least; a page that shows nothing would pass otherwise.
    """
    texts = page["found"]
    assert len(texts) > least
    found = problems(page, look)
    assert page["scroll"] <= page["width"], (look, found)
    assert not found, (look, found)
    assert len({t["family"] for t in texts}) <= 2
    assert len({t["size"] for t in texts}) <= 5


CHOOSE = """(look) => new Promise((worn) => {
  document.querySelector(`.looks input[value=${look}]`).click();
  requestAnimationFrame(() => requestAnimationFrame(worn));
})"""  # what is drawn follows a frame later


def wear(page, look):
    """Choose a look on the page, as its reader does."""
    page.evaluate(CHOOSE, look)


def wear_in_report(page, look):
    """Wear a look as a report does: dark where the reader's system is, unless another one is chosen."""
    page.emulate_media(color_scheme="dark" if look == "dark" else "light")
    if look == "sunlight":
        wear(page, look)


def assert_reads_well_in_every_look(page, *, least=60, looks=LOOKS, worn=wear):
    """The same in each look, one after the other on the page that is there."""
    for look in looks:
        worn(page, look)
        assert_reads_well(audit(page), look, least=least)


def assert_small(page):
    """The page with all that it loaded is small."""
    sizes = page.evaluate(
        "[...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]"
        ".map((entry) => entry.transferSize)"
    )
    assert 0 < sum(sizes) < MOST_BYTES


def assert_keeps_to_itself(page):
    """Of a page that has `HOSTILE` for a name: nothing is fetched, nothing complains, and the name stays a name."""
    assert len(page.asked) == 1
    assert page.asked[0].startswith("file:")
    assert page.complaints == []
    assert page.evaluate("window.broken") is None
    assert page.locator("img").count() == 0
    assert HOSTILE in page.locator(".what").inner_text()
