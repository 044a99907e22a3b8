"""Lines of straight pieces between corners, one a run, and the corners at which several of them meet."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.tops.asked import Corner, TopWish
from fencegrade.fence.tops.line_on_ground import (
    ToClear,
    corner_need,
    ground_and_boards,
    highest_over_chords,
)
from fencegrade.units.arrays import Floats, Indices

_LIGHT = 1e-6
"""What an inch of a corner counts at least, so that one with no board about it stands as low as it may."""

Meeting = tuple[tuple[int, int], tuple[int, int]]
"""Two corners that must have one height: (chain, corner) twice; corner -1 is the last."""


class Chain(Struct, frozen=True, kw_only=True, eq=False):
    """One line of straight pieces between corners; (n,) each, inches.

    `under`: what it has to clear by `height`; `x`: stations, ascending, a step as two equal ones; `lower`,
    `upper`: heights a corner may have; `weight`: how much an inch of each corner's height counts.
    """

    under: ToClear
    x: Floats
    lower: Floats
    upper: Floats
    weight: Floats
    height: float

    def __len__(self) -> int:
        return len(self.x)


def chain_over(wish: TopWish, x: Floats) -> Chain:
    """The chain of a run with corners at `x` (in), as low as ground and boards let it and without a ceiling.

    A corner's weight is the number of boards it bears.
    """
    under = ground_and_boards(wish.line, wish.slots, x)
    return Chain(
        under=under,
        x=x,
        lower=corner_need(under, x) + wish.least_height,
        upper=np.full(len(x), np.inf),
        weight=_shares(x, wish.slots.centre) + _LIGHT,
        height=wish.least_height,
    )


def highest_needed(chain: Chain) -> float:
    """The lowest height (in) at which one level line clears all of a chain."""
    flat = np.zeros(len(chain))
    over, _ = highest_over_chords(chain.under, chain.x, flat)
    return float(max(over.max() + chain.height, chain.lower.max()))


def _shares(x: Floats, stations: Floats) -> Floats:
    """How much each corner's height counts in the sum of heights at `stations`."""
    piece = np.clip(np.searchsorted(x, stations, side="right") - 1, 0, len(x) - 2)
    run = x[piece + 1] - x[piece]
    share = np.divide(stations - x[piece], run, out=np.zeros_like(stations), where=run > 0)
    return np.asarray(
        np.bincount(piece, 1 - share, minlength=len(x)) + np.bincount(piece + 1, share, minlength=len(x))
    )


def meetings_at(corners: Sequence[Corner]) -> list[Meeting]:
    """The last corner of one run's chain with the first of the next, for runs that join."""
    return [((a, -1), (b, 0)) for a, b in corners]


def corner_names(chains: Sequence[Chain], meetings: Sequence[Meeting]) -> list[Indices]:
    """A number for each corner of each chain, the same for corners that meet, from 0 on without a hole."""
    first = np.cumsum([0, *(len(c) for c in chains)])
    names = np.arange(first[-1])
    for one, other in meetings:
        a, b = (names[first[c] + (k if k >= 0 else len(chains[c]) + k)] for c, k in (one, other))
        names[names == max(a, b)] = min(a, b)
    _, names = np.unique(names, return_inverse=True)
    return np.split(names.astype(np.int64), first[1:-1])
