"""Where the figures of a plan come from: those that this plan used."""

from collections.abc import Iterator

from fencegrade.figures import bearing, concrete, holes, lumber, wind
from fencegrade.figures.overhead_lines import NEAREST_SOURCE
from fencegrade.figures.soil import SWELL_SOURCE
from fencegrade.figures.sources import PRACTICE
from fencegrade.planning.leaves import picket_wood
from fencegrade.planning.plan import FencePlan


def sources_used(plan: FencePlan) -> Iterator[tuple[str, str]]:
    """Each figure that a plan rests on, and its source in words."""
    posts = plan.job.posts
    if posts.depth_share == holes.SHARE_IN_GROUND:
        yield "a third of a post's length in the ground", str(holes.SHARE_SOURCE)
    if (
        any(gate for run in plan.runs for gate in run.run.gate)
        and posts.gate_deeper == holes.GATE_POST_DEEPER
    ):
        yield "gate posts set deeper", str(holes.GATE_POST_SOURCE)
    if posts.gravel == holes.GRAVEL:
        yield "gravel under posts", str(holes.GRAVEL_SOURCE)
    if plan.concrete.bags_in_all:
        yield "volume of a bag of concrete", f"{concrete.BAGS[-1].source}; read the bag"
        yield "most that one person should lift", str(concrete.LIFT_SOURCE)
        yield "water for a bag", str(concrete.WATER_SOURCE)
    if plan.concrete.gravel_bags:
        yield "weight of gravel", str(concrete.GRAVEL_SOURCE)
    for wood in dict.fromkeys((posts.wood, plan.job.rails.wood, picket_wood(plan.job.pickets))):
        yield f"weight of wood, {wood}", str(lumber.WOOD_WEIGHTS[wood].source)
    if posts.wood in lumber.USE_CATEGORIES:
        yield f"treated for ground contact, {lumber.USE_CATEGORIES[posts.wood]}", str(lumber.USE_SOURCE)
    yield "names of sections", str(lumber.DRY_SOURCE)
    yield "rows of rails, frames of gates, screws, days of waiting, good practice at each task", str(PRACTICE)
    yield "distance from overhead lines", str(NEAREST_SOURCE)
    yield (
        "ground between readings",
        ("shape-preserving cubic (Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 1984)"),
    )
    if any(gap.fill_volume for run in plan.runs for gap in run.gaps):
        yield (
            "loose soil for a tamped fill (1.39 of it for common earth; 1.25 is loose over undisturbed "
            "ground)",
            str(SWELL_SOURCE),
        )
    if plan.job.site is not None:
        yield "wind on a fence", str(wind.FORCE_SOURCE)
        yield "soil against a post", str(bearing.BEARING[plan.job.site.soil].source)
        paved = plan.job.site.paved
        yield "depth of a post", str(bearing.PAVED_SOURCE if paved else bearing.FORMULA_SOURCE)
