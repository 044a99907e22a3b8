"""Trade rules for post holes."""

from fencegrade.figures.sources import PRACTICE, Mark, Source
from fencegrade.units import UnitSystem

SHARE_IN_GROUND = 1 / 3
"""Share of a post's whole length that stands in the ground."""

SHARE_SOURCE = Source(document="joneakes.com, home-repair database, item 2094", mark=Mark.SEEN)

NEAR_SHARE = 0.05
"""How near under a third still passes for it: common practice, no source; a quarter to a third is usual."""

COMMON_AUGER = {UnitSystem.IMPERIAL: 36.0, UnitSystem.METRIC: 900 / 25.4}
"""Inches that a common power auger drills without an extension, where tools are sold by inches or by
millimetres: common practice, no source."""

ROUND_THE_POST = 4.0
"""Inches that a hole filled with concrete is wider than its post's diagonal."""

ROUND_SOURCE = Source(document="International Building Code 1807.3.3", mark=Mark.MEMORY)

HOLE_FOR_TAMPED_EARTH = 2.0
"""Hole diameter over post width."""

GATE_POST_DEEPER = 6.0
"""Inches that a gate post goes deeper than a line post."""

GATE_POST_SOURCE = PRACTICE

GRAVEL = 6.0
"""Inches of gravel under a post."""

GRAVEL_SOURCE = PRACTICE
