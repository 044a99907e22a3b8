"""A lean taken from the fence itself: boards that hang already are told."""

from dataclasses import replace
from pathlib import Path

import fencegrade
from fencegrade.building.lean import LeanTold, Toward
from fencegrade.building.plumb import job_lean
from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp

GARDEN = Path(__file__).parents[3] / "sample_runs" / "herb_garden"


def test_boards_that_hang_already_are_told() -> None:
    job = fencegrade.read_job(GARDEN)
    up = BuiltRun(name=job.runs[0].name, picket=(PicketUp(number=21, far_edge=108.5),))
    plan = fencegrade.plan_fence(replace(job, built=AsBuilt(run=(up,))))
    sizes = {"lean": "3/8 in", "over": "4 ft"} | dict.fromkeys(("height", "limit", "spacing", "width"))
    told = LeanTold(sizes=sizes, toward=Toward.START, boards=4)
    ahead = job_lean(plan, None, 19, told)
    tallest = max(plan.runs[0].cuts.kept[19:].tolist()) * plan.mark
    assert ahead.spread.question.height == tallest
    (found,) = [p for p in job_lean(plan, None, 19, told).problems if "up already" in p.found]
    assert found.found == "pickets 20-21 are up already"
    assert found.remedy.endswith("after the last one up, 21")
    assert not [p for p in job_lean(plan, None, None, told).problems if "up already" in p.found]
    (far,) = [p for p in job_lean(plan, None, 40, told).problems if p.place == "after"]
    assert "picket 40 of" in far.found
    assert "is not up by the record" in far.found


def test_no_board_beyond_an_opening_is_one_to_begin_after() -> None:
    """All boards before the gate hang, the last one among them, and some after it."""
    job = fencegrade.read_job(GARDEN)
    before = fencegrade.plan_fence(job).runs[0]
    up = BuiltRun(
        name=job.runs[0].name, picket=(PicketUp(number=105, far_edge=float(before.slots.right[104])),)
    )
    plan = fencegrade.plan_fence(replace(job, built=AsBuilt(run=(up,))))
    sizes = {"lean": "3/8 in", "over": "4 ft"} | dict.fromkeys(("height", "limit", "spacing", "width"))
    told = job_lean(plan, None, 97, LeanTold(sizes=sizes, toward=Toward.START, boards=4)).problems
    (found,) = [p for p in told if "up already" in p.found]
    assert found.remedy == "take down what is up and hang it again by these edges"
