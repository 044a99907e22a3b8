"""Bending of timber posts: section moduli and design values."""

from dataclasses import dataclass

from fencegrade.figures.sources import Mark, Source

LARGE_TIMBER = 5.0
"""Inches: posts this thick and wide are graded as timbers, thinner ones as dimension lumber."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BendingValue:
    """Reference bending stress of a grade (psi) and its source."""

    grade: str
    stress: float
    source: Source


SMALL_POST = BendingValue(
    grade="southern pine No. 2, to 4x4",
    stress=1100,
    source=Source(document="NDS Supplement table 4B, since June 2013", mark=Mark.MEMORY),
)
LARGE_POST = BendingValue(
    grade="southern pine No. 2, 5x5 and larger",
    stress=850,
    source=Source(document="NDS Supplement table 4D", mark=Mark.MEMORY),
)
WIND_DURATION = 1.6
"""Load duration factor CD for wind; NDS, from memory. The wet service factor is 1.0 at these stresses."""

DURATION_SOURCE = Source(document="NDS section 2.3.2, wind", mark=Mark.MEMORY)


def section_modulus(across: float, along: float) -> float:
    """Section modulus (in3) of a rectangular post.

    `across`: size (in) in the direction of the wind, `along`: size (in) along the fence. Source: geometry.
    """
    return along * across**2 / 6


def allowable_moment(across: float, along: float) -> float:
    """Allowable bending moment (ft lbf) of a post of common grade in wind, by size (in) as `section_modulus`.

    Source: `SMALL_POST`, `LARGE_POST`, `WIND_DURATION`.
    """
    return bending_value(across, along).stress * WIND_DURATION * section_modulus(across, along) / 12


def bending_value(across: float, along: float) -> BendingValue:
    """The reference value that holds for a post of a size (in)."""
    return LARGE_POST if min(across, along) >= LARGE_TIMBER else SMALL_POST
