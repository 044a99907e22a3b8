"""Concrete in bags: what one yields."""

from msgspec import Struct

from fencegrade.figures.sources import PRACTICE, Mark, Source


class BagYield(Struct, frozen=True, kw_only=True):
    """One bag size: weight (lb), mixed volume (cubic feet)."""

    weight: float
    volume: float
    source: Source


BAGS = (
    BagYield(weight=40, volume=0.30, source=PRACTICE),
    BagYield(weight=50, volume=0.375, source=PRACTICE),
    BagYield(weight=60, volume=0.45, source=PRACTICE),
    BagYield(weight=80, volume=0.60, source=PRACTICE),
)

YIELD_PER_POUND = 0.0075
"""Cubic feet of mixed concrete a pound of dry mix; every bag of the table agrees. Read the bag."""

CUBIC_YARD = 27.0
"""Cubic feet."""

ONE_PERSON_LIFT = 51.0
"""Pounds, the ideal-case lifting limit of the NIOSH equation; heavier is a lift for two, or a cart."""

LIFT_SOURCE = Source(document="NIOSH publication 94-110, lifting equation, load constant", mark=Mark.MEMORY)


WATER_PER_POUND = 3.0 / 4 / 80
"""US gallons of water to begin with for a pound of dry mix: three quarts for 80 lb. Read the bag."""

WATER_SOURCE = Source(document="makers' data sheets, least water for 80 lb", mark=Mark.MEMORY)

GRAVEL_WEIGHT = 100.0
"""Pounds a cubic foot of loose gravel, as a bag of 50 lb holds half a cubic foot."""

GRAVEL_SOURCE = Source(document="makers' data sheets, bag of 50 lb of all-purpose gravel", mark=Mark.MEMORY)


def bag_yield(weight: float) -> float:
    """Mixed volume (cubic feet) of a bag of ordinary ready-to-use mix of a weight (lb)."""
    return weight * YIELD_PER_POUND
