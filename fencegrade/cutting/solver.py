"""The one narrow door between the plan and whatever solves it."""

from __future__ import annotations

from typing import Protocol

from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Model, Result


class Solver(Protocol):
    """Anything that plans a model within a limit of work and never claims a bound that is not true."""

    def solve(self, model: Model, effort: Effort) -> Result:
        """Return a plan, a lower bound on the cost of every plan, and so whether the plan is proven."""
        ...
