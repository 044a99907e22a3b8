"""What the builder must see about a picket."""

from collections.abc import Iterator
from enum import StrEnum

from fencegrade.units.arrays import Truths


class PicketFlag(StrEnum):
    """A remark that goes with a picket on every sheet."""

    STANDS = "stands"
    NO_STOCK = "no stock long enough"
    OVER_HEIGHT = "over height"
    GAP = "scribe or fill"
    NO_SOIL = "no soil"
    RIPPED = "rip"
    SLIVER = "sliver"
    KEPT_OPEN = "kept open"
    MARK_IN_PLACE = "mark in place"


Flags = dict[PicketFlag, Truths]


def flags_of(flags: Flags, index: int) -> list[str]:
    """The flags of one picket, in the order of `PicketFlag`."""
    return [str(flag) for flag in PicketFlag if flag in flags and bool(flags[flag][index])]


def every_flags(flags: Flags, count: int) -> Iterator[list[str]]:
    """The flags of each of `count` pickets in turn, as `flags_of` gives them one by one."""
    marked = [(str(flag), flags[flag]) for flag in PicketFlag if flag in flags and flags[flag].any()]
    for i in range(count):
        yield [text for text, marks in marked if marks[i]]
