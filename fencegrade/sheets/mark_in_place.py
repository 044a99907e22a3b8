"""Boards the ground leaves in doubt: how to mark them where they stand, and the lengths to expect."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.ground.advice import SURE, board_deviation
from fencegrade.planning.plan import TOLERANCE, FencePlan
from fencegrade.sheets.words import Words, numbers

MARGIN = 2.0
"""How many standard deviations of the ground the range to expect spans each way: 95 in 100."""


def ground_deviations(plan: FencePlan) -> list[ArrayLike]:
    """Run by run, the (n,) standard deviation (in) of the ground under each picket."""
    return [
        board_deviation(r.ground.profile, r.slots.left, r.slots.right) if len(r.slots) else np.zeros(0)
        for r in plan.runs
    ]


def mark_in_place_lines(plan: FencePlan, deviations: Sequence[ArrayLike]) -> Iterator[str]:
    """How to mark the boards that the ground leaves in doubt, and the length each is likely to come to.

    `deviations`: run by run, (n,) standard deviation (in) of the ground under each picket. Nothing where no
    board carries the flag.
    """
    words = Words.of(plan.job.job)
    blocks = [list(_run_marks(plan, k, np.asarray(sd, dtype=float))) for k, sd in enumerate(deviations)]
    if not any(blocks):
        return
    yield "Mark in place: the ground there is not known well enough to cut from the chart"
    yield f"  (a chance over {SURE:.0%} of being off by more than {words.length(TOLERANCE)})"
    yield "  1. leave the board long; hold it plumb in its place with its tip at the string"
    yield "  2. with a block of the clearance's height on the ground, run a pencil along it on the board"
    yield "  3. take it down and cut to the mark, the bottom end alone; coat the cut of a treated board"
    yield "  lengths to expect, in 95 of 100:"
    for block in blocks:
        yield from (f"    {line}" for line in block)


def _run_marks(plan: FencePlan, index: int, deviation: np.ndarray) -> Iterator[str]:
    run, words, mark = plan.runs[index], Words.of(plan.job.job), plan.mark
    flagged = np.flatnonzero(run.flags.get(PicketFlag.MARK_IN_PLACE, np.zeros(len(run.slots), dtype=bool)))
    for group in np.split(flagged, np.flatnonzero(np.diff(flagged) > 1) + 1):
        if not len(group):
            continue
        kept, reach = run.full[group] * mark, MARGIN * deviation[group]
        low, high = float((kept - reach).min()), float((kept + reach).max())
        which = numbers([int(i) + 1 for i in group])
        start, end = words.station(run.slots.left[group[0]]), words.station(run.slots.right[group[-1]])
        yield (
            f"{run.run.name}, {'picket' if len(group) == 1 else 'pickets'} {which} ({start} to {end}): "
            f"{words.length(low)} to {words.length(high)}"
        )
