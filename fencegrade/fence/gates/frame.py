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

from fencegrade.fence.bays.reach import slanted_ends
from fencegrade.fence.gates.gates import GatePlan, LeafPickets
from fencegrade.figures.lumber import WOOD_WEIGHTS, Wood
from fencegrade.job.choices import HingePost
from fencegrade.job.records import Posts, Rails
from fencegrade.problems import Problem, note, warning
from fencegrade.units import MM_PER_INCH, UnitSystem, marks_down
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

MIDDLE_RAIL_OVER = 42.0
"""Inches of stile over which a leaf has a middle rail: common practice, no source."""

THREE_HINGES_OVER_LENGTH, THREE_HINGES_OVER_WEIGHT = 60.0, 80.0
"""Inches of leaf and pounds over which a leaf hangs on three hinges: common practice, no source."""

STOUT_WIDTH, STOUT_OVER_WEIGHT = 5.0, 80.0
STOUT_OVER_WIDTH = {UnitSystem.IMPERIAL: 48.0, UnitSystem.METRIC: 1200 / MM_PER_INCH}
"""Posts under 5 in for a leaf wider than 4 ft (1.2 m) or over 80 lb are too light: common practice, no
source."""

STEEP_ENOUGH = math.radians(45.0)
"""A timber brace flatter than this carries little: common practice, no source."""

CABLE = "a steel cable with a turnbuckle from the top at the hinges to the bottom at the latch"
"""What carries a leaf whose brace is too flat: common practice, no source."""

SCREWS_A_JOINT = 4
"""Where a rail or a brace meets its neighbour: common practice, no source."""

CUBIC_FOOT = 1728.0


class LeafFrame(Struct, frozen=True, kw_only=True):
    """One leaf's frame, of the section of the rails; lengths as cut in inches, weight of the leaf in pounds.

    `stiles` at the hinges and at the latch, square-ended, taken at their middles; `rails` from the lowest up,
    each along its own slope between the stiles, and what the plumb `ends` of each take of a board besides;
    `brace` as it is held over the frame, its mitres still to be marked there, `angle` of it off level
    (radians); `hinges` it hangs on; `ripped`: the pickets that are, see `LeafPickets.ripped`; `slant`: how
    much the bottom of a whole picket rises toward the run's end (in); `low`, `high`: elevations (in) of its
    lower and its upper edge, each at the leaf's side toward the start and at that toward the end; `wide`,
    `thick`: height and thickness (in) of its pieces.
    """

    stiles: tuple[float, float]
    rails: tuple[float, ...]
    ends: tuple[float, ...]
    brace: float
    angle: float
    weight: float
    hinges: int
    ripped: tuple[tuple[int, float], ...]
    slant: float
    low: tuple[float, float]
    high: tuple[float, float]
    wide: float
    thick: float

    def rail_edges(self) -> list[tuple[float, float]]:
        """Elevation (in) of the upper edge of every rail at both sides of the leaf, from the lowest up."""
        edges = _rail_edges(np.array(self.low), np.array(self.high), self.wide, len(self.rails))
        return [tuple(edge.tolist()) for edge in edges]

    def pieces(self) -> Iterator[tuple[str, float, float]]:
        """Every piece with its name, its length, and what its slanted ends take of a board besides (in)."""
        yield "hinge stile", self.stiles[0], 0.0
        yield "latch stile", self.stiles[1], 0.0
        for k, (length, ends) in enumerate(zip(self.rails, self.ends, strict=True), start=1):
            yield f"rail {k}", length, ends
        yield "brace", self.brace, 0.0

    @property
    def flat(self) -> bool:
        """Whether its brace is too flat to carry it."""
        return self.angle < STEEP_ENOUGH

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
    their bottoms; its lowest rail is parallel to the leaf's lower edge, its highest to the upper one, a
    middle one lies halfway between them at both stiles. The brace is a piece's height longer than the
    diagonal between stiles and rails: it is marked in place and cut to fit. Source: own derivation.
    """
    wide, hinge_at_start = rails.height, plan.chosen[leaf].hinge is HingePost.START
    hinge, latch = (0, 1) if hinge_at_start else (1, 0)
    low, high = _frame_edges(pickets, wide)
    across = max(plan.leaf_width - 2 * wide, wide)
    stiles = _within(high - low, wide / 2, pickets.span)[[hinge, latch]].tolist()
    count = 3 if max(stiles) > MIDDLE_RAIL_OVER else 2
    foot, head = (_within(z, wide, pickets.span) for z in (low, high))
    rise = max(float(head[latch] - foot[hinge]) - 2 * wide, wide)
    brace = math.hypot(across, rise) + wide
    slopes = np.diff(_rail_edges(low, high, wide, count), axis=1)[:, 0] / pickets.span
    exact = (*stiles, *(across * np.hypot(1.0, slopes)).tolist(), brace)
    lengths = tuple(marks_down(x, mark) * mark for x in exact)
    tall = pickets.top - pickets.bottom
    boards = float((pickets.slots.width * tall).sum()) * thickness * WOOD_WEIGHTS[board].pounds
    timber = sum(lengths) * wide * rails.thickness * WOOD_WEIGHTS[rails.wood].pounds
    weight = (boards + timber) / CUBIC_FOOT
    heavy = tall.max() > THREE_HINGES_OVER_LENGTH or weight > THREE_HINGES_OVER_WEIGHT
    return LeafFrame(
        stiles=(lengths[0], lengths[1]),
        rails=lengths[2:-1],
        ends=tuple(slanted_ends(wide, slopes).tolist()),
        brace=lengths[-1],
        angle=math.atan2(rise, across),
        weight=weight,
        hinges=3 if heavy else 2,
        ripped=pickets.ripped(),
        slant=pickets.slopes[0] * pickets.board,
        low=tuple(low.tolist()),
        high=tuple(high.tolist()),
        wide=wide,
        thick=rails.thickness,
    )


def _frame_edges(pickets: LeafPickets, wide: float) -> tuple[Floats, Floats]:
    """Elevations (2,) in of a frame's two edges at both sides of the leaf, parallel to the leaf's own."""
    centre, sides = pickets.slots.centre, np.array([pickets.slots.left[0], pickets.slots.right[-1]])
    lower, upper = pickets.slopes
    high = float((pickets.top - upper * centre).min()) + upper * sides - wide
    low = float((pickets.bottom - lower * centre).max()) + lower * sides + 2 * wide
    return np.minimum(low, high - wide), high


def _within(ends: Floats, inch: float, span: float) -> Floats:
    """What is straight between the `ends` (2,) of a span, so many inches in from each."""
    return ends + (ends[::-1] - ends) * inch / span


def _rail_edges(low: Floats, high: Floats, wide: float, count: int) -> Floats:
    """Elevations (count, 2) in of the rails' upper edges at both sides, evenly between lowest and highest."""
    return np.linspace(low + wide, high, count)


def frame_notes(
    place: str, plan: GatePlan, frame: LeafFrame, posts: Posts, mass: str, words: Words
) -> Iterator[Problem]:
    """What a builder must see of a leaf: posts too light for it, a brace too flat; `mass`: its weight."""
    width, thickness = posts.section(gate=True)
    wide = STOUT_OVER_WIDTH[words.system]
    if (plan.leaf_width > wide + SAME_LENGTH or frame.weight > STOUT_OVER_WEIGHT) and min(
        width, thickness
    ) < STOUT_WIDTH:
        yield warning(
            place,
            f"a leaf of {mass}, {words.fine(plan.leaf_width)} wide, hangs on a post {words.fine(width)} "
            "wide; common practice is "
            f"{words.fine(5.5)} for a leaf over {words.fine(wide)} or so heavy",
            "take stouter ones and set them deeper; the job file names them by gate_width under [posts] and "
            "[[posts.gate_stock]]",
        )
    if frame.flat:
        yield note(
            place,
            f"the brace lies at {math.degrees(frame.angle):.0f} deg: a leaf so wide for its height sags",
            f"{'hang two leaves, or ' if plan.gate.leaves == 1 else ''}add {CABLE}",
        )
