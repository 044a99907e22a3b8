"""Cuts of boards that stand over a taper: raised so that they keep their clearance over the finished ground.

 ___________ board over the fill
|           |__________
|:::::::::::|   board  |   its bottom rises with the taper
|:::::::::::|`-.______ |
|:::::::::::|:::::::::`-._____ ground
           edge            reach
"""

from dataclasses import dataclass

import numpy as np

from fencegrade.fence.pickets.cuts import Cuts, Marks, marks_down
from fencegrade.ground.about_line import extremes_about_line
from fencegrade.ground.profile import Floats, GroundLine
from fencegrade.job.records import BottomCut


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnderTaper:
    """Boards (m,) with part of a taper beneath: stations in inches.

    `left`, `right`: edges of the board; `begin`, `end`: where the taper lies under it, at one of its edges or
    both; `z_begin`, `z_end`: elevation (in) of the taper there.
    """

    left: Floats
    right: Floats
    begin: Floats
    end: Floats
    z_begin: Floats
    z_end: Floats

    def ground_part(self) -> tuple[Floats, Floats]:
        """Where bare ground lies under each board; no width where the taper covers all of it."""
        at_left = self.begin <= self.left
        return np.where(at_left, self.end, self.left), np.where(at_left, self.right, self.begin)


def cut_over_tapers(
    line: GroundLine,
    under: UnderTaper,
    top: Floats,
    clearance: Floats,
    bottom_cut: BottomCut,
    mark: float,
) -> tuple[Marks, Marks, Floats]:
    """Kept length of both sides (tape marks) and gap (in) of boards cut over the finished ground.

    `top`, `clearance`: (m,) inches; `mark`: tape mark (in). As `pickets.cut_pickets`, with the taper in place
    of the ground it covers. Errors: ValueError where a board lies outside the readings.
    """
    width = under.right - under.left
    chord = np.zeros(len(width))
    if bottom_cut is BottomCut.SCRIBED:
        chord = _at_right(line, under) - _at_left(line, under)
    touch, lowest = _about(line, under, chord / width)
    kept_left = marks_down(top - touch - clearance, mark)
    kept_right = marks_down(top - touch - chord - clearance, mark)
    if bottom_cut is BottomCut.SCRIBED:
        _, lowest = _about(line, under, (kept_left - kept_right) * mark / width)
    return kept_left, kept_right, top - kept_left * mark - lowest


def raise_cuts(
    cuts: Cuts, index: np.ndarray, kept_left: Marks, kept_right: Marks, gap: Floats, mark: float
) -> Cuts:
    """The same cuts with those of `index` as given; heights stay as they are, over the ground as surveyed."""
    left, right, open_height = cuts.kept_left.copy(), cuts.kept_right.copy(), cuts.gap.copy()
    bottom_left, bottom_right = cuts.bottom_left.copy(), cuts.bottom_right.copy()
    left[index], right[index], open_height[index] = kept_left, kept_right, gap
    bottom_left[index] = cuts.top[index] - kept_left * mark
    bottom_right[index] = cuts.top[index] - kept_right * mark
    return Cuts(
        top=cuts.top,
        bottom_left=bottom_left,
        bottom_right=bottom_right,
        kept_left=left,
        kept_right=right,
        kept=np.maximum(left, right),
        gap=open_height,
        height=cuts.height,
        tallest=cuts.tallest,
    )


def _at_left(line: GroundLine, under: UnderTaper) -> Floats:
    return np.where(under.begin <= under.left, under.z_begin, line.elevation(under.left))


def _at_right(line: GroundLine, under: UnderTaper) -> Floats:
    return np.where(under.end >= under.right, under.z_end, line.elevation(under.right, before=True))


def _about(line: GroundLine, under: UnderTaper, slope: Floats) -> tuple[Floats, Floats]:
    """Highest and lowest finished ground about a line of each slope through the board's left edge."""
    ends = np.stack(
        [
            under.z_begin - slope * (under.begin - under.left),
            under.z_end - slope * (under.end - under.left),
        ]
    )
    high, low = ends.max(axis=0), ends.min(axis=0)
    a, b = under.ground_part()
    bare = b > a
    if bare.any():
        found = extremes_about_line(line, a[bare], b[bare], slope[bare])
        down = slope[bare] * (a[bare] - under.left[bare])
        high[bare] = np.maximum(high[bare], found[0] - down)
        low[bare] = np.minimum(low[bare], found[1] - down)
    return high, low
