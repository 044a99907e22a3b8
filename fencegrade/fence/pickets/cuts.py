"""Every picket's cut: where its bottom may come, how much of it is kept, and what stays open beneath.

   top  ____            full length = top - bottom before rounding
       |    |           kept length = full length rounded down to the tape mark
       |    |           gap         = kept bottom to the lowest ground under the picket
bottom |____|  clearance over the highest ground under it
  .--'````-.  ground
"""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.pickets.ground_below import BareGround, Below
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import BottomCut
from fencegrade.units.arrays import Floats, Indices, Marks
from fencegrade.units.tolerances import MARK_GRACE


class Cuts(Struct, frozen=True, kw_only=True, eq=False):
    """Cut geometry of every picket, (n,) each; elevations and lengths in inches, `kept` in tape marks.

    `top` is level across a picket. `bottom_left` and `bottom_right` are as cut: equal for a square cut.
    `kept_left` and `kept_right` are the lengths of the two sides in tape marks, `kept` the longer of
    them. `gap` is the largest open height, `height` and `tallest` are the top above the highest and the
    lowest ground beneath.
    """

    top: Floats
    bottom_left: Floats
    bottom_right: Floats
    kept_left: Marks
    kept_right: Marks
    kept: Marks
    gap: Floats
    height: Floats
    tallest: Floats


def cut_pickets(
    line: GroundLine, slots: Slots, top: TopLine, clearance: Floats, bottom_cut: BottomCut, mark: float
) -> Cuts:
    """The cut of every picket at its full length over the ground as surveyed.

    `clearance`: (n,) wanted space under each picket (in); `mark`: the tape mark (in). A sloping top is
    taken at the picket's middle. Rounding only ever shortens, at the bottom end; the top never moves.
    Errors: ValueError where a slot lies outside the readings. Source: own derivation.
    """
    crown = top.at(slots.centre)
    below = BareGround(line=line, left=slots.left, right=slots.right)
    high, low = below.about(np.zeros(len(slots)))
    left, right, gap = cut_lengths(below, crown, clearance, bottom_cut, mark)
    return Cuts(
        top=crown,
        bottom_left=crown - left * mark,
        bottom_right=crown - right * mark,
        kept_left=left,
        kept_right=right,
        kept=np.maximum(left, right),
        gap=gap,
        height=crown - high,
        tallest=crown - low,
    )


def cut_lengths(
    below: Below, crown: Floats, clearance: Floats, bottom_cut: BottomCut, mark: float
) -> tuple[Marks, Marks, Floats]:
    """Length of both sides (tape marks) and the gap (in) of boards (n,) at full length over what is below.

    `crown`: elevation of the tops, `clearance`: wanted space (in); `mark`: tape mark (in). A scribed cut is
    parallel to the chord of the ground; each side is rounded down, so it stays clear everywhere, and the gap
    is taken under the cut as made. Source: own derivation.
    """
    width = below.right - below.left
    chord = np.zeros(len(width))
    if bottom_cut is BottomCut.SCRIBED:
        ends = below.at_edges()
        chord = ends[1] - ends[0]
    touch, lowest = below.about(chord / width)
    left = marks_down(crown - touch - clearance, mark)
    right = marks_down(crown - touch - chord - clearance, mark)
    if bottom_cut is BottomCut.SCRIBED:
        _, lowest = below.about((left - right) * mark / width)
    return left, right, crown - left * mark - lowest


def cut_again(
    cuts: Cuts, index: Indices, below: Below, clearance: Floats, bottom_cut: BottomCut, mark: float
) -> Cuts:
    """The cuts with those of `index` (m,) at full length over other ground, such as soil laid there.

    `below`: what lies below the boards of `index`, `clearance` (m,) wanted over it (in). Heights stay those
    over the ground as surveyed.
    """
    left, right, gap = cuts.kept_left.copy(), cuts.kept_right.copy(), cuts.gap.copy()
    left[index], right[index], gap[index] = cut_lengths(below, cuts.top[index], clearance, bottom_cut, mark)
    bottom_left, bottom_right = cuts.bottom_left.copy(), cuts.bottom_right.copy()
    bottom_left[index] = cuts.top[index] - left[index] * mark
    bottom_right[index] = cuts.top[index] - right[index] * mark
    return replace(
        cuts,
        bottom_left=bottom_left,
        bottom_right=bottom_right,
        kept_left=left,
        kept_right=right,
        kept=np.maximum(left, right),
        gap=gap,
    )


def shortened(cuts: Cuts, least: Marks, mark: float) -> Cuts:
    """The same pickets where a board of `least` (n,) tape marks is too short for the full length.

    Both sides lose what the longer one must lose, so a scribed cut keeps its angle; the gap grows by it.
    """
    return cut_to(cuts, np.minimum(cuts.kept, least), mark)


def cut_over(
    cuts: Cuts, index: Indices, edges: Floats, clearance: Floats, bottom_cut: BottomCut, mark: float
) -> Cuts:
    """The same pickets, those of `index` over ground that was measured at both edges and is straight between.

    `edges` (k, 2): elevations of that ground (in); `clearance` (k,) inches; `mark`: the tape mark (in). A
    square cut clears the higher edge. Source: own derivation.
    """
    crown, high, low = cuts.top[index], edges.max(axis=1), edges.min(axis=1)
    touch = edges if bottom_cut is BottomCut.SCRIBED else np.stack([high, high], axis=1)
    kept = marks_down(crown[:, None] - touch - clearance[:, None], mark)
    bottom = crown[:, None] - kept * mark
    changed = {name: getattr(cuts, name).copy() for name in Cuts.__struct_fields__}
    changed["kept_left"][index], changed["kept_right"][index] = kept.T
    changed["bottom_left"][index], changed["bottom_right"][index] = bottom.T
    changed["kept"][index] = kept.max(axis=1)
    changed["gap"][index] = (bottom - edges).max(axis=1)
    changed["height"][index], changed["tallest"][index] = crown - high, crown - low
    return Cuts(**changed)


def cut_to(cuts: Cuts, kept: Marks, mark: float) -> Cuts:
    """The same pickets as they were really cut: `kept` (n,) tape marks of the longer side."""
    loss = cuts.kept - kept
    return replace(
        cuts,
        bottom_left=cuts.bottom_left + loss * mark,
        bottom_right=cuts.bottom_right + loss * mark,
        kept_left=cuts.kept_left - loss,
        kept_right=cuts.kept_right - loss,
        kept=kept,
        gap=cuts.gap + loss * mark,
    )


def marks_down(inches: Floats, mark: float) -> Marks:
    """Whole tape marks in each length, rounded down; a hair under a mark counts as on it."""
    return np.floor(np.asarray(inches) / mark + MARK_GRACE).astype(np.int64)


def marks_up(inches: Floats, mark: float) -> Marks:
    """Whole tape marks that hold each length, rounded up; a hair over a mark counts as on it."""
    return np.ceil(np.asarray(inches) / mark - MARK_GRACE).astype(np.int64)
