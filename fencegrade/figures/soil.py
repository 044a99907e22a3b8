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

    @property
    def swell(self) -> float:
        """Share by which it grows when dug: loose volume over bank volume, less one."""
        return self.bank / self.loose - 1

    @property
    def shrinkage(self) -> float:
        """Share by which it shrinks when tamped, of its volume in the ground."""
        return 1 - self.bank / self.compacted

    @property
    def load_factor(self) -> float:
        """Bank volume over loose volume."""
        return self.loose / self.bank

    @property
    def loose_factor(self) -> float:
        """Loose volume over compacted volume."""
        return self.compacted / self.loose


SOIL_WEIGHTS = (
    SoilWeight(
        material="sand and clay",
        bank=3400,
        loose=2700,
        compacted=3750,
        source=Source(document="worked earthwork example; compacted weight taken from clay", mark=Mark.SEEN),
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
