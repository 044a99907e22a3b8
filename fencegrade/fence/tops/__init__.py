"""The five top families: level, sloped, stepped, racked and contour."""

from fencegrade.fence.tops.asked import Proof, TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.contour import choose_contour, contour_top
from fencegrade.fence.tops.joined import CornerStep, choose_joined, corner_remarks, corner_steps
from fencegrade.fence.tops.level import choose_level, level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.racked import choose_racked, rail_end_angles
from fencegrade.fence.tops.sloped import choose_sloped, sloped_top
from fencegrade.fence.tops.stepped import choose_stepped
from fencegrade.fence.tops.stepped_slots import stepped_slots
from fencegrade.fence.tops.string_heights import StringHeights, string_heights
from fencegrade.fence.tops.styles import choose_top

__all__ = [
    "CornerStep",
    "Proof",
    "StringHeights",
    "TopChoice",
    "TopLimits",
    "TopLine",
    "TopWish",
    "choose_contour",
    "choose_joined",
    "choose_level",
    "choose_racked",
    "choose_sloped",
    "choose_stepped",
    "choose_top",
    "contour_top",
    "corner_remarks",
    "corner_steps",
    "level_top",
    "rail_end_angles",
    "sloped_top",
    "stepped_slots",
    "string_heights",
]
