"""Column generation: the linear programme over every possible filling, with an exact bound at each step."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from fencegrade.cutting.bounds import dual_bound
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.master import Programme, Relaxed
from fencegrade.cutting.model import Model, ceil_of
from fencegrade.cutting.pool import Pool
from fencegrade.units.tolerances import WHOLE

SAME_VALUE = 1e-7
"""Part of a step of cost by which a bound may miss a value it proves."""

VALUE_BITS = 28
"""Bits of a value as high as the dearest board costs: a few more still fit the narrow table."""

FINER = 1 << 16
"""How much finer the last values are, which give the bound."""

MOST_ADDED = 30
"""Fillings added after one programme; 60 at a time made the programmes dearer by a third and no fewer."""


class Relaxation(Struct, frozen=True, kw_only=True):
    """Where column generation stopped: the best exact bound, the whole values behind it, and the last
    programme.
    """

    bound: Fraction
    values: tuple[int, ...]
    relaxed: Relaxed
    complete: bool


def value_scale(model: Model) -> int:
    """How many whole units of value go to one unit of cost."""
    dearest = max((bar.cost for bar in model.bars if not bar.lacking), default=1)
    return max(1, (1 << VALUE_BITS) // max(1, dearest))


def bar_knapsack(model: Model, effort: Effort | None = None) -> Knapsack:
    """Make the knapsack that prices fillings for all bar kinds of a model."""
    return Knapsack(model.weights, model.demands, max(bar.capacity for bar in model.bars), effort)


class Generator:
    """Prices fillings by a knapsack and adds those that pay to the pool."""

    def __init__(self, model: Model, pool: Pool, knapsack: Knapsack) -> None:
        self.model, self.pool, self.knapsack = model, pool, knapsack
        self.effort = knapsack.effort
        self.scale = value_scale(model)
        self.weights = np.array(model.weights)
        self.programme = Programme(pool, self.effort)

    def run(
        self,
        demands: Sequence[int],
        limits: Sequence[int | None],
        *,
        goal: int | None = None,
        rounds: int = 10_000,
    ) -> Relaxation | None:
        """Generate columns for the demands and limits left.

        goal: stop as soon as the bound, rounded up, reaches it or can rise no further
        rounds: at most so many programmes
        None if not even one programme was solved.
        """
        climb = _Climb(self, demands, limits, goal)
        climb.up(rounds)
        return climb.top()

    def whole(self, prices: NDArray[np.float64]) -> list[int]:
        """Prices as whole values."""
        return [int(p) for p in np.floor(prices * self.scale)]

    def add_fillings(
        self, demands: Sequence[int], limits: Sequence[int | None], prices: NDArray[np.float64]
    ) -> int:
        """Add the best filling of each bar kind, and for pieces in none of these the best that holds them."""
        charge = self._charges(prices, len(demands))
        bars = [b for b, limit in enumerate(limits) if limit != 0]
        held: set[int] = set()
        added = 0
        for bar in bars:
            numbers = self.knapsack.filling(self.model.bars[bar].capacity)
            if self._pays(bar, numbers, charge, prices):
                added += self.pool.add(bar, numbers)
                held |= numbers.keys()
        if added:
            added += self._add_holding(demands, bars, charge, prices, held)
        return added

    def _add_holding(
        self,
        demands: Sequence[int],
        bars: Sequence[int],
        charge: list[float],
        prices: NDArray[np.float64],
        held: set[int],
    ) -> int:
        """Add for piece after piece that is not yet held the best filling with it, most gain first."""
        model, knapsack = self.model, self.knapsack
        gains = np.full((len(bars), len(demands)), -np.inf)
        for row, bar in enumerate(bars):
            room = model.bars[bar].capacity - self.weights
            worth = knapsack.best[np.maximum(room, 0)] / self.scale + prices[: len(demands)]
            gains[row] = np.where((room >= 0) & self.wanted(demands), worth - charge[bar], -np.inf)
            gains[row] /= max(charge[bar], WHOLE)
        chosen, most = gains.argmax(axis=0), gains.max(axis=0)
        added = 0
        for i in np.argsort(-most, kind="stable").tolist():
            if most[i] <= 0 or added >= MOST_ADDED:
                break
            if i in held:
                continue
            bar = bars[int(chosen[i])]
            numbers = knapsack.filling(model.bars[bar].capacity - model.weights[i])
            numbers[i] = numbers.get(i, 0) + 1
            if numbers[i] <= demands[i] and self._pays(bar, numbers, charge, prices):
                added += self.pool.add(bar, numbers)
                held |= numbers.keys()
        return added

    def wanted(self, demands: Sequence[int]) -> NDArray[np.bool_]:
        """Pieces that are still wanted."""
        return np.array(demands) > 0

    def _pays(
        self, bar: int, numbers: dict[int, int], charge: list[float], prices: NDArray[np.float64]
    ) -> bool:
        worth = sum(float(prices[i]) * n for i, n in numbers.items())
        return worth > charge[bar] + WHOLE * max(1.0, charge[bar])

    def _charges(self, prices: NDArray[np.float64], size: int) -> list[float]:
        charge, row = [], size
        for bar in self.model.bars:
            charge.append(float(bar.cost))
            if bar.limit is not None:
                charge[-1] += float(prices[row])
                row += 1
        return charge


class _Climb:
    """The rise of the bound from programme to programme."""

    def __init__(
        self, generator: Generator, demands: Sequence[int], limits: Sequence[int | None], goal: int | None
    ) -> None:
        self.generator, self.demands, self.limits, self.goal = generator, demands, limits, goal
        self.best, self.values = Fraction(-1), tuple[int, ...]()
        self.centre: NDArray[np.float64] | None = None
        self.relaxed: Relaxed | None = None
        self.complete = False

    @property
    def reached(self) -> bool:
        """True once the bound is as high as was asked, or nothing more may be done."""
        return self.generator.effort.over or (self.goal is not None and ceil_of(self.best) >= self.goal)

    def up(self, rounds: int) -> None:
        """Solve the programme and add the fillings that pay until none does, or the bound is high enough."""
        programme = self.generator.programme
        for _ in range(rounds):
            relaxed = programme.solve(self.demands, self.limits)
            if relaxed is None:
                return
            self.relaxed = relaxed
            self.complete = not self._priced(relaxed)
            if self.reached:
                return
            if self.complete or self._enough(relaxed.value):
                if not programme.swapping:
                    return
                programme.end_swaps()
                self.complete = False

    def _priced(self, relaxed: Relaxed) -> int:
        """Add fillings by prices half way to the best so far, and by those of the programme if none pays."""
        prices = np.maximum(relaxed.prices, 0.0)
        for share in (0.5, 0.0) if self.centre is not None else (0.0,):
            mixed = prices if self.centre is None else share * self.centre + (1 - share) * prices
            trial = self.generator.whole(mixed[: len(self.demands)])
            self._bound(trial, self.generator.scale, mixed)
            if added := self.generator.add_fillings(self.demands, self.limits, prices):
                return added
        return 0

    def _bound(self, trial: list[int], scale: int, mixed: NDArray[np.float64]) -> None:
        filled = self.generator.knapsack.fill(trial, self.demands)
        bound = dual_bound(self.generator.model, trial, filled, scale, self.demands, self.limits)
        if not self.values or bound > self.best:
            self.best, self.values, self.centre = bound, tuple(trial), mixed

    def _enough(self, value: float) -> bool:
        bound = max(0, ceil_of(self.best))
        return self.goal is not None and (bound >= self.goal or bound >= value - SAME_VALUE)

    def top(self) -> Relaxation | None:
        """Where the climb ended; the last values are made finer where no filling pays any more."""
        if self.relaxed is None:
            return None
        if self.complete:
            prices = np.maximum(self.relaxed.prices, 0.0)
            finer = self.generator.whole(prices[: len(self.demands)] * FINER)
            self._bound(finer, self.generator.scale * FINER, prices)
        return Relaxation(bound=self.best, values=self.values, relaxed=self.relaxed, complete=self.complete)
