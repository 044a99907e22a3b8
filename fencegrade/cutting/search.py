"""The search for a cheapest plan, and the proof that it is one: from one cheapest set of boards to the next.

A set of boards is how many of each kind there are; of one kind it is a number. The sets are found by rows
alone (`sets`). A set is checked by column generation: its boards are free, one more of the longest costs 1.
Where even the fractional plan needs more, the values that show it are a new row, which cuts the set off;
where it does not, the set is filled. No set left under the plan's cost: the plan is proven. Own derivation;
the rows are cuts in the manner of Benders, Numerische Mathematik 4 (1962) 238-252.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import inf

from msgspec.structs import replace

from fencegrade.cutting.bounds import cost_in_parts
from fencegrade.cutting.columns import Generator, Relaxation
from fencegrade.cutting.diving import LIKELY, Dive, fix, round_off
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.filling import fill
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.master import choose
from fencegrade.cutting.mending import mend
from fencegrade.cutting.model import Cut, Left, Model, ceil_of, plan_cost, serves
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import first_rows
from fencegrade.cutting.sets import MOST_NODES, BoardSets, Numbers, UnsettledError

MENDS = 100
"""Rounds of mending a set: 10 ms; 300 filled three sets of 40 more before the root, at 20 ms a list."""

FIRST_ROWS, FIRST_NODES = 5, 1_000
"""Rows of the first cheapest set, and kinds looked at for it."""

NEAR = (Fraction(20, 10_000), Fraction(5, 10_000), Fraction(2, 10_000), Fraction(1, 10_000))
"""How near to the bound dives of the whole shall end, one after the other."""

SMALL = 200
"""Pieces up to which fillings of several kinds of board are listed: of more there are always too many."""

LISTED = (3_000, 30_000, 60_000)
"""Fillings that are listed before the dearer dives and after them (an integer programme over 11,500 took 11 s
where a dive took 0.6).
"""

INWARD, BRANCHES = 15, 10_000
"""Programmes whose prices come from the middle, and branches of an integer programme over all fillings."""

STALE = 40
"""Checks without a rise of the cost of the cheapest set, after which other ways are tried; with 6 four of 120
lists stayed unproven that 40 prove.
"""

ENOUGH = Fraction(2, 10_000)
"""Gap between bound and plan at which the dear steps are left out."""


class Search:
    """The best plan and bound so far, bettered step by step until they meet or the work given is done.

    useful: what a plan may cost; once the bound is over it the search is done
    """

    def __init__(
        self, model: Model, cuts: tuple[Cut, ...], raw: Fraction, effort: Effort, useful: float = inf
    ) -> None:
        self.model, self.cuts, self.raw, self.effort, self.useful = model, cuts, raw, effort, useful
        self.cost = plan_cost(model, cuts)
        self.generator = Generator(model, Pool(model), Knapsack(model, effort))
        self.generator.pool.add_cuts(cuts)
        self.checks = Checks(self.generator)
        self.sets = BoardSets(model, self.cost - 1, effort)
        rows = first_rows(model, self.generator.knapsack)
        for row in sorted(rows, key=lambda row: -cost_in_parts(model, row.worth, row.need))[:FIRST_ROWS]:
            self.sets.add(row)

    @property
    def done(self) -> bool:
        """True once the plan is proven, or none is of use, or nothing more may be done."""
        return ceil_of(self.raw) >= min(self.cost, self.useful + 1) or self.effort.over

    @property
    def enough(self) -> bool:
        """True once the search is done, or so near to it that the dear steps do not pay."""
        return self.done or self.cost - ceil_of(self.raw) <= ENOUGH * self.cost

    def run(self) -> None:
        """Go through the steps, cheapest first."""
        numbers = self._cheapest(FIRST_NODES)
        if numbers is not None and not self.done:
            left = Left(self.model, numbers)
            filled = self._filled(left)
            self.generator.pool.add_cuts((*left.cuts, *filled))
            self.offer(filled)
        root = None if self.done else self._rooted(self.cost)
        if root is None or self.done:
            return
        self.offer(round_off(root))
        self._through_sets()
        few = len(self.model.bars) == 1 or sum(self.model.demands) <= SMALL
        if few and not self.enough:
            self._rooted(None)
            self.generator.programme.inward()
            self._rooted(None, INWARD)
        for near, most in zip(NEAR, (*LISTED, LISTED[-1]), strict=True):
            if few:
                self._list(most)
            if self.enough:
                break
            target = max(ceil_of(self.raw), min(self.cost - 1, int(self.raw * (1 + near))))
            self._dived(root, target)

    def offer(self, cuts: Iterable[Cut]) -> bool:
        """Keep a plan if it is cheaper, holds every piece and keeps the limits."""
        cuts = tuple(cuts)
        cost = plan_cost(self.model, cuts)
        if cost >= self.cost or not serves(self.model, cuts):
            return False
        self.cuts, self.cost = cuts, cost
        self.generator.pool.add_cuts(cuts)
        return True

    def _rooted(self, goal: int | None, rounds: int = 10_000) -> Relaxation | None:
        """Generate columns for the whole; the bound and the row of the values are kept."""
        root = self.generator.run(goal, rounds)
        if root is not None:
            self.raw = max(self.raw, root.bound)
            self.sets.add(root.row)
        return root

    def _cheapest(self, nodes: int = MOST_NODES) -> Numbers | None:
        """The cheapest set under the plan; none left, or none found, is None."""
        try:
            numbers = self.sets.cheapest(self.cost - 1, nodes)
        except UnsettledError:
            numbers = None
        self.raw = max(self.raw, Fraction(min(self.sets.floor, self.cost)))
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
        check = self.checks.run(numbers)
        if check is None:
            return False
        if check.bound > 0:
            offered = check.row.worth[:-1]
            self.sets.add(replace(check.row, worth=offered))
            return True
        left = Left(check.generator.model, [*numbers, 0])
        fix(left, check, part=LIKELY)
        return self.offer(self._filled(left)) or self._dived(check, 0)

    def _filled(self, left: Left) -> tuple[Cut, ...]:
        """Fill the boards that are left, and mend that."""
        fill(left, self.effort)
        return mend(left, MENDS, self.effort)

    def _dived(self, begun: Relaxation, target: int) -> bool:
        """Dive for a plan within `target` and offer it."""
        return self.offer(Dive(begun, target, self.sets.tightest).run() or ())

    def _list(self, most: int) -> None:
        """Choose among all fillings that a cheaper plan could use, if they are few, until there is none."""
        better = True
        while better and not self.done:
            target = self.cost - 1
            pool = list_patterns(self.model, self.sets.rows, target, most, self.effort)
            if pool is None:
                return
            cuts, none = choose(pool, target, self.effort, nodes=BRANCHES)
            better = self.offer(cuts or ())
            if none:
                self.raw = max(self.raw, Fraction(target + 1))


class Checks:
    """The column generation that asks how many boards a set lacks; its fillings are kept from set to set."""

    def __init__(self, root: Generator) -> None:
        self.root = root
        model = self.of([0] * len(root.model.bars))
        self.generator = Generator(model, Pool(model), root.knapsack)

    def of(self, numbers: Iterable[int]) -> Model:
        """Boards of these numbers cost nothing; one more of the longest kind, which nobody has, costs 1."""
        model = self.root.model
        longest = max(model.bars, key=lambda bar: bar.capacity)
        bars = [
            replace(bar, cost=0, limit=number, lacking=False)
            for bar, number in zip(model.bars, numbers, strict=True)
        ]
        return replace(model, bars=(*bars, replace(longest, cost=1, limit=None, lacking=True)))

    def run(self, numbers: Numbers) -> Relaxation | None:
        """Generate columns until it is clear whether a set lacks boards, from the last basis of the root."""
        pool = self.generator.pool
        self.generator.model = self.of(numbers)
        first = not len(pool)
        for bar, items in self.root.pool.ways:
            pool.add(bar, items)
        if first:
            pool.add_single()
            self.generator.programme.start_from(self.root.programme)
        return self.generator.run(goal=1)
