"""Search for a cheapest plan with linear and integer programmes, and for the proof that it is one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from time import perf_counter

from fencegrade.cutting.central import central_values
from fencegrade.cutting.columns import Generator, Relaxation, bar_knapsack
from fencegrade.cutting.constructive import ceil_of, construct, plan_cost
from fencegrade.cutting.correction import correct_values
from fencegrade.cutting.diving import dive, round_off
from fencegrade.cutting.master import Outcome, choose
from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.patterns import Worth, list_patterns, worth_of
from fencegrade.cutting.pool import Pool, cover_to_cuts
from fencegrade.cutting.whole_boards import board_row, most_capacity, whole_board_bound

DIVES = ((0.25, 30), (0.12, 45), (0.5, 60), (0.3, 40), (0.08, 45))
VERY_FEW_PATTERNS, FEW_PATTERNS, MANY_PATTERNS = 1_000, 12_000, 30_000
SECOND_KIND = 0.05
"""Share of boards, beside those of the commonest kind, from which a plan mixes kinds."""

WORK = 1.0e8
"""Cells of the knapsack for one round of value correction: about 0.1 s."""

FEW_BRANCHES, BRANCHES = 50, 100
"""Branches of an integer programme over the fillings known, at first and once all else has been tried."""


class Search:
    """The best plan and bound so far, bettered step by step until they meet or time is over."""

    def __init__(self, model: Model, cuts: tuple[Cut, ...], raw: Fraction, until: float) -> None:
        self.model, self.cuts, self.raw, self.until = model, cuts, raw, until
        self.cost = plan_cost(model, cuts)
        self.pool = Pool(model)
        self.pool.add_cuts(cuts)
        self.knapsack = bar_knapsack(model)
        self.generator = Generator(model, self.pool, self.knapsack)
        self.single = len(model.bars) == 1
        self.limits = [bar.limit for bar in model.bars]
        self.worths: list[tuple[Fraction, tuple[int, ...]]] = []

    @property
    def done(self) -> bool:
        """True once the plan is proven or the time is over."""
        return ceil_of(self.raw) >= self.cost or perf_counter() >= self.until

    @property
    def target(self) -> int:
        """The cost that the next plan must meet: the bound where every bar costs the same, else one step
        less.
        """
        return ceil_of(self.raw) if self.single else self.cost - 1

    def run(self) -> None:
        """Go through the steps, cheapest first."""
        if self.single:
            self._correct(WORK)
        if self.done or (root := self._root(self.cost)) is None or self.done:
            return
        self.offer(round_off(self.generator, root, WORK))
        if not self.single and not self.done:
            self._correct(WORK)
        if self._mixed(root):
            self._known(FEW_BRANCHES)
        self._list(VERY_FEW_PATTERNS, BRANCHES)
        self._dive(root, *DIVES[0])
        if self.done:
            return
        if not self.single:
            self._dive(root, *DIVES[1], target=ceil_of(self.raw))
        if self._mixed(root):
            self._known(FEW_BRANCHES)
        if not root.complete:
            root = self._root(None) or root
        if root.complete and not self.done:
            self._inner(root)
            self._whole_boards()
            self._list(FEW_PATTERNS)
        self._insist(root)

    def _insist(self, root: Relaxation) -> None:
        """Alternate dives with integer programmes that get more time and more fillings each round."""
        effort = 1.0
        while not self.done:
            for share, small in DIVES[1:]:
                self._dive(root, share / effort**0.5, int(small * effort**0.5))
            self._known(int(BRANCHES * effort))
            if root.complete and not self.done:
                self._list(int(MANY_PATTERNS * effort))
            effort *= 2.0

    def _mixed(self, root: Relaxation) -> bool:
        """Whether the relaxed plan mixes bar kinds.

        Where one serves nearly all, an integer programme over few fillings is as hard as packing bins and
        gains little.
        """
        boards = [0.0] * len(self.model.bars)
        for bar, times in zip(self.pool.bars, root.relaxed.times, strict=False):
            boards[bar] += times
        return sum(boards) - max(boards) > SECOND_KIND * sum(boards)

    def _known(self, branches: int) -> None:
        """Choose among the fillings known so far; the best plan is seldom far from them."""
        if not self.done:
            self._choose(self.pool, self.target if self.single else None, branches)

    def _correct(self, work: float) -> None:
        self.offer(correct_values(self.model, self.knapsack, ceil_of(self.raw), self.cuts, work, 100))

    def _root(self, goal: int | None) -> Relaxation | None:
        root = self.generator.run(self.model.demands, self.limits, self.until, goal=goal)
        if root is not None:
            self.raw = max(self.raw, root.bound)
            self.worths = [(root.bound, root.values)]
            self._whole_boards()
        return root

    def _whole_boards(self) -> None:
        """Bound by whole boards, from the material, the best values found and steps of the length."""
        if self.single:
            return
        trials = [list(self.model.weights), *(list(values) for _, values in self.worths)]
        trials += [[w // bar.capacity for w in self.model.weights] for bar in self.model.bars]
        for bar in self.model.bars:
            trials += [[int((k + 1) * w > bar.capacity) for w in self.model.weights] for k in (1, 2, 3, 4)]
        rows = {board_row(self.model, self.knapsack, trial) for trial in trials if any(trial)}
        bound, numbers = whole_board_bound(self.model, sorted(rows), self.until - perf_counter())
        self.raw = max(self.raw, Fraction(bound))
        if numbers and len(self.worths) > 1 and not self.done:
            self._pack(numbers)

    def _pack(self, numbers: tuple[int, ...]) -> None:
        """Try to cut everything from just these boards, which would meet the bound."""
        bars = [replace(bar, limit=number) for bar, number in zip(self.model.bars, numbers, strict=True)]
        longest = max(bars, key=lambda bar: bar.capacity)
        cost = sum(bar.cost * number for bar, number in zip(bars, numbers, strict=True))
        bars.append(replace(longest, limit=None, lacking=True, cost=1 + cost))
        model = replace(self.model, bars=tuple(bars))
        start = construct(model)
        cuts = correct_values(model, bar_knapsack(model), cost, start, WORK, 100)
        if all(cut.bar < len(numbers) for cut in cuts):
            self.offer(cuts)

    def _dive(self, root: Relaxation, share: float, small: int, target: int | None = None) -> None:
        if self.done:
            return
        goal = self.target if target is None else target
        found = dive(self.generator, root, goal, self.until, share=share, small=small)
        if found is not None:
            self.offer(found)

    def _inner(self, root: Relaxation) -> None:
        """Find central piece values, which leave fewer fillings to list."""
        last = None
        for last in central_values(self.generator, root.relaxed.value, 0.1, self.until, 15):
            self.raw = max(self.raw, last[0])
        if last is not None:
            self.worths.append(last)

    def _list(self, most: int, branches: int | None = None) -> None:
        """Choose among all fillings that a plan within the target could use, if they are few."""
        while not self.done:
            target = self.target
            worths = self._worths(target)
            exactly = True
            pool = list_patterns(self.model, worths, most, full=False)
            if pool is None:
                exactly = False
                pool = list_patterns(self.model, worths, most, full=True)
            if pool is None:
                return
            outcome = self._choose(pool, target, branches, exactly=exactly)
            if outcome is Outcome.infeasible:
                self.raw = max(self.raw, Fraction(target + 1))
            elif outcome is Outcome.stopped or not len(pool):
                return

    def _worths(self, target: int) -> list[Worth]:
        worths = [
            worth_of(self.model, values, self.generator.scale, self.knapsack, target)
            for _, values in self.worths
        ]
        if (loss := self._loss(target)) is not None:
            capacities = tuple(bar.capacity for bar in self.model.bars)
            least = tuple(capacity - loss for capacity in capacities)
            worths.append(Worth(values=self.model.weights, charges=capacities, least=least))
        return worths

    def _loss(self, target: int) -> int | None:
        """How much a plan of cost `target` may waste, if that is known."""
        if self.single:
            bar = self.model.bars[0]
            room: int | None = target // bar.cost * bar.capacity
        else:
            room = most_capacity(self.model, target, self.until - perf_counter())
        return None if room is None else room - self.model.total

    def _choose(self, pool: Pool, target: int | None, nodes: int | None, *, exactly: bool = False) -> Outcome:
        seconds = self.until - perf_counter()
        if not len(pool):
            return Outcome.infeasible
        outcome, times = choose(
            pool, self.model.demands, self.limits, target, seconds, nodes=nodes, exactly=exactly
        )
        cuts = None if times is None else cover_to_cuts(self.model, pool, times, self.model.demands)
        if cuts is not None:
            self.offer(cuts)
        return outcome

    def offer(self, cuts: Iterable[Cut]) -> None:
        """Keep a plan if it is cheaper and keeps the limits."""
        cuts = tuple(cuts)
        cost = plan_cost(self.model, cuts)
        if cost < self.cost and within_limits(self.model, cuts):
            self.cuts, self.cost = cuts, cost
            self.pool.add_cuts(cuts)


def within_limits(model: Model, cuts: Iterable[Cut]) -> bool:
    """True where no bar kind is used more often than it can be had."""
    used = [0] * len(model.bars)
    for cut in cuts:
        used[cut.bar] += cut.times
    return all(bar.limit is None or n <= bar.limit for bar, n in zip(model.bars, used, strict=True))
