"""The ground below boards: bare, as surveyed, or finished, with soil laid on it.

 board         board
|     |       |     |
|     |  soil |     |
|_____|:::::::|_____|      finished: the soil's top where there is soil, else the ground
______.-'           `-.____ ground
"""

from typing import Protocol

import numpy as np
from msgspec import Struct

from fencegrade.ground.cubics import extremes_about_line, spread
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import SAME_LENGTH


class Below(Protocol):
    """What lies below boards (n,): elevations in inches."""

    @property
    def left(self) -> Floats:
        """Stations (n,) of the boards' left edges (in)."""

    @property
    def right(self) -> Floats:
        """Stations (n,) of their right edges (in)."""

    def at_edges(self) -> tuple[Floats, Floats]:
        """Elevation (n,) at the left and the right edge of each board, each on the board's side of a face."""

    def about(self, slope: Floats) -> tuple[Floats, Floats]:
        """Highest and lowest below each board about a line of `slope` (n,) through its left edge."""


class BareGround(Struct, frozen=True, kw_only=True, eq=False):
    """The ground as surveyed below boards; `left`, `right` (n,) their edges (in)."""

    line: GroundLine
    left: Floats
    right: Floats

    def at_edges(self) -> tuple[Floats, Floats]:
        """As `Below`. Errors: ValueError where a board lies outside the readings."""
        return self.line.elevation(self.left), self.line.elevation(self.right, before=True)

    def about(self, slope: Floats) -> tuple[Floats, Floats]:
        """As `Below`; exact. Errors: ValueError where a board lies outside the readings."""
        if not slope.any():
            return self.line.extremes(self.left, self.right)
        return extremes_about_line(self.line, self.left, self.right, slope)


class FinishedGround(Struct, frozen=True, kw_only=True, eq=False):
    """Ground with soil on it below boards (n,), by straight pieces (p,) of the soil's top.

    `left`, `right`: edges of the boards; `board`: which board a piece lies below; `start`, `end`: its
    stations there, pieces of one board meeting without a gap; `z_start`, `z_end`: its elevations, nowhere
    below the ground. All in inches.
    """

    line: GroundLine
    left: Floats
    right: Floats
    board: Indices
    start: Floats
    end: Floats
    z_start: Floats
    z_end: Floats

    def at_edges(self) -> tuple[Floats, Floats]:
        """As `Below`. Errors: ValueError where a board lies outside the readings."""
        left, right = self.line.elevation(self.left), self.line.elevation(self.right, before=True)
        starts = self.start <= self.left[self.board] + SAME_LENGTH
        ends = self.end >= self.right[self.board] - SAME_LENGTH
        np.maximum.at(left, self.board[starts], self.z_start[starts])
        np.maximum.at(right, self.board[ends], self.z_end[ends])
        return left, right

    def about(self, slope: Floats) -> tuple[Floats, Floats]:
        """As `Below`; exact. Errors: ValueError where a board lies outside the readings."""
        high, low = np.full(len(self.left), -np.inf), np.full(len(self.left), np.inf)
        origin, tilt = self.left[self.board], slope[self.board]
        for x, z in ((self.start, self.z_start), (self.end, self.z_end)):
            over = z - tilt * (x - origin)
            np.maximum.at(high, self.board, over)
            np.minimum.at(low, self.board, over)
        first, last = np.array(self.right), np.array(self.left)
        np.minimum.at(first, self.board, self.start)
        np.maximum.at(last, self.board, self.end)
        for a, b in ((self.left, first), (np.maximum(last, self.left), self.right)):
            bare = b - a > SAME_LENGTH
            if bare.any():
                found = extremes_about_line(self.line, a[bare], b[bare], slope[bare])
                down = slope[bare] * (a[bare] - self.left[bare])
                high[bare] = np.maximum(high[bare], found[0] - down)
                low[bare] = np.minimum(low[bare], found[1] - down)
        return high, low


def soil_below(
    line: GroundLine, left: Floats, right: Floats, soil: tuple[Floats, Floats, Floats, Floats]
) -> FinishedGround:
    """The finished ground below boards.

    `left`, `right` (n,): edges of the boards (in); `soil`: start, end (in), elevation at the start and at
    the end of the straight pieces (p,) of the soil's top, in order along the run and none over another.
    """
    start, end, z_start, z_end = soil
    first = np.searchsorted(end, left + SAME_LENGTH, side="right")
    past = np.maximum(np.searchsorted(start, right - SAME_LENGTH), first)
    board, piece = spread(first, past)
    a, b = np.maximum(start[piece], left[board]), np.minimum(end[piece], right[board])
    steep = (z_end - z_start)[piece] / (end - start)[piece]
    return FinishedGround(
        line=line,
        left=left,
        right=right,
        board=board.astype(np.int64),
        start=a,
        end=b,
        z_start=z_start[piece] + steep * (a - start[piece]),
        z_end=z_start[piece] + steep * (b - start[piece]),
    )
