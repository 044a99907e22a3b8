"""Boards cut alike: lengths brought to as few settings of the stop as their gaps and the ground allow."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.low_ground.choice import RunClosing
from fencegrade.fence.pickets.cuts import Cuts
from fencegrade.fence.pickets.stop_settings import fewest_settings
from fencegrade.fence.stock import NO_STOCK, Needs, StockChoice
from fencegrade.planning.doubt import STILL_SURE, GroundUnder
from fencegrade.planning.layout import RunLayout, Standing
from fencegrade.units.arrays import Indices, Marks, Truths


def kinds_of(cuts: Cuts) -> Marks:
    """(n,) boards of one kind may share a setting: those whose two sides differ by as much."""
    return np.asarray(cuts.kept_left - cuts.kept_right, dtype=np.int64)


def keep_listed(
    layouts: Sequence[RunLayout],
    closings: Sequence[RunClosing],
    needs: Needs,
    choice: StockChoice,
    most_chance: float,
) -> tuple[StockChoice, Truths, Truths]:
    """The same stock, with boards that may be cut already by their list; which (n,) those are, and which are
    of a run that has a list.

    As `cut_alike`. A board keeps the length it has on its list where that is no longer than it is to be,
    leaves no more open than it may, and is sure enough. Source: own derivation.
    """
    kept, held = choice.kept.copy(), np.zeros(len(choice.kept), dtype=bool)
    listing = held.copy()
    for here, layout, closing in _by_run(layouts, closings):
        listed = _listed(layout, needs.mark)
        if not listed.any():
            continue
        ground = GroundUnder.of(layout, closing, needs.mark)
        chance = ground.chance(kept[here])
        known = (listed > 0) & (listed <= kept[here]) & _from_chart(layout, choice.stock[here])
        known &= chance <= most_chance
        serves = ground.shortest(kept[here], needs.least[here], np.maximum(chance, most_chance), known)
        held[here] = known & (listed >= serves)
        kept[here], listing[here] = np.where(held[here], listed, kept[here]), True
    return replace(choice, kept=kept), held, listing


def cut_alike(
    layouts: Sequence[RunLayout],
    closings: Sequence[RunClosing],
    needs: Needs,
    choice: StockChoice,
    most_chance: float,
    among: Truths,
) -> StockChoice:
    """The same stock, with what is kept of boards brought to as few lengths as can be.

    layouts, closings: run by run the pickets over their ground, and what closes it; needs, choice: of all
    runs in order, one picket a board; most_chance: up to which a board is cut from the chart. No board
    becomes longer, none leaves its gap or its stock, and those that are not `among` (n,) them, are left
    whole, marked or measured in place stay as they are. Source: own derivation.
    """
    kept, mark = choice.kept.copy(), needs.mark
    least, kinds = np.zeros_like(kept), np.zeros_like(kept)
    may = np.zeros(len(kept), dtype=bool)
    lengths = np.append(choice.lengths, 0)[choice.stock]
    for here, layout, closing in _by_run(layouts, closings):
        off = kinds_of(closing.full)
        ground = GroundUnder.of(layout, closing, mark)
        chance = ground.chance(kept[here])
        whole = (kept[here] == lengths[here]) & (off == 0)
        may[here] = _from_chart(layout, choice.stock[here]) & (chance <= most_chance) & ~whole & among[here]
        limit = np.maximum(chance, STILL_SURE * most_chance)
        least[here] = ground.shortest(kept[here], needs.least[here], limit, may[here])
        kinds[here] = off
    kept[may] = fewest_settings(kept[may], least[may], kinds[may])
    return replace(choice, kept=kept)


def _by_run(
    layouts: Sequence[RunLayout], closings: Sequence[RunClosing]
) -> Iterator[tuple[slice, RunLayout, RunClosing]]:
    """Runs with pickets, and the places of those among all."""
    start = 0
    for layout, closing in zip(layouts, closings, strict=True):
        here = slice(start, start + len(layout.slots))
        start = here.stop
        if here.start < here.stop:
            yield here, layout, closing


def _from_chart(layout: RunLayout, stock: Indices) -> Truths:
    """Pickets (n,) of a run that have a board and are not cut by a measure taken in place."""
    return np.asarray((stock != NO_STOCK) & ~layout.measured)


def listed_marks(standing: Standing, mark: float) -> Marks:
    """Lengths (n,) on the list that boards to come may be cut by already, in tape marks; 0 for none."""
    return np.round(np.nan_to_num(standing.cut) / mark).astype(np.int64)


def held_to_list(cuts: Cuts, eased: Cuts, listed: Marks) -> Cuts:
    """The cuts at full length, those of boards that the list has a mark longer by it where `eased` allows.

    `cuts`: over the clearance wanted; `eased`: over a clearance less by what nobody sets out to; `listed`:
    (n,) as `listed_marks`. So no board is cut again for a hair. Source: own derivation.
    """
    held = (listed == cuts.kept + 1) & (listed == eased.kept)
    if not held.any():
        return cuts
    return Cuts(**{n: np.where(held, getattr(eased, n), getattr(cuts, n)) for n in Cuts.__struct_fields__})


def _listed(layout: RunLayout, mark: float) -> Marks:
    """Lengths (n,) on the list that boards to come may be cut from already; 0 where there is none."""
    standing = layout.standing
    return np.zeros(len(layout.slots), dtype=np.int64) if standing is None else listed_marks(standing, mark)
