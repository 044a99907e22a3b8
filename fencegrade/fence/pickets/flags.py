"""What the builder must see about a picket."""

from collections.abc import Iterator
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Truths = NDArray[np.bool_]


class PicketFlag(StrEnum):
    """A remark that goes with a picket on every sheet."""

    NO_STOCK = "no stock long enough"
    OVER_HEIGHT = "over height"
    GAP = "scribe or fill"
    RIPPED = "rip"
    SLIVER = "sliver"
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


def picket_numbers(indices: NDArray[np.intp]) -> str:
    """Picket numbers as ranges, from ascending indices: `pickets 3-7, 9`; shortened after six ranges."""
    groups = np.split(indices, np.flatnonzero(np.diff(indices) > 1) + 1)
    texts = [str(g[0] + 1) if len(g) == 1 else f"{g[0] + 1}-{g[-1] + 1}" for g in groups]
    rest = len(texts) - 6
    more = f" and {rest} more stretch{'es' if rest > 1 else ''}" if rest > 0 else ""
    return ("picket " if len(indices) == 1 else "pickets ") + ", ".join(texts[:6]) + more
