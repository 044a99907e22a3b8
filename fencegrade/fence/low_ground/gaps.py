"""Stretches of low ground under the pickets, and what is done about each."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import Floats


class GapAction(StrEnum):
    """What is done where the ground falls away."""

    NONE = "none"
    FILL = "fill"
    LONGER_BOARD = "longer board"
    LEAVE_OPEN = "leave open"
    KICKBOARD = "kickboard"


@dataclass(frozen=True, slots=True, kw_only=True)
class GapStretch:
    """Neighbouring pickets over low ground with one action; stations, depth in inches, volume in cubic feet.

    `deepest` is the open height there if the action were not taken; as it stands where there is none.
    """

    start: float
    end: float
    first: int
    last: int
    deepest: float
    action: GapAction
    fill_volume: float = 0.0


def gap_stretches(slots: Slots, open_height: Floats, actions: NDArray[np.str_]) -> tuple[GapStretch, ...]:
    """Neighbouring pickets of one action joined into stretches.

    `open_height`: (n,) gap under each picket were its action not taken (in); `actions`: (n,) `GapAction`
    texts, empty where no action is called for. `first` and `last` count pickets of the run from 1.
    """
    if len(actions) == 0:
        return ()
    edges = np.flatnonzero(actions[1:] != actions[:-1]) + 1
    firsts, pasts = np.concatenate([[0], edges]), np.concatenate([edges, [len(actions)]])
    return tuple(
        GapStretch(
            start=float(slots.left[a]),
            end=float(slots.right[b - 1]),
            first=int(a) + 1,
            last=int(b),
            deepest=float(open_height[a:b].max()),
            action=GapAction(actions[a]),
        )
        for a, b in zip(firsts, pasts, strict=True)
        if actions[a]
    )
