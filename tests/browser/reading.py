"""What makes a page hard to read, from what audit.js found on it."""

from __future__ import annotations

import itertools
import re

NUMBER = re.compile(r"[−+]?[\d.]+( s)?")
# Contrast 4.5:1 for text: Web Content Accessibility Guidelines 2.2, W3C 2023, success criterion 1.4.3; 7:1: 1.4.6.
LOOKS = {"light": 4.5, "dark": 4.5, "sunlight": 7.0}
WIDTHS = (1280, 390)
HOSTILE = "<img src=x onerror='window.broken = 1'><b>&amp;"  # a name that must stay a name


def trimmed(box, share=0.22):
    """The box of the letters: the line box without the empty space above and below them."""
    trim = share * (box["bottom"] - box["top"])
    return box["left"] + 0.5, box["right"] - 0.5, box["top"] + trim, box["bottom"] - trim


def meets(a, b):
    return a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]


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
        "overlapping": [(a[1:], b[1:]) for a, b in itertools.combinations(boxes, 2) if meets(a[0], b[0])],
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
    assert page["scroll"] <= page["width"]
    found = problems(page, look)
    assert not found, found
    assert len({t["family"] for t in texts}) <= 2
    assert len({t["size"] for t in texts}) <= 5


def assert_keeps_to_itself(page):
    """Of a page that has `HOSTILE` for a name: nothing is fetched, nothing complains, and the name stays a name."""
    assert len(page.asked) == 1
    assert page.asked[0].startswith("file:")
    assert page.complaints == []
    assert page.evaluate("window.broken") is None
    assert page.locator("img").count() == 0
    assert HOSTILE in page.locator(".what").inner_text()
