"""Boards the ground leaves in doubt: how to mark them where they stand, and the lengths to expect."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.ground.advice import FROM_CHART
from fencegrade.planning.plan import FencePlan
from fencegrade.units.words import Words, numbers

LIKELY = 0.95
"""Chance with which a board marked in place comes to a length in the range told."""


def ground_halves(plan: FencePlan) -> list[ArrayLike]:
    """Run by run, (n,) half the width (in) of the range the ground under each picket is likely in."""
    return [r.ground.profile.spread.at(r.slots.centre).half_width(LIKELY) for r in plan.runs]


def mark_in_place_lines(plan: FencePlan, halves: Sequence[ArrayLike]) -> Iterator[str]:
    """How to mark the boards that the ground leaves in doubt, and the length each is likely to come to.

    `halves`: as `ground_halves`. Nothing where no board carries the flag.
    """
    blocks = [list(_run_marks(plan, k, np.asarray(half, dtype=float))) for k, half in enumerate(halves)]
    if not any(blocks):
        return
    yield "Mark in place: the ground there is not known well enough to cut from the chart"
    yield f"  (a chance over {FROM_CHART:.0%} that the board stands too close or too high)"
    yield "  1. leave the board long; hold it plumb in its place with its tip at the string"
    yield "  2. with a block of the clearance's height on the ground, run a pencil along it on the board"
    yield "  3. take it down and cut to the mark, the bottom end alone; coat the cut of a treated board"
    yield "  lengths to expect, in 95 of 100:"
    for block in blocks:
        yield from (f"    {line}" for line in block)


def _run_marks(plan: FencePlan, index: int, half: np.ndarray) -> Iterator[str]:
    run, words, mark = plan.runs[index], Words.of(plan.job.job), plan.mark
    flagged = np.flatnonzero(run.flags.get(PicketFlag.MARK_IN_PLACE, np.zeros(len(run.slots), dtype=bool)))
    for group in np.split(flagged, np.flatnonzero(np.diff(flagged) > 1) + 1):
        if not len(group):
            continue
        kept, reach = run.full[group] * mark, half[group]
        low, high = float((kept - reach).min()), float((kept + reach).max())
        which = numbers([int(i) + 1 for i in group])
        start, end = words.station(run.slots.left[group[0]]), words.station(run.slots.right[group[-1]])
        yield (
            f"{run.run.name}, {'picket' if len(group) == 1 else 'pickets'} {which} ({start} to {end}): "
            f"{words.length(low)} to {words.length(high)}"
        )
