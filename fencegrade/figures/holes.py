"""Trade rules for post holes."""

from fencegrade.figures.sources import PRACTICE, Mark, Source

SHARE_IN_GROUND = 1 / 3
"""Share of a post's whole length that stands in the ground."""

SHARE_SOURCE = Source(document="home-repair broadcaster's database, item 2094", mark=Mark.SEEN)

HOLE_FOR_CONCRETE = 3.0
HOLE_FOR_TAMPED_EARTH = 2.0
"""Hole diameter over post width."""

HOLE_SOURCE = Source(document="home-repair broadcaster's database, item 2094", mark=Mark.SEEN)

GATE_POST_DEEPER = 6.0
"""Inches that a gate post goes deeper than a line post."""

GATE_POST_SOURCE = Source(document="two how-to articles", mark=Mark.SEEN)

GRAVEL = 6.0
"""Inches of gravel under a post."""

GRAVEL_SOURCE = PRACTICE
