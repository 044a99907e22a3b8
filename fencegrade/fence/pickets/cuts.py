"""Every picket's cut: where its bottom may come, how much of it is kept, and what stays open beneath.

   top  ____            full length = top - bottom before rounding
       |    |           kept length = full length rounded down to the tape mark
       |    |           gap         = kept bottom to the lowest ground under the picket
bottom |____|  clearance over the highest ground under it
  .--'````-.  ground
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops import TopLine
from fencegrade.ground.about_line import extremes_about_line
from fencegrade.ground.profile import Floats, GroundLine
from fencegrade.job.records import BottomCut
from fencegrade.units import GRACE

Marks = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cuts:
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
    """The cut of every picket at its full length, before any stock is chosen.

    `clearance`: (n,) wanted space under each picket (in); `mark`: the tape mark (in). A sloping top is
    taken at the picket's middle. Rounding only ever shortens, at the bottom end; the top never moves.
    Errors: ValueError where a slot lies outside the readings. Source: own derivation.
    """
    crown = top.at(slots.centre)
    high, low = line.highest(slots.left, slots.right), line.lowest(slots.left, slots.right)
    if bottom_cut is BottomCut.SQUARE:
        kept_left = kept_right = marks_down(crown - high - clearance, mark)
        gap = crown - kept_left * mark - low
    else:
        kept_left, kept_right, gap = _scribed(line, slots, crown, clearance, mark)
    return Cuts(
        top=crown,
        bottom_left=crown - kept_left * mark,
        bottom_right=crown - kept_right * mark,
        kept_left=kept_left,
        kept_right=kept_right,
        kept=np.maximum(kept_left, kept_right),
        gap=gap,
        height=crown - high,
        tallest=crown - low,
    )


def _scribed(
    line: GroundLine, slots: Slots, crown: Floats, clearance: Floats, mark: float
) -> tuple[Marks, Marks, Floats]:
    """Kept length of each side and the gap, for a cut parallel to the ground's chord.

    Each side is rounded down, so the cut stays clear everywhere; the gap is taken under the cut as made.
    """
    left, right, width = slots.left, slots.right, slots.width
    chord = line.elevation(right, before=True) - line.elevation(left)
    touch, _ = extremes_about_line(line, left, right, chord / width)
    kept_left = marks_down(crown - touch - clearance, mark)
    kept_right = marks_down(crown - touch - chord - clearance, mark)
    slope = (kept_left - kept_right) * mark / width
    _, lowest = extremes_about_line(line, left, right, slope)
    return kept_left, kept_right, crown - kept_left * mark - lowest


def shortened(cuts: Cuts, least: Marks, mark: float) -> Cuts:
    """The same pickets where a board of `least` (n,) tape marks is too short for the full length.

    Both sides lose what the longer one must lose, so a scribed cut keeps its angle; the gap grows by it.
    """
    loss = np.maximum(cuts.kept - least, 0)
    return Cuts(
        top=cuts.top,
        bottom_left=cuts.bottom_left + loss * mark,
        bottom_right=cuts.bottom_right + loss * mark,
        kept_left=cuts.kept_left - loss,
        kept_right=cuts.kept_right - loss,
        kept=cuts.kept - loss,
        gap=cuts.gap + loss * mark,
        height=cuts.height,
        tallest=cuts.tallest,
    )


def marks_down(inches: Floats, mark: float) -> Marks:
    """Whole tape marks in each length, rounded down; a hair under a mark counts as on it."""
    return np.floor(np.asarray(inches) / mark + GRACE).astype(np.int64)


def join_cuts(parts: Sequence[Cuts]) -> Cuts:
    """The cuts of several runs as one row."""
    return Cuts(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Cuts)})
