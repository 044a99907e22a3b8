"""A level top: one horizontal line per run."""

import numpy as np

from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import TopStyle


def level_top(line: GroundLine, start: float, end: float, least_height: float) -> TopLine:
    """The lowest level line that keeps `least_height` over the highest ground of [start, end], all inches."""
    return level_at(start, end, float(line.highest(start, end)) + least_height)


def level_at(start: float, end: float, height: float) -> TopLine:
    """A level line of a given height (in) over [start, end]."""
    return TopLine(
        style=TopStyle.LEVEL, stations=np.array([start, end]), elevations=np.array([height, height])
    )


def choose_level(wish: TopWish) -> TopChoice:
    """The lowest level line that keeps the least height; boards never cost more on a lower line.

    Errors: ValueError where the run lies outside the readings.
    """
    return chosen(wish, level_top(wish.line, wish.start, wish.end, wish.least_height), Proof.LOWEST)
