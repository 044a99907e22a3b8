"""Ground and wishes that tests of the top lines share."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.fence.slots import Slots, closed_stretches, fill_stretch, join_slots
from fencegrade.fence.stock_steps import board_cost
from fencegrade.fence.tops.asked import TopWish
from fencegrade.fence.tops.bay_slots import bay_slots
from fencegrade.fence.tops.bays import posts_within
from fencegrade.fence.tops.linear_programme import solve_chains
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import BottomCut, Fit
from fencegrade.job.records import Stock
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Numbers


def build(
    line: GroundLine,
    slots: Slots | None = None,
    least: float = 72.0,
    stock: Sequence[tuple[float, float | None]] = ((72, 3.6), (96, 6.1)),
    clearance: float = 2.0,
    most_gap: float = 2.0,
    mark: float = 0.125,
    posts: ArrayLike = (),
    cut: BottomCut = BottomCut.SQUARE,
    width: float = 5.5,
    **others: Any,
) -> TopWish:
    """A wish over the whole of a ground line, pickets some 1/4 in apart."""
    if slots is None:
        stretches = closed_stretches(line.start, line.end, (), line.faces)
        slots = join_slots(fill_stretch(a, b, width, 0.25, Fit.EVEN_GAPS) for a, b in stretches)
    n = len(slots)
    offered = [Stock(length=float(length), price=price) for length, price in stock]
    cost = board_cost(line, slots, np.full(n, clearance), np.full(n, most_gap), offered, cut, mark)
    return TopWish(
        name="paddock lane",
        line=line,
        slots=slots,
        start=line.start,
        end=line.end,
        least_height=least,
        cost=cost,
        mark=mark,
        units=UnitSystem.IMPERIAL,
        posts=np.array(posts, dtype=float),
        **others,
    )


def stepped_slots(
    posts: Numbers, width: float, spacing: float, closed: Sequence[tuple[float, float]] = ()
) -> Slots:
    """The slots of a stepped top between `posts`, in the stretches `closed` or in all of it."""
    parts, at = [], np.asarray(posts, dtype=float)
    for a, b in closed or ((float(at[0]), float(at[-1])),):
        edges = [a, *posts_within(a, b, at).tolist(), b]
        parts += [bay_slots(p, q, width, spacing) for p, q in pairwise(edges)]
    return join_slots(parts)


def solved(*question: Any) -> list[Floats]:
    """The heights of `solve_chains`, where there are some."""
    found = solve_chains(*question)
    assert found is not None
    return found
