"""How far to stay from overhead power lines."""

from fencegrade.figures.sources import Mark, Source

NEAREST = 120.0
"""Inches: ten feet for people without training in electrical work, up to 50 kV to ground; more above that."""

NEAREST_SOURCE = Source(
    document="US 29 CFR 1910.333(c)(3)(i), unqualified persons, 50 kV or less", mark=Mark.MEMORY
)
