"""A solver that fills board after board and never looks back: what the exact one must not be worse than."""

from fencegrade.cutting.bounds import cost_in_parts
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.model import Model, Result, plan_cost


def greedy(model: Model, effort: Effort, shorter: Result | None = None) -> Result:
    """Best of a few greedy fillings, with the bound of the material alone; no limit of work is needed."""
    cuts = construct(model)
    raw = cost_in_parts(model, [bar.capacity for bar in model.bars], model.total)
    return Result(cuts=cuts, cost=plan_cost(model, cuts), raw=raw)
