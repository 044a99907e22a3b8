"""Search for a cheapest plan with linear and integer programmes, and for the proof that it is one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import inf

from fencegrade.cutting.columns import Generator, Relaxation, bar_knapsack
from fencegrade.cutting.diving import LIKELY, dive, rounded
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.filling import fill_boards
from fencegrade.cutting.master import Outcome, choose
from fencegrade.cutting.mending import mend
from fencegrade.cutting.model import Cut, Model, ceil_of, plan_cost
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.pool import Pool, cover_to_cuts
from fencegrade.cutting.rows import Row, conditions, make_row

DIVES = ((0.25, 30), (0.12, 45), (0.5, 60), (0.3, 40), (0.08, 45))
FEW_PATTERNS, MANY_PATTERNS = 3_000, 30_000
"""Fillings that are listed before the dearer dives and after them (an integer programme over 11,500 took 11 s
where a dive took 0.6).
"""

MOST_PATTERNS = 60_000
"""Fillings of an integer programme however long it may take: more would take memory without end."""

MENDS, INWARD = 300, 15
"""Rounds of mending (2,000 took half as long again in all and proved no more), and programmes whose prices
come from the middle.
"""

BRANCHES, MANY_BRANCHES = 100, 10_000
"""Branches of an integer programme over fillings known, and over all that there can be."""

MOST_ROWS = 4
"""Rows whose conditions a listing is pruned by."""

FILLINGS, WIDEST = 8, 20_000
"""Tries of filling the boards of the bound exactly, and the widest boards for which sums as bits pay
(the longest proof of Hard28 fell from 11.6 to 2.9 s; boards of 100,000 marks were left unproven).
"""

ENOUGH = Fraction(2, 10_000)
"""Gap between bound and plan at which the dear steps are left out."""


class Search:
    """The best plan and bound so far, bettered step by step until they meet or time is over."""

    def __init__(self, model: Model, cuts: tuple[Cut, ...], raw: Fraction, effort: Effort) -> None:
        self.model, self.cuts, self.raw, self.effort = model, cuts, raw, effort
        self.cost = plan_cost(model, cuts)
        self.pool = Pool(model)
        self.pool.add_cuts(cuts)
        self.knapsack = bar_knapsack(model, effort)
        self.generator = Generator(model, self.pool, self.knapsack)
        self.limits = [bar.limit for bar in model.bars]
        self.rows: list[Row] = [make_row(model, self.knapsack, model.weights)]

    @property
    def proven(self) -> bool:
        """True once no plan can be cheaper."""
        return ceil_of(self.raw) >= self.cost

    @property
    def done(self) -> bool:
        """True once the plan is proven or nothing more may be done."""
        return self.proven or self.effort.over

    @property
    def enough(self) -> bool:
        """True once the search is done, or so near to it that the dear steps do not pay."""
        return self.done or self.cost - ceil_of(self.raw) <= ENOUGH * self.cost

    def raised(self, bound: Fraction | int) -> None:
        """Note a bound that no plan goes under."""
        self.raw = max(self.raw, Fraction(bound))

    def dived(
        self, root: Relaxation, share: float, small: int, target: int, until: float = inf, turns: int = 1
    ) -> None:
        """Dive for a plan within `target`."""
        if not self.done:
            end = self.effort.spent + until
            found = dive(self.generator, root, target, share=share, small=small, until=end, turns=turns)
            if found is not None:
                self.offer(found)

    def known(self, most: int | None, branches: int) -> None:
        """Choose among the fillings known so far; the best plan is seldom far from them."""
        if not self.done:
            self.chosen(self.pool, most, branches)

    def listed(self, target: int, most: int, branches: int) -> Outcome:
        """Choose among all fillings that a plan within the target could use, if they are few."""
        asked = conditions(self.model, self.rows, target, MOST_ROWS)
        exactly = True
        pool = list_patterns(self.model, asked, most, self.effort, full=False)
        if pool is None:
            exactly = False
            pool = list_patterns(self.model, asked, most, self.effort, full=True)
        if pool is None:
            return Outcome.stopped
        outcome = self.chosen(pool, target, branches, exactly=exactly)
        if outcome is Outcome.infeasible:
            self.raised(target + 1)
        return outcome

    def chosen(self, pool: Pool, target: int | None, nodes: int, *, exactly: bool = False) -> Outcome:
        """Choose among fillings by integer programme."""
        if not len(pool):
            return Outcome.infeasible
        outcome, times = choose(
            pool, self.model.demands, self.limits, target, self.effort, nodes=nodes, exactly=exactly
        )
        cuts = None if times is None else cover_to_cuts(self.model, pool, times, self.model.demands)
        if cuts is not None:
            self.offer(cuts)
        return outcome

    def offer(self, cuts: Iterable[Cut]) -> bool:
        """Keep a plan if it is cheaper and keeps the limits."""
        cuts = tuple(cuts)
        cost = plan_cost(self.model, cuts)
        if cost >= self.cost or not within_limits(self.model, cuts):
            return False
        self.cuts, self.cost = cuts, cost
        self.pool.add_cuts(cuts)
        return True


class OneKind(Search):
    """Where every board costs the same the question is whether the bound, rounded up, can be met."""

    @property
    def target(self) -> int:
        """The cost that the next plan must meet."""
        return ceil_of(self.raw)

    def run(self) -> None:
        """Go through the steps, cheapest first."""
        self._filled()
        if self.done or (root := self._root(self.cost)) is None or self.done:
            return
        state = rounded(self.model, self.pool, root.relaxed.times, self._boards(), LIKELY)
        self._mended([*state.cuts, *self._fill(state.limits, state.left, 1)])
        self.dived(root, *DIVES[0], self.target)
        if self.done:
            return
        if not root.complete:
            root = self._root(None) or root
        if root.complete and not self.done:
            self._inward()
            self._list(FEW_PATTERNS, MANY_BRANCHES)
        self._insist(root)

    def _insist(self, root: Relaxation) -> None:
        """Alternate dives with integer programmes that get more work and more fillings each round."""
        effort = 1.0
        while not self.done:
            for share, small in DIVES[1:]:
                self.dived(root, share / effort**0.5, int(small * effort**0.5), self.target)
            self.known(self.target, int(BRANCHES * effort))
            if root.complete and not self.done:
                self._list(min(int(MANY_PATTERNS * effort), MOST_PATTERNS), int(MANY_BRANCHES * effort))
            effort *= 2.0

    def _filled(self) -> None:
        """Fill as many boards as the bound says; the fillings start the column generation."""
        if not self.done and self.model.bars[0].capacity <= WIDEST:
            self._mended(self._fill(self._boards(), self.model.demands, FILLINGS, self.pool))

    def _boards(self) -> list[int]:
        return [self.target // self.model.bars[0].cost]

    def _fill(
        self, numbers: Sequence[int | None], left: Sequence[int], tries: int, pool: Pool | None = None
    ) -> tuple[Cut, ...]:
        there = [number or 0 for number in numbers]
        return fill_boards(self.model, there, left, tries, self.effort, pool)

    def _mended(self, cuts: Iterable[Cut]) -> None:
        """Offer a plan of as many boards as the bound says, mended where it does not hold all pieces."""
        found = mend(self.model, self._boards(), self.model.demands, cuts, MENDS, self.effort)
        if found is not None:
            self.offer(found)

    def _inward(self) -> None:
        """Find piece values from the middle of the best ones, which leave fewer fillings to list."""
        self.generator.programme.inward()
        central = self.generator.run(self.model.demands, self.limits, rounds=INWARD)
        if central is not None:
            self.raised(central.bound)
            self.rows.append(make_row(self.model, self.knapsack, central.values))

    def _root(self, goal: int | None) -> Relaxation | None:
        root = self.generator.run(self.model.demands, self.limits, goal=goal)
        if root is not None:
            self.raised(root.bound)
            self.rows = [self.rows[0], make_row(self.model, self.knapsack, root.values)]
        return root

    def _list(self, most: int, branches: int) -> None:
        while not self.done and self.listed(self.target, most, branches) is Outcome.infeasible:
            pass


def within_limits(model: Model, cuts: Iterable[Cut]) -> bool:
    """True where no bar kind is used more often than it can be had."""
    used = [0] * len(model.bars)
    for cut in cuts:
        used[cut.bar] += cut.times
    return all(bar.limit is None or n <= bar.limit for bar, n in zip(model.bars, used, strict=True))
