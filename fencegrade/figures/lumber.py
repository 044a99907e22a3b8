"""Dressed sizes of softwood lumber by nominal size."""

from enum import StrEnum

from msgspec import Struct

from fencegrade.figures.sources import Mark, Source


class LumberSize(Struct, frozen=True, kw_only=True):
    """Least dressed size of a nominal size, inches, dry."""

    nominal: str
    thickness: float
    width: float


DRY_SOURCE = Source(document="American Softwood Lumber Standard PS 20, dry sizes", mark=Mark.RESTATED)

_ROWS = (
    ("1x4", 0.75, 3.5),
    ("1x6", 0.75, 5.5),
    ("1x8", 0.75, 7.25),
    ("1x10", 0.75, 9.25),
    ("5/4x6", 1.0, 5.5),
    ("2x4", 1.5, 3.5),
    ("2x6", 1.5, 5.5),
    ("2x8", 1.5, 7.25),
    ("4x4", 3.5, 3.5),
    ("4x6", 3.5, 5.5),
    ("6x6", 5.5, 5.5),
)

LUMBER = {name: LumberSize(nominal=name, thickness=t, width=w) for name, t, w in _ROWS}
"""By nominal size. Fence pickets are a trade product, often 5/8 in thick, and not of these sizes."""


class WoodWeight(Struct, frozen=True, kw_only=True):
    """What a kind of wood weighs when it is bought: specific gravity at a moisture content (share)."""

    gravity: float
    moisture: float
    source: Source

    @property
    def pounds(self) -> float:
        """Pounds a cubic foot, water and all: gravity x 62.4 x (1 + moisture)."""
        return self.gravity * WATER_POUNDS * (1 + self.moisture)


WATER_POUNDS = 62.4
"""Pounds a cubic foot of water."""


class Wood(StrEnum):
    """Wood as a yard sells it."""

    GROUND_CONTACT = "treated for ground contact"
    TREATED = "treated, above ground"
    SOFTWOOD = "untreated softwood"
    CEDAR = "redwood or cedar"


_HANDBOOK = "USDA Wood Handbook FPL-GTR-282, table 5-3"

_WET = WoodWeight(
    gravity=0.47,
    moisture=0.70,
    source=Source(
        document=f"{_HANDBOOK}, loblolly pine, green; at 70 % moisture as it leaves the treater, common "
        f"practice",
        mark=Mark.MEMORY,
    ),
)

WOOD_WEIGHTS = {
    Wood.GROUND_CONTACT: _WET,
    Wood.TREATED: _WET,
    Wood.SOFTWOOD: WoodWeight(
        gravity=0.51,
        moisture=0.12,
        source=Source(document=f"{_HANDBOOK}, loblolly pine, 12 %", mark=Mark.MEMORY),
    ),
    Wood.CEDAR: WoodWeight(
        gravity=0.40,
        moisture=0.12,
        source=Source(
            document=f"{_HANDBOOK}, old-growth redwood, the heaviest of them, 12 %", mark=Mark.MEMORY
        ),
    ),
}
"""Treated wood by southern pine; cedars weigh less than the redwood they are counted as."""

USE_CATEGORIES = {Wood.GROUND_CONTACT: "UC4A", Wood.TREATED: "UC3B"}
USE_SOURCE = Source(document="AWPA standard U1, use categories", mark=Mark.MEMORY)
"""What a treated board's end tag says, by use."""

_NEAR = 1 / 32
_THINNEST_ONE = 0.5
"""Inches: fence boards from this to 3/4 thick are sold by a nominal thickness of 1: common practice,
no source."""


def nominal_size(thickness: float, width: float) -> str | None:
    """The name a dressed size (in) is sold by, whichever way it is turned; None where it has none."""
    small, large = sorted((thickness, width))
    for size in LUMBER.values():
        thin = abs(size.thickness - small) < _NEAR or (
            size.nominal.startswith("1x") and _THINNEST_ONE <= small < size.thickness
        )
        if thin and abs(size.width - large) < _NEAR:
            return size.nominal
    return None
