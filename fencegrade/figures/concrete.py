"""Concrete in bags: what one yields."""

from dataclasses import dataclass

from fencegrade.figures.sources import Mark, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class BagYield:
    """One bag size: weight (lb), mixed volume (cubic feet)."""

    weight: float
    volume: float
    source: Source


_SEEN = Source(document="trade article on columns and posts", mark=Mark.SEEN)
_MEMORY = Source(document="makers' data sheets", mark=Mark.MEMORY)

BAGS = (
    BagYield(weight=40, volume=0.30, source=_SEEN),
    BagYield(weight=50, volume=0.375, source=_MEMORY),
    BagYield(weight=60, volume=0.45, source=_MEMORY),
    BagYield(weight=80, volume=0.60, source=_SEEN),
)

YIELD_PER_POUND = 0.0075
"""Cubic feet of mixed concrete a pound of dry mix; every bag of the table agrees. Read the bag."""

CUBIC_YARD = 27.0
"""Cubic feet."""

ONE_PERSON_LIFT = 51.0
"""Pounds, the ideal-case lifting limit of the NIOSH equation; heavier is a lift for two, or a cart."""

LIFT_SOURCE = Source(document="NIOSH lifting equation, load constant", mark=Mark.SEEN)


def bag_yield(weight: float) -> float:
    """Mixed volume (cubic feet) of a bag of ordinary ready-to-use mix of a weight (lb)."""
    return weight * YIELD_PER_POUND
