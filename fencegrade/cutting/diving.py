"""Diving: fix part of the relaxed plan, price the rest again, and finish with all fillings that may serve."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from random import Random

import numpy as np
from msgspec.structs import replace

from fencegrade.cutting.columns import Generator, Relaxation
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.master import ALMOST, Cuts, plunge
from fencegrade.cutting.model import Cut, Left, Model, ceil_of, plan_cost
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import Row, make_row

FEW = 5_000
"""Fillings listed for the last boards; with 2,500 dives took a tenth longer, with 12,000 a quarter."""
LIKELY, HALF = 0.6, 0.5
"""Part of a board in the relaxed plan from which the whole board is taken in a set, and in a first plan."""

FREED, MORE_FREED = 2.0, 1.1
"""Boards freed where a dive ends, for each that may be left to a listing; how that grows from turn to turn.

Of 60 sets of boards 56 were filled within 0.8 s, 42 within 0.2 s, where dives from the top filled 53 and 27.
"""

ROUNDS = 40
"""Programmes for what is left of a dive."""

TRIES = 6
"""Random costs for which the last boards are tried: the first finds a choice in four of five, at 10 to 30 ms
where an integer programme took 200 to 800.
"""


SHARE, SMALL, TURNS = 0.4, 14, 100
"""Share of the boards fixed at a time, boards left to a listing, and how often a dive may go on.

With 0.3 a sixth slower, with 0.5 a tenth quicker but for two sets of 60 that were not filled; with 30 boards
half as slow again.
"""

WORK = 800_000.0
"""Work of a dive; with 300,000 three lists of 500 lengths stayed at twice to ten times their gap."""


class Dive:
    """Fixes part of a plan, prices what is left, and so on down; then frees some boards and goes on.

    whole: the end of its column generation
    target: what the plan may cost
    rows: of the whole; the last fillings must meet those of the same values
    """

    def __init__(self, whole: Relaxation, target: int, rows: Sequence[Row] = ()) -> None:
        self.whole, self.target, self.rows = whole, target, rows
        self.effort = whole.generator.effort
        self.until = self.effort.spent + WORK
        self.several = sum(not bar.lacking for bar in whole.generator.model.bars) > 1
        self.cuts: list[Cut] = []
        self.chance = Random(1)

    @property
    def over(self) -> bool:
        """True once the work allowed is done."""
        return self.effort.over or self.effort.spent > self.until

    def run(self, turns: int = TURNS) -> tuple[Cut, ...] | None:
        """Go down, and again from a part of what was fixed, as long as there is work left."""
        part: Relaxation | None = self.whole
        for turn in range(turns):
            if part is not None and self._down(part):
                return tuple(self.cuts)
            if self.over or not self.cuts:
                break
            part = self._freed(int(SMALL * FREED * MORE_FREED**turn))
        return None

    def _down(self, part: Relaxation) -> bool:
        """Fix share after share; true once everything is."""
        while any(part.generator.model.demands) and not self.over:
            if part.boards <= SMALL:
                cuts, none = self._finished(part)
                self.cuts += cuts or ()
                if cuts is not None or none or part.boards <= SMALL / 3:
                    return cuts is not None
            deeper = self._deeper(part)
            if deeper is None:
                return False
            part = deeper
        return not any(part.generator.model.demands)

    def _left(self, cuts: Sequence[Cut] = ()) -> int:
        """What may still be spent beside what is fixed and these cuts."""
        return self.target - plan_cost(self.whole.generator.model, (*self.cuts, *cuts))

    def _deeper(self, part: Relaxation) -> Relaxation | None:
        """Fix a share of the boards; a third of it where what is left would cost too much."""
        for share in (SHARE, SHARE / 3):
            left = Left(part.generator.model)
            fix(left, part, wanted=max(1.0, share * part.boards))
            deeper = None if self.over else self._priced(part, left.rest, self._left(left.cuts))
            if deeper is not None:
                self.cuts += left.cuts
                return deeper
        return None

    def _priced(self, part: Relaxation, rest: Model, most: int) -> Relaxation | None:
        """Generate columns for a rest; None where it would cost more than `most`.

        For several kinds from the basis before, which takes half the exchanges; of 31 classical lists
        of one kind three then took a second more.
        """
        if most < 0:
            return None
        inner = Generator(rest, _rest_pool(rest, part.generator.pool), Knapsack(rest, self.effort))
        if self.several:
            inner.programme.end_swaps()
            inner.programme.start_from(part.generator.programme)
        found = inner.run(goal=most + 1, rounds=ROUNDS)
        return None if found is None or ceil_of(found.bound) > most else found

    def _freed(self, number: int) -> Relaxation | None:
        """Take back so many boards at random, and price them with what was left."""
        single = [replace(cut, times=1) for cut in self.cuts for _ in range(cut.times)]
        self.chance.shuffle(single)
        self.whole.generator.pool.add_cuts(single[:number])
        left = Left(self.whole.generator.model)
        for cut in single[number:]:
            left.cut(cut.bar, cut.items, 1)
        self.cuts = left.cuts
        return self._priced(self.whole, left.rest, self._left())

    def _finished(self, part: Relaxation) -> tuple[Cuts, bool]:
        """Settle the rest where its fillings are few; what was found, or whether nothing is there."""
        rest, target = part.generator.model, self._left()
        rows = [part.row, *(make_row(rest, part.generator.knapsack, row.values) for row in self.rows)]
        pool = list_patterns(rest, rows, target, FEW, self.effort)
        return (None, False) if pool is None else plunge(pool, target, self.effort, tries=TRIES)


def _rest_pool(rest: Model, known: Pool) -> Pool:
    """The fillings known that the rest has the pieces for, and one for each piece that is in none."""
    pool = Pool(rest)
    pool.add_single()
    for bar, items in known.ways:
        for i, n in items:
            if n > rest.demands[i]:
                break
        else:
            pool.add(bar, items)
    return pool


def fix(left: Left, relaxation: Relaxation, *, wanted: float = inf, part: float = ALMOST) -> None:
    """Cut the whole parts of a fractional plan, then one board more of what is nearest to the next whole.

    wanted: boards after which it ends; part: fraction from which a board more is cut
    """
    times, pool, fixed = relaxation.relaxed.times, relaxation.generator.pool, 0
    whole, used = np.floor(times + ALMOST), np.flatnonzero(times > ALMOST)
    order = used[np.argsort((whole - times)[used], kind="stable")].tolist()
    for column in order:
        if whole[column] and fixed < 2 * wanted:
            bar, items = pool.ways[column]
            fixed += left.cut(bar, items, int(whole[column]))
    for column in order:
        if fixed >= wanted or times[column] - whole[column] < part:
            break
        bar, items = pool.ways[column]
        fixed += left.cut(bar, items, 1)


def round_off(root: Relaxation) -> tuple[Cut, ...]:
    """Keep the whole and likely parts of the relaxed plan and cut the rest board by board: a plan at once."""
    left = Left(root.generator.model)
    fix(left, root, part=HALF)
    return (*left.cuts, *construct(left.rest))
