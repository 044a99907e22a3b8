"""The frame a leaf's pickets hang on, what the leaf weighs, and what it hangs and shuts with.

 | |==========| |     two stiles, rails between them, a middle one where the stiles are long
 | |        / | |
 | |      /   | |     the brace runs from the bottom corner at the hinges up to the top corner at the latch
 | |    /     | |
 | |==========| |
hinges        latch
"""

import math
from collections.abc import Iterator

import numpy as np
from msgspec import Struct

from fencegrade.fence.gates.gates import GatePlan, LeafPickets
from fencegrade.figures.lumber import WOOD_WEIGHTS, Wood
from fencegrade.job.choices import HingePost
from fencegrade.job.records import Posts, Rails
from fencegrade.problems import Problem, note
from fencegrade.units import marks_down
from fencegrade.units.words import Words

MIDDLE_RAIL_OVER = 42.0
"""Inches of stile over which a leaf has a middle rail: common practice, no source."""

THREE_HINGES_OVER_LENGTH, THREE_HINGES_OVER_WEIGHT = 60.0, 80.0
"""Inches of leaf and pounds over which a leaf hangs on three hinges: common practice, no source."""

STOUT_WIDTH, STOUT_OVER_WIDTH, STOUT_OVER_WEIGHT = 5.0, 48.0, 80.0
"""Posts under 5 in for a leaf wider than 4 ft or over 80 lb are too light: common practice, no source."""

STEEP_ENOUGH = math.radians(45.0)
"""A timber brace flatter than this carries little: common practice, no source."""

SCREWS_A_JOINT = 4
"""Where a rail or a brace meets its neighbour: common practice, no source."""

CUBIC_FOOT = 1728.0


class LeafFrame(Struct, frozen=True, kw_only=True):
    """One leaf's frame, of the section of the rails; lengths as cut in inches, weight of the leaf in pounds.

    `stiles` at the hinges and at the latch; `rails` of one length; `brace` as it is held over the frame, its
    mitres still to be marked there, `angle` of it off level (radians); `hinges` it hangs on; `ripped`: the
    pickets that are, see `LeafPickets.ripped`; `low`, `high`: elevations (in) of its
    lower and its upper edge, each at the start's side and at the end's; `wide`, `thick`: height and thickness
    (in) of its pieces.
    """

    stiles: tuple[float, float]
    rails: tuple[float, ...]
    brace: float
    angle: float
    weight: float
    hinges: int
    ripped: tuple[tuple[int, float], ...]
    low: tuple[float, float]
    high: tuple[float, float]
    wide: float
    thick: float

    def rail_edges(self) -> list[tuple[float, float]]:
        """Elevation (in) of the upper edge of every rail at both sides of the leaf, from the lowest up."""
        lowest, highest = np.array(self.low) + self.wide, np.array(self.high)
        parts = np.linspace(0.0, 1.0, len(self.rails))
        return [tuple(((1 - part) * lowest + part * highest).tolist()) for part in parts]

    def pieces(self) -> Iterator[tuple[str, float]]:
        """Every piece with its name and length (in)."""
        yield "hinge stile", self.stiles[0]
        yield "latch stile", self.stiles[1]
        yield from ((f"rail {k}", length) for k, length in enumerate(self.rails, start=1))
        yield "brace", self.brace

    @property
    def screws(self) -> int:
        """Screws of its joints: both ends of every rail and of the brace."""
        return 2 * SCREWS_A_JOINT * (len(self.rails) + 1)


def leaf_frame(
    plan: GatePlan, leaf: int, pickets: LeafPickets, board: Wood, thickness: float, rails: Rails, mark: float
) -> LeafFrame:
    """The frame of a leaf.

    `leaf`: which one; `board`: wood of the pickets and their `thickness` (in); `mark` of the tape (in), down
    to which pieces are cut. The frame begins a rail's height under the picket tops and ends two over
    their bottoms. The brace is a piece's height longer than the diagonal between stiles and rails: it is
    marked in place and cut to fit. Source: own derivation.
    """
    wide, hinge_at_start = rails.height, plan.chosen[leaf].hinge is HingePost.START
    hinge, latch = (0, 1) if hinge_at_start else (1, 0)
    high = (pickets.top[[0, -1]] - wide).tolist()
    low = np.minimum(pickets.bottom[[0, -1]] + 2 * wide, np.array(high) - wide).tolist()
    across = max(plan.leaf_width - 2 * wide, wide)
    slope = max(abs(float(v[-1] - v[0])) for v in (pickets.top, pickets.bottom)) / plan.leaf_width
    stiles = [high[k] - low[k] for k in (hinge, latch)]
    count = 3 if max(stiles) > MIDDLE_RAIL_OVER else 2
    rise = max(high[latch] - low[hinge] - 2 * wide, wide)
    brace = math.hypot(across, rise) + wide
    exact = (*stiles, *[across * math.hypot(1.0, slope)] * count, brace)
    lengths = tuple(marks_down(x, mark) * mark for x in exact)
    tall = pickets.top - pickets.bottom
    boards = float((pickets.slots.width * tall).sum()) * thickness * WOOD_WEIGHTS[board].pounds
    timber = sum(lengths) * wide * rails.thickness * WOOD_WEIGHTS[rails.wood].pounds
    weight = (boards + timber) / CUBIC_FOOT
    heavy = tall.max() > THREE_HINGES_OVER_LENGTH or weight > THREE_HINGES_OVER_WEIGHT
    return LeafFrame(
        stiles=(lengths[0], lengths[1]),
        rails=lengths[2:-1],
        brace=lengths[-1],
        angle=math.atan2(rise, across),
        weight=weight,
        hinges=3 if heavy else 2,
        ripped=pickets.ripped(),
        low=tuple(low),
        high=tuple(high),
        wide=wide,
        thick=rails.thickness,
    )


def frame_notes(
    place: str, plan: GatePlan, frame: LeafFrame, posts: Posts, mass: str, words: Words
) -> Iterator[Problem]:
    """What a builder must see of a leaf: posts too light for it, a brace too flat; `mass`: its weight."""
    width, thickness = posts.section(gate=True)
    if (plan.leaf_width > STOUT_OVER_WIDTH or frame.weight > STOUT_OVER_WEIGHT) and min(
        width, thickness
    ) < STOUT_WIDTH:
        yield note(
            place,
            f"a leaf of {mass}, {words.fine(plan.leaf_width)} wide, hangs on a post {words.fine(width)} "
            "wide; common practice is "
            f"{words.fine(5.5)} for a leaf over {words.fine(STOUT_OVER_WIDTH)} or so heavy",
            "take stouter ones and set them deeper; the job file names them by gate_width under [posts] and "
            "[[posts.gate_stock]]",
        )
    if frame.angle < STEEP_ENOUGH:
        yield note(
            place,
            f"the brace lies at {math.degrees(frame.angle):.0f} deg: a leaf so wide for its height sags",
            f"{'hang two leaves, or ' if plan.gate.leaves == 1 else ''}add a steel cable with a turnbuckle "
            "from the top at the hinges to the bottom at the latch",
        )
