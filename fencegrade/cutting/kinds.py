"""Several kinds of board: the cheapest sets of boards, the check whether one holds all, filling it.

The sets are found by rows alone (`sets`). A set is checked by column generation: its boards are free, one
more of the longest costs 1. Where even the fractional plan needs more, the values that show it are a new
row, which cuts the set off; where it does not, the set is filled. No set left under the plan's cost: the plan
is proven. Own derivation; the rows are cuts in the manner of Benders, Numerische Mathematik 4 (1962) 238-252.
"""

from __future__ import annotations

from fractions import Fraction

from fencegrade.cutting.columns import Generator, Relaxation
from fencegrade.cutting.diving import LIKELY, dive, round_off, rounded
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.filling import fill_boards, fitting_model, holds
from fencegrade.cutting.master import Outcome
from fencegrade.cutting.mending import mend
from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import first_rows, make_row, roughly
from fencegrade.cutting.search import Search
from fencegrade.cutting.sets import MOST_NODES, BoardSets, Numbers, UnsettledError

FIRST_TRIES = 2
"""Orders of boards and pieces tried before the root, and for what rounding leaves.

The fillings of the first are a start for column generation.
"""

MENDS = 300
"""Rounds of mending a set: 20 ms; 1,500 took five times as long and filled no more."""

SHARE, SMALL_REST, TURNS = 0.4, 14, 100
"""Share of the boards fixed at a time, boards left to a listing, and how often a dive may go on.

With 0.3 a sixth slower, with 0.5 a tenth quicker but for two sets of 60 that were not filled; with 30 boards
half as slow again.
"""

DIVE = 800_000.0
"""Work of a dive; with 300,000 three lists of 500 lengths stayed at twice to ten times their gap."""

FIRST_ROWS, FIRST_NODES = 5, 1_000
"""Rows of the first cheapest set, and kinds looked at for it."""

NEAR = (Fraction(20, 10_000), Fraction(5, 10_000), Fraction(2, 10_000), Fraction(1, 10_000))
"""How near to the bound dives of the whole shall end, one after the other."""

SMALL, FEW, BRANCHES = 200, 1_000, 100
"""Pieces of a small list, the fillings listed and branches looked at there."""

STALE = 40
"""Checks without a rise of the cost of the cheapest set, after which other ways are tried; with 6 four of 120
lists stayed unproven that 40 prove.
"""


class SeveralKinds(Search):
    """Goes from one cheapest set of boards to the next until one is filled."""

    def __init__(self, model: Model, cuts: tuple[Cut, ...], raw: Fraction, effort: Effort) -> None:
        super().__init__(model, cuts, raw, effort)
        self.rows = first_rows(model, self.knapsack)
        self.sets = BoardSets(model, self.cost - 1, effort)
        for row in sorted(self.rows, key=lambda row: -roughly(model, row))[:FIRST_ROWS]:
            self.sets.add(row)
        self.checks = Checks(model, effort, self.generator)

    def run(self) -> None:
        """Go through the steps, cheapest first."""
        numbers = self._cheapest(FIRST_NODES)
        if numbers is not None and not self.done:
            self._exactly(numbers, FIRST_TRIES, self.pool)
        if self.done or (root := self._root()) is None or self.done:
            return
        self.offer(round_off(self.generator, root))
        self._through_sets()
        if sum(self.model.demands) <= SMALL:
            self._list(FEW, BRANCHES)
        for near in NEAR:
            if not self.enough:
                target = min(self.cost - 1, int(self.raw * (1 + near)))
                self.dived(root, SHARE, SMALL_REST, target, DIVE, TURNS)

    def _list(self, most: int, branches: int) -> None:
        while not self.done and self.listed(self.cost - 1, most, branches) is not Outcome.stopped:
            pass

    def _root(self) -> Relaxation | None:
        root = self.generator.run(self.model.demands, self.limits, goal=self.cost)
        if root is not None:
            self.raised(root.bound)
            self._row(root.values)
        return root

    def _row(self, values: tuple[int, ...]) -> None:
        row = make_row(self.model, self.knapsack, values)
        self.rows.append(row)
        self.sets.add(row)

    def _cheapest(self, nodes: int = MOST_NODES) -> Numbers | None:
        """The cheapest set under the plan; none left, or none found, is None."""
        try:
            numbers = self.sets.cheapest(self.cost - 1, nodes)
        except UnsettledError:
            numbers = None
        self.raised(min(self.sets.floor, self.cost))
        return numbers

    def _through_sets(self) -> None:
        """Check and fill the cheapest sets in turn, until one could not be filled."""
        stale, floor = 0, self.sets.floor
        while not self.done and stale < STALE:
            numbers = self._cheapest()
            stale, floor = (stale + 1, floor) if self.sets.floor == floor else (0, self.sets.floor)
            if numbers is None or not self._holds(numbers):
                break

    def _holds(self, numbers: Numbers) -> bool:
        """Check a set and fill it; false where it could hold the pieces but was not filled."""
        check = self.checks.check(numbers)
        if check is None:
            return False
        if check.bound > 0:
            self._row(check.values)
            return True
        found = self.checks.filled(numbers, check, [row.values for row in self.sets.tightest])
        return found is not None and self.offer(found)

    def _exactly(self, numbers: Numbers, tries: int, pool: Pool | None = None) -> bool:
        cuts: tuple[Cut, ...] | None
        demands = self.model.demands
        cuts = fill_boards(self.model, numbers, demands, tries, self.effort, pool)
        if not holds(cuts, demands):
            cuts = mend(self.model, numbers, demands, cuts, MENDS, self.effort)
        return cuts is not None and self.offer(cuts)


class Checks:
    """The column generation that asks how many boards a set lacks; its fillings are kept from set to set."""

    def __init__(self, model: Model, effort: Effort, root: Generator) -> None:
        self.model, self.effort, self.root = model, effort, root
        self.fits = fitting_model(model, [0] * len(model.bars))
        self.pool = Pool(self.fits)
        self.generator = Generator(self.fits, self.pool, root.knapsack)

    def _begin(self) -> None:
        """Take the last basis of the root, and a lacking board for every piece."""
        longest = self.fits.bars[-1].capacity
        for i, (weight, demand) in enumerate(zip(self.model.weights, self.model.demands, strict=True)):
            self.pool.add(len(self.model.bars), ((i, min(demand, longest // weight)),))
        self.generator.programme.start_from(self.root.programme)

    def limits(self, numbers: Numbers) -> list[int | None]:
        """The boards of a set, and as many as are lacking."""
        return [*numbers, None]

    def check(self, numbers: Numbers) -> Relaxation | None:
        """Generate columns until it is clear whether the set lacks boards."""
        first = not len(self.pool)
        for bar, items in zip(self.root.pool.bars, self.root.pool.items, strict=True):
            self.pool.add(bar, items)
        if first:
            self._begin()
        return self.generator.run(self.fits.demands, self.limits(numbers), goal=1)

    def filled(
        self, numbers: Numbers, check: Relaxation, trials: list[tuple[int, ...]]
    ) -> tuple[Cut, ...] | None:
        """Round the fractional plan and fill the rest exactly, mend that, or dive."""
        limits = self.limits(numbers)
        state = rounded(self.fits, self.pool, check.relaxed.times, limits, LIKELY)
        left = [n or 0 for n in state.limits[:-1]]
        rest = fill_boards(self.model, left, state.left, FIRST_TRIES, self.effort)
        held = [cut for cut in (*state.cuts, *rest) if cut.bar < len(self.model.bars)]
        found = mend(self.model, numbers, self.fits.demands, held, MENDS, self.effort)
        if found is not None:
            return found
        found = dive(
            self.generator,
            check,
            0,
            share=SHARE,
            small=SMALL_REST,
            trials=trials,
            limits=limits,
            until=self.effort.spent + DIVE,
            turns=TURNS,
        )
        return found if self._offered(found) else None

    def _offered(self, cuts: tuple[Cut, ...] | None) -> bool:
        """Whether these are cuts of boards of the set alone, none of them lacking."""
        return cuts is not None and all(cut.bar < len(self.model.bars) for cut in cuts)
