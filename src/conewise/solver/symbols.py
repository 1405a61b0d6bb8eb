"""The one place that imports CasADi, with NumPy's functions taught to take its symbols."""

from __future__ import annotations

import casadi

casadi.GlobalOptions.setNumpyMode(1)

__all__ = ["casadi"]
