"""What soil weighs, by how tightly it lies, and the volumes that follow."""

from dataclasses import dataclass

from fencegrade.figures.sources import Mark, Source

CUBIC_FEET_IN_YARD = 27.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilWeight:
    """Pounds per cubic yard of one soil: in the ground (bank), dug and loose, and compacted."""

    material: str
    bank: float
    loose: float
    compacted: float
    source: Source


SOIL_WEIGHTS = (
    SoilWeight(
        material="sand and clay",
        bank=3400,
        loose=2700,
        compacted=3750,
        source=Source(
            document="worked earthwork example, expertsmind.com; compacted weight taken from clay",
            mark=Mark.SEEN,
        ),
    ),
    SoilWeight(
        material="clay",
        bank=3000,
        loose=2310,
        compacted=3750,
        source=Source(document="Nunnally, Construction Methods and Management, soil table", mark=Mark.MEMORY),
    ),
)

LOOSE_POUNDS_PER_CUBIC_FOOT = SOIL_WEIGHTS[0].loose / CUBIC_FEET_IN_YARD
"""Weight taken for delivered soil: 100 lb a cubic foot; damp soil weighs more."""
