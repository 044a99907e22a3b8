"""How sure the ground of every run is, judged by the boards that hang on it."""

from fencegrade.ground.report import GroundReport, ground_report
from fencegrade.planning.doubt import boards_cut
from fencegrade.planning.plan import FencePlan, RunPlan


def ground_reports(plan: FencePlan) -> tuple[GroundReport, ...]:
    """Run by run, everything the check has to tell of the ground under a plan's pickets."""
    return tuple(_report(plan, run) for run in plan.runs)


def _report(plan: FencePlan, run: RunPlan) -> GroundReport:
    return ground_report(
        run.ground,
        plan.units,
        plan.mark,
        boards_cut(run.layout, run.closing, run.cuts),
        tuple((s.start, s.end) for s in run.run.root),
        plan.job.pickets.most_chance,
    )
