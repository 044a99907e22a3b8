"""Which cautions and lines of good practice belong to a plan's work."""

from collections.abc import Iterator

from msgspec.structs import replace

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.figures.concrete import ONE_PERSON_LIFT
from fencegrade.figures.overhead_lines import NEAREST
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import (
    AUGER,
    CEMENT,
    DIGGING,
    HEAVY,
    LADDER,
    NAILER,
    OVERHEAD,
    PASSING,
    PERMIT,
    POOL,
    PULLING,
    SAW,
    TALL,
    TREATED,
    TRIMMING,
    WATER,
    WEATHER,
    Caution,
    Work,
    said_in,
)
from fencegrade.sheets.practice import (
    post_practice,
    rail_practice,
    saw_practice,
    season_practice,
    setting_out_practice,
)
from fencegrade.units import MASS, UnitSystem

TALL_FROM = 72.0
"""Inches above the ground over which a fence is told as tall: common practice, no source; local code
decides."""


def cautions(plan: FencePlan) -> Iterator[Caution]:
    """The cautions that belong to this plan's work, as its units say them."""
    for caution in _belonging(plan):
        short, whole = (said_in(plan.units, text) for text in (caution.short, caution.whole))
        yield replace(caution, short=short, whole=whole)


def _belonging(plan: FencePlan) -> Iterator[Caution]:
    yield DIGGING
    yield PERMIT
    yield WATER
    if any(_tall_or_walled(run) for run in plan.runs):
        yield TALL
    yield POOL
    yield AUGER
    yield CEMENT
    yield _overhead(plan)
    if any(not post.keep for run in plan.runs for post in run.run.existing_post):
        yield PULLING
    yield _lifting(plan)
    yield SAW
    yield TREATED
    if plan.flagged(PicketFlag.MARK_IN_PLACE):
        yield TRIMMING
    yield NAILER
    yield LADDER
    yield WEATHER
    yield PASSING
    for work, lines in _PRACTICE:
        yield from (Caution(work=work, short="", whole=line) for line in lines(plan))


_PRACTICE = (
    (Work.PLANNING, setting_out_practice),
    (Work.POSTS, post_practice),
    (Work.FIXING, rail_practice),
    (Work.CUTTING, saw_practice),
    (Work.SITE, season_practice),
)


def short_cautions(plan: FencePlan) -> Iterator[str]:
    """The cautions of this plan in the words of the screen."""
    return (caution.short for caution in cautions(plan) if caution.short)


def _tall_or_walled(run: RunPlan) -> bool:
    faces = run.ground.line.faces
    return float(run.cuts.tallest.max(initial=0.0)) > TALL_FROM or len(faces) > 0


def _overhead(plan: FencePlan) -> Caution:
    """The caution for overhead lines, with the distance in the job's unit."""
    near = "3 m" if plan.units is UnitSystem.METRIC else f"{NEAREST / 12:.0f} ft"
    return replace(OVERHEAD, short=OVERHEAD.short.format(near=near), whole=OVERHEAD.whole.format(near=near))


def work_cautions(plan: FencePlan, *works: Work) -> Iterator[Caution]:
    """The cautions of this plan that belong to one kind of work, or to several."""
    return (caution for caution in cautions(plan) if caution.work in works)


def _lifting(plan: FencePlan) -> Caution:
    """The caution for lifting, with the limit in the job's unit."""
    system = plan.units
    limit = MASS.format(ONE_PERSON_LIFT, system, places=0)
    return replace(HEAVY, whole=HEAVY.whole.format(limit=limit))
