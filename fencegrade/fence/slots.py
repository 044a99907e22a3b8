"""Where each picket stands: slots along the run, with gate openings left out.

start                gate                 end
  |[ ][ ][ ][ ][ ]|        |[ ][ ][ ][ ][ ]|
   <-- stretch -->          <-- stretch -->
"""

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from msgspec import Struct

from fencegrade.job.choices import Fit
from fencegrade.job.records import Gate
from fencegrade.units.arrays import Floats, Truths, as_one
from fencegrade.units.tolerances import ROUNDING

LEAST_BOARD = 0.5
"""Inches; a narrower strip is no board: none is ripped to it. Common practice, no source."""

LEAST_OFF = 0.125
"""Inches; about the kerf of a saw: the spaces take up what is less, and no board is ripped for it. Common
practice, no source."""

LEAST_TOLD = 1 / 32
"""Inches; half of what ripped widths are told to: a board narrower by no more is a whole one (own choice)."""


def is_ripped(width: Floats, whole: float) -> Truths:
    """Which boards (n,) of a `width` (in) are ripped, where a `whole` one (in) is as wide as that."""
    return np.asarray(width < whole - LEAST_TOLD - ROUNDING)


class Slots(Struct, frozen=True, kw_only=True, eq=False):
    """Left and right edge of every picket, (n,) each, stations in inches, in order along the run."""

    left: Floats
    right: Floats

    def __len__(self) -> int:
        return len(self.left)

    @property
    def width(self) -> Floats:
        """Width of each picket (in)."""
        return self.right - self.left

    @property
    def centre(self) -> Floats:
        """Station of each picket's middle (in)."""
        return (self.left + self.right) / 2


def fill_stretch(start: float, end: float, width: float, spacing: float, fit: Fit) -> Slots:
    """Slots that fill one stretch.

    `start`, `end`: stations of its ends (in); `width`: actual width of a picket (in); `spacing`: wanted
    space edge to edge (in); `fit`: how a whole number is made to fit. A stretch narrower than one picket
    takes one picket ripped to its length. Result: slots flush at both ends, but for the two rips, which may
    leave less than one spacing at the far end. With a rip the spaces take what is too little for a last board
    (LEAST_BOARD) or for two rips (LEAST_OFF), and give what is too little to rip off one; with no space to
    give the last board is narrower by that, and a picket alone leaves at its end what is too little for
    another. Source: own derivation; the rule that an end rip is at least half a board is common practice, no
    source.
    """
    length = end - start
    if length < width + ROUNDING:
        return Slots(left=np.array([start]), right=np.array([end]))
    if fit is Fit.EVEN_GAPS:
        return _even_gaps(start, end, width, spacing)
    full = math.floor((length + spacing) / (width + spacing) + ROUNDING)
    rest = length - full * (width + spacing)
    if rest < (LEAST_OFF if fit is Fit.RIP_BOTH_ENDS and width >= 2 * LEAST_BOARD else LEAST_BOARD):
        return _row(start, end, np.full(full, width), spacing + max(0.0, rest) / max(full - 1, 1))
    lack = width - rest
    if lack < LEAST_OFF and lack <= spacing * full:
        return _row(start, end, np.full(full + 1, width), spacing - lack / full)
    if fit is Fit.RIP_BOTH_ENDS and rest < width / 2:
        end_width = (width + rest) / 2
        return _row(start, end, np.concatenate([[end_width], np.full(full - 1, width), [end_width]]), spacing)
    return _row(start, end, np.append(np.full(full, width), rest), spacing)


def even_gap_count(length: float, width: float, spacing: float) -> int:
    """Number of pickets at the wanted spacing, to the nearest whole one, that even gaps spread over a length.

    `length`, `width`, `spacing` in inches; one picket fewer where the gap would be negative. A short stretch
    takes a gap far from the one wanted.
    """
    count = max(1, math.floor((length + spacing) / (width + spacing) + 0.5))
    return count - 1 if count > 1 and count * width > length + ROUNDING else count


def _even_gaps(start: float, end: float, width: float, spacing: float) -> Slots:
    """Pickets flush at both ends; the last stands at `end` itself, which start + length may just pass."""
    length = end - start
    count = even_gap_count(length, width, spacing)
    if count == 1:
        left = np.array([max(start, start + (length - width) / 2)])
        return Slots(left=left, right=np.minimum(left + width, end))
    gap = max(0.0, (length - count * width) / (count - 1))
    left = np.asarray(start + np.arange(count) * (width + gap), dtype=float)
    right = np.asarray(left + width, dtype=float)
    right[-1] = end
    left[-1] = right[-1] - width
    return Slots(left=left, right=right)


def _row(start: float, end: float, widths: Floats, spacing: float) -> Slots:
    """Pickets side by side from `start`, none past `end` by the rounding of the arithmetic."""
    right = np.asarray(start + np.cumsum(widths) + spacing * np.arange(len(widths)), dtype=float)
    left = np.maximum(right - widths, start)
    return Slots(left=np.asarray(left, dtype=float), right=np.minimum(right, end))


def closed_stretches(
    start: float, end: float, gates: Iterable[Gate], cuts: Iterable[float] = ()
) -> list[tuple[float, float]]:
    """The stretches of a run that pickets fill: what gates leave, divided at `cuts` (faces).

    All stations in inches. Stretches too narrow for a board are left out, and stay open.
    """
    edges = [start]
    for gate in sorted(gates, key=lambda g: g.station):
        edges += [gate.station, gate.end]
    edges.append(end)
    result = []
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        points = [a, *sorted(c for c in cuts if a < c < b), b]
        result += [(p, q) for p, q in pairwise(points) if q - p > LEAST_BOARD - ROUNDING]
    return result


def join_slots(parts: Iterable[Slots]) -> Slots:
    """Slots of several stretches as one row."""
    rows = list(parts)
    return as_one(rows) if rows else Slots(left=np.empty(0), right=np.empty(0))
