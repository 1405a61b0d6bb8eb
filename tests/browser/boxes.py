"""Where things stand on a page and how large they are, also where the page is drawn anew meanwhile."""

from __future__ import annotations

import time

from playwright.sync_api import expect

A_WHILE = 20  # longer than one frame of a screen takes [ms]
ALL = """all => all.map((one) => {
  const {x, y, width, height} = one.getBoundingClientRect();
  return {x, y, width, height, words: one.innerText ?? ""};
})"""


def boxes_of(found):
    """The boxes of all that is found, with their words, measured at one moment."""
    return found.evaluate_all(ALL)


def box_of(found, *, patience=20.0):
    """The box of the one thing that is found, once it is seen and stands still; `patience` in seconds."""
    expect(found).to_be_visible()
    until = time.monotonic() + patience
    before = None
    while time.monotonic() < until:
        box = found.bounding_box()  # None where it was taken off the page since it was found
        if box is not None and box == before:
            return box
        before = box
        found.page.wait_for_timeout(A_WHILE)
    raise AssertionError(f"{found} does not come to rest; last seen at {before}")


def assert_at_least(height, targets):
    """All of these targets of a finger are there and as high. [px]"""
    boxes = boxes_of(targets)
    assert boxes
    assert not [box for box in boxes if box["height"] < height]
