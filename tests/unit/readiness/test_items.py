"""A warning does not block, one open item is said in the singular."""

from __future__ import annotations

from conewise.readiness.items import Judged, OpenItem, Readiness


def answer(*items):
    return Readiness(event="E", rules="club", drivers=(Judged("a", "A", items),), cars=(Judged("c", "C"),), helmets=())


def test_a_warning_does_not_block():
    assert answer(OpenItem("x", "X", "why", blocks=False)).ready


def test_open_items_are_counted():
    assert answer(OpenItem("x", "X", "why")).sentence == "1 item is open: not ready to run."
    assert answer(OpenItem("x", "X", "why"), OpenItem("y", "Y", "why")).n_blocking == 2
