"""The colours against a general plotting library, and against what they are for."""

from __future__ import annotations

import numpy as np
import pytest

from conewise.reports.palette import cividis


def channels(colour):
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)])


def test_colours_match_a_plotting_library():
    """The library holds 256 steps of the published map.

    Between our seventeen, red alone leaves it by up to 11 of 255 where red sets in.
    """
    colormaps = pytest.importorskip("matplotlib").colormaps
    for share in np.linspace(0, 1, 101):
        wanted = 255 * np.array(colormaps["cividis"](float(share))[:3])
        assert np.abs(channels(cividis(float(share))) - wanted).max() <= 12


def test_brighter_is_more():
    """Relative luminance as in Web Content Accessibility Guidelines 2.2, W3C 2023."""
    linear = np.array([channels(cividis(share)) / 255 for share in np.linspace(0, 1, 50)])
    linear = np.where(linear <= 0.04045, linear / 12.92, ((linear + 0.055) / 1.055) ** 2.4)
    assert np.all(np.diff(linear @ [0.2126, 0.7152, 0.0722]) > 0)


def test_shares_outside_are_clipped():
    assert cividis(-3.0) == cividis(0.0)
    assert cividis(7.0) == cividis(1.0)
