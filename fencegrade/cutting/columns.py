"""Column generation: the linear programme over every possible filling, with an exact bound at each step."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from fencegrade.cutting.bounds import cost_in_parts
from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.master import Programme, Relaxed
from fencegrade.cutting.model import Model, ceil_of
from fencegrade.cutting.pool import Pool
from fencegrade.cutting.rows import Row, make_row
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
    """Where column generation stopped: its best exact bound, the row behind it, and the last programme."""

    generator: Generator
    bound: Fraction
    row: Row
    relaxed: Relaxed

    @property
    def boards(self) -> float:
        """Boards of the relaxed plan."""
        return float(sum(self.relaxed.times))


class Generator:
    """Prices fillings by a knapsack and adds those that pay to the pool.

    `model` may be changed for one with other demands and limits of the same pieces and boards.
    """

    def __init__(self, model: Model, pool: Pool, knapsack: Knapsack) -> None:
        self.model, self.pool, self.knapsack = model, pool, knapsack
        self.effort = knapsack.effort
        dearest = max((bar.cost for bar in model.bars if not bar.lacking), default=1)
        self.scale = max(1, (1 << VALUE_BITS) // max(1, dearest))
        self.programme = Programme(pool, self.effort)
        self._bound, self._row = Fraction(0), Row(values=(), worth=(), need=0)
        self._centre: NDArray[np.float64] | None = None

    def run(self, goal: int | None = None, rounds: int = 10_000) -> Relaxation | None:
        """Generate columns until none pays.

        goal: stop as soon as the bound, rounded up, reaches it or can rise no further
        rounds: at most so many programmes
        None if not even one programme was solved.
        """
        self._bound, self._centre = Fraction(0), None
        relaxed, added = None, 0
        for _ in range(rounds):
            solved = self.programme.solve(self.model)
            if solved is None:
                break
            relaxed, added = solved, self._added(solved.prices)
            level = ceil_of(self._bound)
            if self.effort.over or (goal is not None and level >= goal):
                break
            if not added or (goal is not None and level >= relaxed.value - SAME_VALUE):
                if not self.programme.swapping:
                    break
                self.programme.end_swaps()
        if relaxed is None:
            return None
        if not added:
            self._try(relaxed.prices, self.scale * FINER)
        return Relaxation(generator=self, bound=self._bound, row=self._row, relaxed=relaxed)

    def _added(self, prices: NDArray[np.float64]) -> int:
        """Add fillings by prices half way to the best so far, and by those of the programme if none pays."""
        if self._centre is not None:
            self._try((self._centre + prices) / 2, self.scale)
            if added := self._add_fillings(prices):
                return added
        self._try(prices, self.scale)
        return self._add_fillings(prices)

    def _try(self, prices: NDArray[np.float64], scale: int) -> None:
        """Fill boards by prices, as whole values; keep the bound that these prove if it is the best.

        Prices that prove nothing are no centre: half way to them small lists took twice the work.
        """
        values = [int(p) for p in np.floor(prices[: len(self.model.weights)] * scale)]
        row = make_row(self.model, self.knapsack, values)
        bound = cost_in_parts(self.model, row.worth, row.need)
        if bound >= self._bound:
            self._row = row
        if bound > self._bound:
            self._bound, self._centre = bound, prices

    def _add_fillings(self, prices: NDArray[np.float64]) -> int:
        """Add for piece after piece that is in none yet the best filling with it, most gain first."""
        charge = self._charges(prices)
        gains = self._gains(prices, charge)
        chosen, most = gains.argmax(axis=0).tolist(), gains.max(axis=0)
        held: set[int] = set()
        added = 0
        for i in np.argsort(-most, kind="stable").tolist():
            if most[i] <= 0 or added >= MOST_ADDED:
                break
            if i in held:
                continue
            bar = chosen[i]
            numbers = self.knapsack.filling(self.model.bars[bar].capacity - self.model.weights[i])
            numbers[i] = numbers.get(i, 0) + 1
            worth = sum(float(prices[k]) * n for k, n in numbers.items())
            pays = worth > charge[bar] + WHOLE * max(1.0, charge[bar])
            if pays and numbers[i] <= self.model.demands[i]:
                added += self.pool.add(bar, tuple(sorted(numbers.items())))
                held |= numbers.keys()
        return added

    def _charges(self, prices: NDArray[np.float64]) -> list[float]:
        """What a board of each kind costs by the prices: limited ones have one of their own."""
        rows = self.pool.limited
        return [
            bar.cost + (float(prices[rows[b]]) if b in rows else 0.0) for b, bar in enumerate(self.model.bars)
        ]

    def _gains(self, prices: NDArray[np.float64], charge: list[float]) -> NDArray[np.float64]:
        """What the best filling of each kind of board with each piece gains, as a share of its charge."""
        weights, wanted = np.array(self.model.weights), np.array(self.model.demands) > 0
        gains = np.full((len(charge), len(weights)), -np.inf)
        for row, bar, cost in zip(gains, self.model.bars, charge, strict=True):
            room = bar.capacity - weights
            worth = self.knapsack.best[np.maximum(room, 0)] / self.scale + prices[: len(weights)]
            fits = wanted & (room >= 0) & (bar.limit != 0)
            row[fits] = (worth[fits] - cost) / max(cost, WHOLE)
        return gains
