"""What loose soil weighs, and how much of it a tamped fill takes."""

from fencegrade.figures.sources import Mark, Source

LOOSE_POUNDS_PER_CUBIC_FOOT = 100.0
"""Weight taken for delivered soil, common practice, no source; damp soil weighs more."""

COMPACTED_TO_LOOSE = 1.39
"""Loose volume over that of common earth tamped; over undisturbed ground it would be 1.25."""

SWELL_SOURCE = Source(
    document="US Army FM 5-434 (2000), chapter 1, soil conversion factors", mark=Mark.MEMORY
)
