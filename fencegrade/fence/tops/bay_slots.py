"""Picket slots of a stepped top: afresh in every bay, with half a gap at each of its ends.

post                      post
 |  [ ] [ ] [ ] [ ] [ ]   |  [ ] ..
  ^half a gap            ^half a gap
"""

import math

import numpy as np

from fencegrade.fence.slots import Slots
from fencegrade.units.tolerances import ROUNDING


def bay_count(length: float, width: float, spacing: float) -> int:
    """Number of pickets in a bay whose even gap comes nearest the wanted spacing without pickets overlapping.

    `length`, `width`, `spacing` in inches. Result: one or more; of two as near, the fewer. Source: own
    derivation: with half a gap at each end n pickets leave gaps of length / n - width.
    """
    few = max(1, math.floor(length / (width + spacing) + ROUNDING))
    more = few + 1
    if more * width > length + ROUNDING:
        return few
    return more if spacing - (length / more - width) < (length / few - width) - spacing - ROUNDING else few


def bay_slots(start: float, end: float, width: float, spacing: float) -> Slots:
    """The slots of one bay, half a gap at each end (in); a bay narrower than a picket takes one ripped."""
    length = end - start
    if length < width + ROUNDING:
        return Slots(left=np.array([start]), right=np.array([end]))
    count = bay_count(length, width, spacing)
    gap = max(0.0, (length - count * width) / count)
    left = np.asarray(start + gap / 2 + np.arange(count) * (width + gap), dtype=float)
    return Slots(left=left, right=np.minimum(left + width, end))
