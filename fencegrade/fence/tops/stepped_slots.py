"""Picket slots of a stepped top: afresh in every bay, with half a gap at each of its ends.

post                      post
 |  [ ] [ ] [ ] [ ] [ ]   |  [ ] ..
  ^half a gap            ^half a gap
"""

import math
from itertools import pairwise

import numpy as np

from fencegrade.fence.slots import Slots, join_slots
from fencegrade.ground.profile import Floats
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


def stepped_slots(
    posts: Floats,
    width: float,
    spacing: float,
    closed: tuple[tuple[float, float], ...] = (),
) -> Slots:
    """The slots of a stepped top between `posts` (m,), stations in inches.

    `width`, `spacing`: of the pickets (in); `closed`: the stretches that pickets fill (in), those between
    gates and faces; all between the first and last post where none is given. A bay that a gate cuts short
    fills what is left of it. Errors: ValueError for fewer than two posts.
    """
    if len(posts) < 2:
        raise ValueError("a stepped top needs two posts or more")
    parts = []
    for a, b in closed or ((float(posts[0]), float(posts[-1])),):
        inner = posts[(posts > a + ROUNDING) & (posts < b - ROUNDING)]
        edges = np.concatenate([[a], inner, [b]])
        parts += [bay_slots(float(p), float(q), width, spacing) for p, q in pairwise(edges)]
    return join_slots(parts)
