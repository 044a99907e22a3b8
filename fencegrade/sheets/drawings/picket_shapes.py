"""Outlines of pickets and of the ground as they stand, as corner points ready to draw.

dog-eared    pointed     flat
  /--\\         /\\       +----+
 |    |       |  |      |    |
"""

import numpy as np

from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import Pattern, TopEnd
from fencegrade.units.arrays import Floats, Indices

EAR = 1.0
"""Inches cut off each corner of a dog-eared top, along both edges (common practice, no source)."""

_ACROSS = 7
"""Points taken along the ground under one picket."""


def picket_outlines(slots: Slots, cuts: Cuts, top_end: TopEnd) -> Floats:
    """Outline of every picket: (n, corners, 2) stations and elevations in inches, from the bottom left."""
    return board_outlines(slots, cuts.top, (cuts.bottom_left, cuts.bottom_right), top_end)


def board_outlines(slots: Slots, top: Floats, bottom: tuple[Floats, Floats], top_end: TopEnd) -> Floats:
    """As `picket_outlines`, of any boards; `top` and `bottom`, at both edges: (n,) elevations (in)."""
    left, right, middle = slots.left, slots.right, slots.centre
    ear = np.minimum(EAR, slots.width / 2)
    match top_end:
        case TopEnd.FLAT:
            head = [(left, top), (right, top)]
        case TopEnd.POINTED:
            shoulder = top - slots.width / 2
            head = [(left, shoulder), (middle, top), (right, shoulder)]
        case TopEnd.DOG_EARED:
            head = [(left, top - ear), (left + ear, top), (right - ear, top), (right, top - ear)]
    corners = [(left, bottom[0]), *head, (right, bottom[1])]
    return np.stack([np.stack(corner, axis=-1) for corner in corners], axis=1)


def back_to_front(slots: Slots, pattern: Pattern, which: Indices) -> Indices:
    """The pickets `which` in the order they are drawn: those that others cover first.

    Where pickets overlap, every second one stands in the other row; the front row is the second of board on
    board and the first of a shadowbox.
    """
    if pattern is Pattern.SIDE_BY_SIDE or len(slots) < 2:
        return which
    laps = np.concatenate([[False], slots.left[1:] < slots.right[:-1]])
    place = np.arange(len(slots))
    begins = np.maximum.accumulate(np.where(laps, 0, place))
    second = (place - begins) % 2 == 1
    front = second if pattern is Pattern.BOARD_ON_BOARD else ~second
    return which[np.argsort(front[which], kind="stable")]


def open_outlines(line: GroundLine, slots: Slots, cuts: Cuts, which: Indices) -> Floats:
    """Outline of the open height under each of the pickets `which`: (m, corners, 2) in inches."""
    share = np.linspace(0.0, 1.0, _ACROSS)
    x, ground = _ground_under(line, slots, which)
    left, right = cuts.bottom_left[which, None], cuts.bottom_right[which, None]
    bottom = left + share * (right - left)
    return _between(x, np.minimum(ground, bottom), bottom)


def _ground_under(line: GroundLine, slots: Slots, which: Indices) -> tuple[Floats, Floats]:
    left, right = slots.left[which, None], slots.right[which, None]
    x = left + np.linspace(0.0, 1.0, _ACROSS) * (right - left)
    x[:, -1] = slots.right[which]
    ground = line.elevation(x)
    ground[:, -1] = line.elevation(x[:, -1], before=True)
    return x, ground


def _between(x: Floats, low: Floats, high: Floats) -> Floats:
    there, back = np.stack([x, low], axis=-1), np.stack([x, high], axis=-1)[:, ::-1]
    return np.concatenate([there, back], axis=1)


def ground_curve(line: GroundLine, start: float, end: float, points: int = 400) -> tuple[Floats, Floats]:
    """Stations and elevations (in) along the ground from `start` to `end`, a face drawn upright."""
    inner = line.stations[(line.stations > start) & (line.stations < end)]
    x = np.unique(np.concatenate([np.linspace(start, end, points), inner]))
    after, before = line.elevation(x), line.elevation(x, before=True)
    x2, z2 = np.repeat(x, 2), np.stack([before, after], axis=-1).ravel()
    return x2[1:-1], z2[1:-1]
