"""Dressed sizes of softwood lumber by nominal size."""

from dataclasses import dataclass

from fencegrade.figures.sources import Mark, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class LumberSize:
    """Least dressed size of a nominal size, inches, dry and green."""

    nominal: str
    thickness: float
    width: float
    green_thickness: float
    green_width: float


DRY_SOURCE = Source(
    document="American Softwood Lumber Standard PS 20, dry sizes, in a dealer's table", mark=Mark.RESTATED
)
GREEN_SOURCE = Source(document="American Softwood Lumber Standard PS 20, green sizes", mark=Mark.MEMORY)

_ROWS = (
    ("1x4", 0.75, 3.5, 25 / 32, 3.5625),
    ("1x6", 0.75, 5.5, 25 / 32, 5.625),
    ("1x8", 0.75, 7.25, 25 / 32, 7.5),
    ("1x10", 0.75, 9.25, 25 / 32, 9.5),
    ("5/4x6", 1.0, 5.5, 1 + 1 / 32, 5.625),
    ("2x4", 1.5, 3.5, 1.5625, 3.5625),
    ("2x6", 1.5, 5.5, 1.5625, 5.625),
    ("2x8", 1.5, 7.25, 1.5625, 7.5),
    ("4x4", 3.5, 3.5, 3.5625, 3.5625),
    ("4x6", 3.5, 5.5, 3.5625, 5.625),
    ("6x6", 5.5, 5.5, 5.5, 5.5),
)

LUMBER = {
    name: LumberSize(nominal=name, thickness=t, width=w, green_thickness=gt, green_width=gw)
    for name, t, w, gt, gw in _ROWS
}
"""By nominal size. Fence pickets are a trade product, often 5/8 in thick, and not of these sizes."""
