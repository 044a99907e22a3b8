"""How pickets stand on the rails: one row, two rows on one face, or one row on each face.

side by side       ====  ====  ====      one row, gaps between
                   ----------------      rail
board on board        ====    ====       front row covers the gaps of the back row, on one face
                   ====    ====    ====
                   --------------------  rail
shadowbox          ====    ====    ====  one row on each face, each facing the other's gaps
                   --------------------  rail
                       ====    ====
"""

import math

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots, fill_stretch, join_slots
from fencegrade.job.choices import Fit, Pattern
from fencegrade.units.arrays import Indices, some_of

DEFINITIONS = {
    Pattern.SIDE_BY_SIDE: "Side by side: one row of pickets on one face of the rails.",
    Pattern.BOARD_ON_BOARD: "Board on board: two rows on the same face; the front row covers the gaps of the "
    "back row, which is nailed to the rails first.",
    Pattern.SHADOWBOX: "Shadowbox: one row on each face of the rails; pickets of one face stand before the "
    "gaps of the other.",
}
"""Practice swaps the last two names: the drawing decides."""

_ROWS = {Pattern.BOARD_ON_BOARD: ("back row", "front row"), Pattern.SHADOWBOX: ("first face", "other face")}


def row_names(pattern: Pattern) -> tuple[str, ...]:
    """What the two rows of a pattern are called wherever they are told; none where there is one row."""
    return _ROWS.get(pattern, ())


def in_the_way(pattern: Pattern, number: int) -> tuple[str, str]:
    """Why picket `number`, of the row that covers the gaps of the other, is not measured, and what is."""
    leads, follows = row_names(pattern)
    found = f"picket {number} is of the {follows}, which follows the {leads}"
    return found, f"one of the {leads}, {number - 1} or {number + 1}"


class Facing(Struct, frozen=True, kw_only=True, eq=False):
    """The rows of a stretch, inches: `first` runs flush to both ends, `second` covers its gaps."""

    first: Slots
    second: Slots

    def in_order(self) -> tuple[Slots, Indices]:
        """The pickets of both rows in order along the run, and the row of each, (n,) 0 or 1."""
        slots = join_slots([self.first, self.second])
        row = np.repeat([0, 1], [len(self.first), len(self.second)])
        order = np.argsort(slots.left, kind="stable")
        return some_of(slots, order), row[order]


def lay_pattern(pattern: Pattern, start: float, end: float, width: float, spacing: float, fit: Fit) -> Facing:
    """The rows that fill a stretch.

    `start`, `end`: stations of its ends (in); `width` of a picket (in); `spacing`: within one row, edge to
    edge (in). With two rows the second has a picket centred on every gap of the first, ripped where it would
    stand out past an end beside a narrow last picket.
    Source: own derivation; overlap (width - spacing)/2 and about 2 L/(width + spacing) pickets.
    """
    first = fill_stretch(start, end, width, spacing, fit)
    if pattern is Pattern.SIDE_BY_SIDE:
        return Facing(first=first, second=Slots(left=np.empty(0), right=np.empty(0)))
    middle = (first.right[:-1] + first.left[1:]) / 2
    left, right = np.maximum(middle - width / 2, start), np.minimum(middle + width / 2, end)
    return Facing(first=first, second=Slots(left=left, right=right))


def hidden_angle(overlap: float, between: float) -> float:
    """How far from straight on (radians) one must look to see through.

    `overlap` of a picket on its neighbour in the other row, negative for an open gap, and thickness `between`
    the two rows' inner faces (in). Zero where straight on shows through; a quarter turn where the rows touch
    and overlap. Source: own derivation, atan(overlap / between).
    """
    return math.atan2(overlap, between) if overlap > 0 else 0.0
