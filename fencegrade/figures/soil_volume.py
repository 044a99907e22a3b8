"""How soil swells when dug and shrinks when tamped."""

from dataclasses import dataclass

from fencegrade.figures.sources import Mark, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class SoilVolume:
    """Factors between volumes in the ground (bank), loose and compacted."""

    material: str
    bank_to_loose: float
    bank_to_compacted: float
    compacted_to_loose: float
    source: Source


_MANUAL = "US Army FM 5-434 (2000), chapter 1, soil conversion factors"

COMMON_EARTH = SoilVolume(
    material="common earth",
    bank_to_loose=1.25,
    bank_to_compacted=0.90,
    compacted_to_loose=1.39,
    source=Source(document=_MANUAL, mark=Mark.MEMORY),
)
"""Loose over undisturbed ground (bank) is 1.25, loose over tamped fill 1.39: an order for a fill needs
the latter."""

SOIL_VOLUMES = (
    SoilVolume(
        material="sand",
        bank_to_loose=1.11,
        bank_to_compacted=0.95,
        compacted_to_loose=1.17,
        source=Source(document=f"{_MANUAL}; in-place values quoted from a Navy manual", mark=Mark.RESTATED),
    ),
    COMMON_EARTH,
    SoilVolume(
        material="clay",
        bank_to_loose=1.43,
        bank_to_compacted=0.90,
        compacted_to_loose=1.59,
        source=Source(document=_MANUAL, mark=Mark.MEMORY),
    ),
)
