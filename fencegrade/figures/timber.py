"""Bending of timber posts: section moduli and design values."""

from msgspec import Struct

from fencegrade.figures.lumber import Wood
from fencegrade.figures.sources import Mark, Source

LARGE_TIMBER = 4.5
"""Inches, dressed: posts this thick and wide (nominal 5x5) are graded as timbers, thinner ones as dimension
lumber, whose value depends on the wider face.
"""


class BendingValue(Struct, frozen=True, kw_only=True):
    """Reference bending stress of a grade (psi) and its source."""

    grade: str
    stress: float
    source: Source


_DIMENSION = Source(document="NDS Supplement table 4B, since June 2013", mark=Mark.MEMORY)

SMALL_POSTS = tuple(
    (widest, BendingValue(grade=f"southern pine No. 2, {size}", stress=stress, source=_DIMENSION))
    for widest, size, stress in (
        (4.0, "2 to 4 in thick and wide", 1100),
        (6.0, "2 to 4 in thick, 5 and 6 in wide", 1000),
        (8.0, "2 to 4 in thick, 8 in wide", 925),
        (10.0, "2 to 4 in thick, 10 in wide", 800),
        (float("inf"), "2 to 4 in thick, 12 in wide", 750),
    )
)
"""Dimension lumber: the widest face (in) each value holds for."""

LARGE_POST = BendingValue(
    grade="southern pine No. 2, 5x5 and larger",
    stress=850,
    source=Source(document="NDS Supplement table 4D", mark=Mark.MEMORY),
)

CEDAR_POST = BendingValue(
    grade="western cedars No. 2, taken for every size",
    stress=475,
    source=Source(document="NDS Supplement table 4D, posts and timbers", mark=Mark.MEMORY),
)
"""Timbers of western cedars; thinner ones are graded as dimension lumber and carry more."""

WIND_DURATION = 1.6
"""Load duration factor CD for wind (see `DURATION_SOURCE`). The wet service factor CM is 1.0 for
dimension lumber
up to 1150 psi, and the value for timbers holds wet (notes of the same tables).
"""

DURATION_SOURCE = Source(document="NDS section 2.3.2, wind", mark=Mark.MEMORY)


def section_modulus(across: float, along: float) -> float:
    """Section modulus (in3) of a rectangular post.

    `across`: size (in) in the direction of the wind, `along`: size (in) along the fence. Source: geometry.
    """
    return along * across**2 / 6


def allowable_moment(across: float, along: float, wood: Wood = Wood.GROUND_CONTACT) -> float:
    """Allowable bending moment (ft lbf) of a post of common grade in wind, by size (in) as `section_modulus`.

    Source: `bending_value`, `WIND_DURATION`; no increase is taken for flat use.
    """
    return bending_value(across, along, wood).stress * WIND_DURATION * section_modulus(across, along) / 12


def is_another_wood(wood: Wood) -> bool:
    """Whether the value of a wood is southern pine's although it may well be a weaker one."""
    return wood is Wood.SOFTWOOD


def bending_value(across: float, along: float, wood: Wood = Wood.GROUND_CONTACT) -> BendingValue:
    """The reference value for a post of a size (in).

    Source: `SMALL_POSTS`, `LARGE_POST`; the lowest known of redwood and cedars, `CEDAR_POST`; southern
    pine's for treated posts, and for untreated softwood, of which none is known: see `is_another_wood`.
    """
    if wood is Wood.CEDAR:
        return CEDAR_POST
    if min(across, along) >= LARGE_TIMBER:
        return LARGE_POST
    return next(value for widest, value in SMALL_POSTS if max(across, along) <= widest)
