"""Differentiable stand-ins for max, min, abs and sign. They take floats, arrays or symbols."""

from __future__ import annotations

from typing import Any

import numpy as np

Numeric = Any  # float, Array or CasADi expression


def absolute(x: Numeric, width: Numeric) -> Numeric:
    """Smooth |x|; `width` (in the unit of x) is the value at zero."""
    return np.sqrt(x * x + width * width)


def maximum(a: Numeric, b: Numeric, width: Numeric) -> Numeric:
    """Smooth max(a, b), never below it; at a = b it is width / 2 too large."""
    return (a + b + absolute(a - b, width)) / 2


def minimum(a: Numeric, b: Numeric, width: Numeric) -> Numeric:
    """Smooth min(a, b), never above it; at a = b it is width / 2 too small."""
    return (a + b - absolute(a - b, width)) / 2


def positive(x: Numeric, width: Numeric) -> Numeric:
    """Smooth max(x, 0)."""
    return maximum(x, 0.0, width)


def sign(x: Numeric, width: Numeric) -> Numeric:
    """Smooth sign of x, within 30% of it from |x| = width on."""
    return x / np.sqrt(x * x + width * width)


def clip(x: Numeric, low: Numeric, high: Numeric, width: Numeric) -> Numeric:
    """Smooth clip of x to [low, high]; odd about the middle of the band, inside it by at most width / 2."""
    return (absolute(x - low, width) - absolute(x - high, width) + low + high) / 2


def saturated(x: Numeric, limit: Numeric) -> Numeric:
    """Smooth clip of x to [-limit, limit]: within 0.1% of x up to half the limit, 8% below it at the limit itself.

    Notes
    -----
    x / (1 + (x / limit)^8)^(1/8). Unlike `clip` it takes nothing off a small x, whatever the limit; the 1e-6 keeps a
    limit of zero harmless.
    """
    share = x * x / (limit * limit + 1e-6)
    high = share * share
    return x / np.sqrt(np.sqrt(np.sqrt(1.0 + high * high)))
