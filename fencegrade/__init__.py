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
    from fencegrade.ground.fit import GroundProfile, fit_ground
    from fencegrade.job.read import Job, read_job
    from fencegrade.planning.compare import Comparison, compare_tops
    from fencegrade.planning.plan import FencePlan, plan_fence
    from fencegrade.problems import JobMistakesError, Problem

__version__ = "0.1.0"

_HOMES = {
    "Comparison": "fencegrade.planning.compare",
    "CutPlan": "fencegrade.cutting",
    "FencePlan": "fencegrade.planning.plan",
    "GroundProfile": "fencegrade.ground.fit",
    "Job": "fencegrade.job.read",
    "JobMistakesError": "fencegrade.problems",
    "Problem": "fencegrade.problems",
    "compare_tops": "fencegrade.planning.compare",
    "cut_plan": "fencegrade.cutting",
    "fit_ground": "fencegrade.ground.fit",
    "plan_fence": "fencegrade.planning.plan",
    "read_job": "fencegrade.job.read",
}

__all__ = [
    "Comparison",
    "CutPlan",
    "FencePlan",
    "GroundProfile",
    "Job",
    "JobMistakesError",
    "Problem",
    "compare_tops",
    "cut_plan",
    "fit_ground",
    "plan_fence",
    "read_job",
]


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
