"""How the work is done well, a line each at its task: common practice, no source, unless said."""

import math
from collections.abc import Iterator

from fencegrade.planning.buying import PICKET_PARTS, buying_list
from fencegrade.planning.plan import FencePlan
from fencegrade.units import VOLUME, UnitSystem
from fencegrade.units.words import Words

RAILS_AFTER, GATES_AFTER = 2, 7
"""Days that concrete sets before rails and gates hang on its posts: common practice, no source."""


SQUARE_SIDES = {UnitSystem.IMPERIAL: "6, 8 and 10 ft", UnitSystem.METRIC: "1.8, 2.4 and 3.0 m"}
"""Sides that make a square corner. Source: Euclid, Elements, book I, proposition 48."""


KICKBOARD = (
    "A kickboard is one board a bay, its ends fixed on the middles of both posts, its upper edge straight "
    "along the bottoms of the pickets that are cut to one stock length: hang these first. Hold the board "
    "along that line, scribe the ground on it and cut its lower edge to the mark: it is narrow where little "
    "stays open, and ends where the ground comes up to the line."
)
"""How what closes low ground is made; own derivation, as the boards above it are cut."""


def setting_out_practice(plan: FencePlan) -> Iterator[str]:
    """Where the strings stand, how stations are taped, and how corners are checked."""
    words = plan.words
    half = words.fine((plan.job.posts.thickness or plan.job.posts.width) / 2)
    yield (
        "The string along the faces of the posts stands at the setback from the boundary; the middles of the "
        f"posts, and the line the readings were taken on, lie half a post ({half}) farther in."
    )
    yield (
        "Tape the stations of all posts from the run's start with one tape held level, not from post to "
        "post: errors then do not add up."
    )
    yield from _corners(plan, words)
    yield (
        "Which face shows outward is for the local rule (often the good side out); a pool barrier may want "
        "the rails on the pool side."
    )


def _corners(plan: FencePlan, words: Words) -> Iterator[str]:
    sides = SQUARE_SIDES[words.system]
    by_name = {run.run.name: run for run in plan.runs}
    for after in plan.runs:
        before = by_name.get(after.run.join or "")
        if before is None:
            continue
        legs = before.end - before.start, after.end - after.start
        square, straight = (words.station(x) for x in (math.hypot(*legs), sum(legs)))
        yield (
            f"Corner of {before.run.name} and {after.run.name}: tape the far ends of the two runs level; "
            f"they are {square} apart where it is square, as three taped sides of {sides} show, and "
            f"{straight} where the two go straight on; set the second string by what you tape."
        )


def post_practice(plan: FencePlan) -> Iterator[str]:
    """Concrete, tops and waiting."""
    concrete, words = plan.concrete, plan.words
    if concrete.bags_in_all:
        imperial = words.system is UnitSystem.IMPERIAL
        each, unit = concrete.water / concrete.bags_in_all, "gal" if imperial else "l"
        litres = VOLUME.value_in(231 / 1728, "l")
        told = f"{each if imperial else each * litres:.1f} {unit}"
        yield (
            f"Water for a bag: about {told} to begin with, then as the bag says; a mix that runs is weak. "
            "Slope the top of the concrete away from the post so that water runs off."
        )
        yield (
            f"Leave fresh concrete {RAILS_AFTER} days before rails hang on its posts and {GATES_AFTER} "
            "before a gate does, longer in the cold."
        )
    if any((run.posts.cut_off > 0).any() for run in plan.runs):
        yield "Leave posts long; cut their tops to the string once they stand firm."
    yield "Cap the posts, or cut their tops to a slope: end grain that holds water rots."


def rail_practice(plan: FencePlan) -> Iterator[str]:
    """Which way a rail is turned."""
    yield "Crown up: sight along each rail and turn its bow upward."


def saw_practice(plan: FencePlan) -> Iterator[str]:
    """Sorting at the pile, and the outlet."""
    spares = int(sum(line.spare for line in buying_list(plan).lines if line.part in PICKET_PARTS))
    bought = ""
    if spares:
        bought = f"; {spares} more {'is' if spares == 1 else 'are'} on the list for those that are set aside"
    elif not plan.job.pickets.spare:
        bought = (
            "; none is on the list for those set aside: spare = 0.05 under [pickets] in the job file adds "
            "one in twenty"
        )
    yield (
        "Sort at the pile: the straightest for the tallest places, crooked ones for short pieces, split ones "
        f"aside{bought}."
    )
    yield "Corded tools on an outlet with ground-fault protection (GFCI; RCD outside North America)."


def season_practice(plan: FencePlan) -> Iterator[str]:
    """What to look at once it stands."""
    words = plan.words
    yield (
        "After a season: take away soil that has built up into the "
        f"{words.length(plan.job.pickets.clearance)} under the boards, look for gaps opened by drying, "
        "screws that back out, posts lifted by frost, and a gate that drags."
    )
