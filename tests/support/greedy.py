"""A solver that fills board after board and never looks back: what the exact one must not be worse than."""

from fencegrade.cutting.constructive import construct, material_bound
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Model, Result, plan_cost


def greedy(model: Model, effort: Effort) -> Result:
    """Best of a few greedy fillings, with the bound of the material alone; no limit of work is needed."""
    cuts = construct(model)
    return Result(cuts=cuts, cost=plan_cost(model, cuts), raw=material_bound(model))
