"""How sure the ground of every run is, judged by the boards that hang on it."""

from collections.abc import Iterable

from fencegrade.ground.report import GroundReport, ground_report
from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.planning.doubt import boards_cut
from fencegrade.planning.plan import FencePlan, RunPlan


def ground_reports(plan: FencePlan) -> tuple[GroundReport, ...]:
    """Run by run, everything the check has to tell of the ground under a plan's pickets."""
    return tuple(_report(plan, run) for run in plan.runs)


def reports_without_plan(job: Job, grounds: Iterable[RunGround]) -> tuple[GroundReport, ...]:
    """Run by run, what the check has to tell of the ground where no plan can be made on it."""
    return tuple(ground_report(ground, job.job.units, job.job.tape) for ground in grounds)


def _report(plan: FencePlan, run: RunPlan) -> GroundReport:
    return ground_report(
        run.ground,
        plan.units,
        plan.mark,
        boards_cut(run.layout, run.closing, run.cuts),
        tuple((s.start, s.end) for s in run.run.root),
        plan.job.pickets.most_chance,
    )
