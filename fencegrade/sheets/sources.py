"""Where the figures of a plan come from: those that this plan used."""

from collections.abc import Iterator

from fencegrade.figures import bearing, concrete, holes, wind
from fencegrade.figures.soil_volume import SOIL_VOLUMES
from fencegrade.figures.sources import PRACTICE
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
    yield "weight of timber, rows of rails, screws at a crossing", str(PRACTICE)
    yield (
        "ground between readings",
        ("shape-preserving cubic (Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5, 1984)"),
    )
    if any(gap.fill_volume for run in plan.runs for gap in run.gaps):
        yield "how soil swells and settles", str(SOIL_VOLUMES[1].source)
    if plan.job.site is not None:
        yield "wind on a fence", str(wind.FORCE_SOURCE)
        yield "soil against a post", str(bearing.BEARING[plan.job.site.soil].source)
        paved = plan.job.site.paved
        yield "depth of a post", str(bearing.PAVED_SOURCE if paved else bearing.FORMULA_SOURCE)
