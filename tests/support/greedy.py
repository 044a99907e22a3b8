"""A solver that fills board after board and never looks back: what the exact one must not be worse than."""

from fencegrade.cutting.constructive import ceil_of, construct, material_bound, plan_cost
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Model, Result


class ConstructiveSolver:
    """Best of a few greedy fillings, with the bound of the material alone."""

    def solve(self, model: Model, effort: Effort) -> Result:
        """Plan `model`; the limit of work is not needed."""
        cuts = construct(model)
        raw = material_bound(model)
        return Result(cuts=cuts, cost=plan_cost(model, cuts), bound=ceil_of(raw), raw=raw)
