"""A level top: one horizontal line per run."""

from collections.abc import Sequence

import numpy as np

from fencegrade.fence.tops.asked import Corner, Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine


def level_top(line: GroundLine, start: float, end: float, least_height: float) -> TopLine:
    """The lowest level line that keeps `least_height` over the highest ground of [start, end], all inches."""
    return level_at(start, end, float(line.highest(start, end)) + least_height)


def level_at(start: float, end: float, height: float) -> TopLine:
    """A level line of a given height (in) over [start, end]."""
    return TopLine(
        style=TopStyle.LEVEL, stations=np.array([start, end]), elevations=np.array([height, height])
    )


def choose(wish: TopWish) -> TopChoice:
    """The lowest level line that keeps the least height; boards never cost more on a lower line.

    Errors: ValueError where the run lies outside the readings.
    """
    return chosen(wish, level_top(wish.line, wish.start, wish.end, wish.least_height), Proof.LOWEST)


def choose_meeting(wishes: Sequence[TopWish], corners: Sequence[Corner]) -> tuple[TopChoice, ...]:
    """The same for runs that join: they share the height of the highest. As `styles.choose_tops`."""
    heights = [float(level_top(w.line, w.start, w.end, w.least_height).elevations[0]) for w in wishes]
    for _ in wishes:
        for a, b in corners:
            heights[a] = heights[b] = max(heights[a], heights[b])
    return tuple(
        chosen(w, level_at(w.start, w.end, z), Proof.LOWEST) for w, z in zip(wishes, heights, strict=True)
    )
