"""Boards cut alike: lengths brought to as few settings of the stop as their gaps and the ground allow."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.pickets.cuts import Cuts, Marks, shortened
from fencegrade.fence.pickets.stop_settings import fewest_settings
from fencegrade.fence.stock import NO_STOCK, Needs, StockChoice
from fencegrade.ground.advice import FROM_CHART
from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.profile import Floats
from fencegrade.planning.run import boards_cut

STILL_SURE = 0.10
"""A board is made shorter for a setting only as far as its chance of standing outside its limits stays no
more than this, or than it is already: own choice, a third of what sends a board to be marked in place."""


def kinds_of(cuts: Cuts) -> Marks:
    """(n,) boards of one kind may share a setting: those whose two sides differ by as much."""
    return np.asarray(cuts.kept_left - cuts.kept_right, dtype=np.int64)


def cut_alike(
    lows: Sequence[LowRun],
    profiles: Sequence[GroundProfile],
    full: Sequence[Cuts],
    needs: Needs,
    choice: StockChoice,
) -> StockChoice:
    """The same stock, with what is kept of boards brought to as few lengths as can be.

    lows, profiles, full: run by run the pickets, the ground, and their cuts at full length over the finished
    ground; needs, choice: of all runs in order, one picket a board. No board becomes longer, none leaves its
    gap or its stock, and those that are left whole or marked in place stay as they are. Source: own
    derivation.
    """
    kept, mark = choice.kept.copy(), needs.mark
    least, kinds = np.zeros_like(kept), np.zeros_like(kept)
    may = np.zeros(len(kept), dtype=bool)
    lengths = np.append(choice.lengths, 0)[choice.stock]
    start = 0
    for low, profile, cuts in zip(lows, profiles, full, strict=True):
        here = slice(start, start + len(low.slots))
        start = here.stop
        if here.start == here.stop:
            continue
        off = kinds_of(cuts)
        ground = _Ground(low=low, profile=profile, cuts=cuts, mark=mark)
        chance = ground.chance(kept[here])
        whole = (kept[here] == lengths[here]) & (off == 0)
        may[here] = (choice.stock[here] != NO_STOCK) & ~whole & (chance <= FROM_CHART)
        least[here] = ground.shortest(kept[here], needs.least[here], np.maximum(chance, STILL_SURE))
        kinds[here] = off
    kept[may] = fewest_settings(kept[may], least[may], kinds[may])
    return replace(choice, kept=kept)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ground:
    """The pickets of one run over ground that is not known to the hair."""

    low: LowRun
    profile: GroundProfile
    cuts: Cuts
    mark: float

    def chance(self, kept: Marks) -> Floats:
        """Chance (n,) that boards of these lengths stand outside their limits."""
        cuts, zones = shortened(self.cuts, kept, self.mark), self.low.zones
        b = boards_cut(self.low.slots, self.cuts, zones)
        foot = b.foot + (cuts.bottom_left - self.cuts.bottom_left)
        return self.profile.chance_outside(b.left, b.right, foot, b.least, b.most, b.slope)

    def shortest(self, kept: Marks, least: Marks, limit: Floats) -> Marks:
        """The least length (n,), no less than `least`, at which the chance is within `limit`.

        A shorter board comes off the ground and then too far from it, so its chance falls and then rises: the
        lengths within the limit lie together, `kept` among them, and are halved to their end.
        """
        low, high = np.minimum(least, kept), kept.copy()
        sound = self.chance(low) <= limit
        high = np.where(sound, low, high)
        while bool((high - low > 1).any()):
            middle = (low + high) // 2
            sound = self.chance(middle) <= limit
            low, high = np.where(sound, low, middle), np.where(sound, middle, high)
        return np.asarray(high, dtype=np.int64)
