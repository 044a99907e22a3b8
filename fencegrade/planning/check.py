"""How sure the ground of every run is, judged by the boards and the stock that hang on it."""

import numpy as np

from fencegrade.fence.stock import NO_STOCK
from fencegrade.ground.profile import Floats
from fencegrade.ground.report import GroundReport, ground_report
from fencegrade.planning.plan import TOLERANCE, FencePlan, RunPlan


def ground_reports(plan: FencePlan) -> tuple[GroundReport, ...]:
    """Run by run, everything the check has to tell of the ground under a plan's pickets."""
    return tuple(_report(plan, run) for run in plan.runs)


def _report(plan: FencePlan, run: RunPlan) -> GroundReport:
    slots = (run.slots.left, run.slots.right) if len(run.slots) else None
    return ground_report(
        run.ground,
        plan.job.job.units,
        plan.mark,
        slots,
        TOLERANCE,
        stock_margins(plan, run) if slots else None,
        tuple((s.start, s.end) for s in run.run.root),
    )


def stock_margins(plan: FencePlan, run: RunPlan) -> Floats:
    """How much longer (in) each picket may become before its stock no longer serves, (n,).

    What its board is too long by, and what the gap beneath may still grow by; infinite where no stock serves.
    """
    lengths = np.append([s.length for s in plan.stock.offered], np.inf)[run.stock]
    spare = lengths - run.cuts.kept * plan.mark
    room = np.maximum(run.zones.most_gap - run.cuts.gap, 0.0)
    return np.where(run.stock == NO_STOCK, np.inf, spare + room)
