"""Cut charts, stock and sheets for a wood picket fence on ground that is not flat.

    import fencegrade
    job = fencegrade.read_job("my_fence")
    plan = fencegrade.plan_fence(job)

The names below are loaded when first used, so that importing the package stays quick.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fencegrade.cutting import CutPlan, cut_plan
    from fencegrade.fence.tops.table import StyleName
    from fencegrade.ground.fit import GroundProfile, fit_ground
    from fencegrade.job.in_memory import job_from
    from fencegrade.job.read import Job, read_job
    from fencegrade.planning.draws import PlanDraws
    from fencegrade.problems import JobMistakesError, Problem
    from fencegrade.study import Comparison, FencePlan, Heights, compare_tops, heights, plan_fence

__version__ = "0.1.0"

_HOMES = {
    "Comparison": "fencegrade.study",
    "CutPlan": "fencegrade.cutting",
    "FencePlan": "fencegrade.study",
    "GroundProfile": "fencegrade.ground.fit",
    "Heights": "fencegrade.study",
    "Job": "fencegrade.job.read",
    "JobMistakesError": "fencegrade.problems",
    "PlanDraws": "fencegrade.planning.draws",
    "Problem": "fencegrade.problems",
    "StyleName": "fencegrade.fence.tops.table",
    "compare_tops": "fencegrade.study",
    "cut_plan": "fencegrade.cutting",
    "fit_ground": "fencegrade.ground.fit",
    "heights": "fencegrade.study",
    "job_from": "fencegrade.job.in_memory",
    "plan_fence": "fencegrade.study",
    "read_job": "fencegrade.job.read",
}

__all__ = [
    "Comparison",
    "CutPlan",
    "FencePlan",
    "GroundProfile",
    "Heights",
    "Job",
    "JobMistakesError",
    "PlanDraws",
    "Problem",
    "StyleName",
    "compare_tops",
    "cut_plan",
    "fit_ground",
    "heights",
    "job_from",
    "plan_fence",
    "read_job",
]


if not TYPE_CHECKING:  # to a type checker these are all the names there are

    def __getattr__(name: str) -> Any:
        if name in _HOMES:
            return getattr(import_module(_HOMES[name]), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
