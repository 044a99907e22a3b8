"""The choice about low ground against every choice there is, on fences of up to eight boards.

The other way round shares nothing with the search but the picket cuts: soil is measured on a fine grid,
tapers are marched along it, and boards on hand are given out by scipy's assignment solver.
"""

from dataclasses import dataclass
from itertools import groupby, product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from low_runs import MARK, low_run, pickets_of
from scipy.optimize import linear_sum_assignment

from fencegrade.fence.low_ground.choice import close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun
from fencegrade.fence.tops.level import level_at
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import LowGround
from fencegrade.job.records import OpenStretch, Pickets, Run, Soil
from fencegrade.units import UnitSystem

pytestmark = pytest.mark.usefixtures("soil_by_volume")

STEP = 1 / 64


@dataclass
class Scene:
    low: LowRun
    pickets: Pickets
    soil: Soil


def scene(
    heights: list[float],
    stock: list[tuple[float, float, int]],
    price: float = 30.0,
    water: tuple[float, float] | None = None,
    **soil: float,
) -> Scene:
    x = np.linspace(0.0, 48.0, len(heights))
    line = ground_line(x, heights)
    pickets = pickets_of(stock, spacing=0.5)
    table: dict[str, Any] = {"most_depth": 6.0, "crest": 12.0, "side_slope": 3.0, "loose_factor": 1.25}
    table |= {"least_length": 11.0, **soil}
    run = Run(name="herb garden", survey="herbs.csv")
    if water:
        run = Run(
            name="herb garden",
            survey="herbs.csv",
            keep_open=(OpenStretch(start=water[0], end=water[1], height=2.0),),
        )
    low = low_run(line, run, level_at(0.0, 48.0, 72.0), pickets)
    return Scene(low=low, pickets=pickets, soil=Soil(low_ground=LowGround.CHEAPEST, price=price, **table))


class Brute:
    """Costs of one scene on a grid of `STEP` inches."""

    def __init__(self, scene: Scene) -> None:
        self.low, self.soil = scene.low, scene.soil
        self.stock = sorted(scene.pickets.stock, key=lambda s: s.length)
        self.x = np.arange(0.0, 48.0 + STEP / 2, STEP)
        self.ground = self.low.line.elevation(self.x)
        self.boards = len(self.low.slots)
        assert scene.soil.price is not None
        self.per_foot = scene.soil.price / 27 * scene.soil.loose_factor / 1728
        self.shortest = [self._shortest(i) for i in range(self.boards)]

    def _under(self, i: int) -> np.ndarray:
        left, right = self.low.slots.left[i], self.low.slots.right[i]
        return np.asarray((self.x >= left - 1e-9) & (self.x <= right + 1e-9))

    def _shortest(self, i: int, ground: np.ndarray | None = None) -> int:
        """The shortest stock that serves a board over some ground, bare if not told."""
        below = (self.ground if ground is None else ground)[self._under(i)]
        full = np.floor((72.0 - 2.0 - below.max()) / MARK + 1e-6) * MARK
        for k, s in enumerate(self.stock):
            kept = min(full, s.length)
            if kept == full or 72.0 - kept - below.min() <= 3.0 + 1e-6:
                return k
        return len(self.stock)

    def _too_open(self, i: int, ground: np.ndarray) -> bool:
        """Whether a board at its full length leaves more than the largest gap."""
        below = ground[self._under(i)]
        full = np.floor((72.0 - 2.0 - below.max()) / MARK + 1e-6) * MARK
        return bool(72.0 - full - below.min() > 3.0 + 1e-6)

    def can_fill(self, i: int, k: int) -> bool:
        full = np.floor((72.0 - 2.0 - self.ground[self._under(i)].max()) / MARK + 1e-6) * MARK
        depth = 70.0 - self.stock[k].length - self.ground[self._under(i)].min()
        wet = any(
            w.start < self.low.slots.right[i] - 1e-6 and w.end > self.low.slots.left[i] + 1e-6
            for w in self.low.run.keep_open
        )
        return full > self.stock[k].length and depth <= self.soil.most_depth + 1e-6 and not wet

    def soil_under(self, surface: np.ndarray, where: np.ndarray) -> float:
        d = np.where(where, np.maximum(surface - self.ground, 0.0), 0.0)
        area = self.soil.crest * d + self.soil.side_slope * d * d
        return float(np.trapezoid(area, self.x))

    def taper(self, edge: float, top: float, sign: int) -> tuple[float, set[int], bool]:
        """Soil in a taper (in^3), boards it stands under, whether it may be; `self.finished` gets its top."""
        n, deepest = self.soil.end_slope, self.soil.most_depth
        away = (self.x - edge) * sign
        order = np.argsort(away)
        ahead = order[away[order] >= -1e-9]
        depth = top - away[ahead] / n - self.ground[ahead]
        met = np.flatnonzero(depth <= 1e-9)
        past = met[0] if len(met) else len(ahead)
        run = ahead[:past]
        d = depth[:past]
        if len(d) and (d.max() > deepest + 1e-4 or away[run].max() > deepest * n + 1e-4):
            return 0.0, set(), False
        for w in self.low.run.keep_open:
            if np.any((self.x[run] > w.start + 1e-6) & (self.x[run] < w.end - 1e-6)):
                return 0.0, set(), False
        area = self.soil.crest * d + self.soil.side_slope * d * d
        soil = abs(float(np.trapezoid(area, self.x[run]))) if len(d) > 1 else 0.0
        if not len(met) and len(d):
            soil += self.soil.crest * d[-1] ** 2 * n / 2 + self.soil.side_slope * d[-1] ** 3 * n / 3
        reach = self.x[run[-1]] if len(run) else edge
        self.finished[run] = np.maximum(self.finished[run], top - away[run] / n)
        if sign > 0:
            cells = {
                j for j in range(self.boards) if j and edge < reach - STEP and self._cell(j, edge, reach)
            }
        else:
            cells = {j for j in range(self.boards) if reach < edge - STEP and self._cell_back(j, edge, reach)}
        return soil, cells, True

    def _cell(self, j: int, edge: float, reach: float) -> bool:
        left = self.low.slots.right[j - 1]
        return bool(left >= edge - 1e-9 and left < reach - STEP / 2)

    def _cell_back(self, j: int, edge: float, reach: float) -> bool:
        if j + 1 >= self.boards:
            return False
        right = self.low.slots.left[j + 1]
        return bool(right <= edge + 1e-9 and right > reach + STEP / 2)

    def plan_soil(self, plan: tuple[int, ...]) -> float | None:
        """Soil (in^3) of a plan: per board the stock over soil, or -1; None where it may not be."""
        total, at = 0.0, 0
        used: set[int] = set()
        self.finished = self.ground.copy()
        for k, group in groupby(plan):
            run = list(range(at, at + len(list(group))))
            at = run[-1] + 1
            if k < 0:
                continue
            a, b = float(self.low.slots.left[run[0]]), float(self.low.slots.right[run[-1]])
            if len(run) < 2 or b - a < self.soil.least_length - 1e-6:
                return None
            top = 70.0 - self.stock[k].length
            if any(not self.can_fill(i, k) for i in run):
                return None
            total += self.soil_under(np.full_like(self.x, top), (self.x >= a - 1e-9) & (self.x <= b + 1e-9))
            for edge, sign in ((a, -1), (b, 1)):
                soil, cells, allowed = self.taper(edge, top, sign)
                if not allowed or cells & used or any(plan[j] >= 0 for j in cells):
                    return None
                used |= cells
                total += soil
        return total

    def rungs(self, plan: tuple[int, ...], honest: bool) -> list[int]:
        """Least stock of every board over the finished ground of the plan measured last.

        `honest`: as it is cut; else as the choice weighs it, to which a board that a fill's end leaves with
        more than the largest gap is no gain.
        """
        found = []
        for i, k in enumerate(plan):
            raised = self._shortest(i, self.finished)
            keep = honest or not self._too_open(i, self.finished)
            found.append(k if k >= 0 else raised if keep else self.shortest[i])
        return found

    def boards_cost(self, rungs: list[int]) -> float:
        """Least money for boards of these least lengths, boards on hand given out by assignment."""
        pile = [k for k, s in enumerate(self.stock) for _ in range(s.on_hand)]
        dear = 1e6
        buy = [min((s.price for s in self.stock[r:] if s.price is not None), default=dear) for r in rungs]
        cost = np.full((len(rungs), len(pile) + len(rungs)), np.inf)
        cost = np.where(np.isinf(cost), 1e9, cost)
        for i, r in enumerate(rungs):
            for j, k in enumerate(pile):
                if k >= r:
                    cost[i, j] = 0.0
            cost[i, len(pile) + i] = buy[i]
        rows, columns = linear_sum_assignment(cost)
        return float(cost[rows, columns].sum())

    def weighed(self, plan: tuple[int, ...], honest: bool = False) -> float:
        soil = self.plan_soil(plan)
        return np.inf if soil is None else self.boards_cost(self.rungs(plan, honest)) + soil * self.per_foot

    def best(self) -> float:
        options = [
            [-1, *(k for k in range(len(self.stock)) if self.can_fill(i, k))] for i in range(self.boards)
        ]
        return min(self.weighed(plan) for plan in product(*options))


def check(case: Scene) -> None:
    found = close_low_ground([case.low], case.pickets, case.soil, MARK, UnitSystem.IMPERIAL)
    brute = Brute(case)
    best, plan = brute.best(), [-1] * brute.boards
    for fill in found.runs[0].fills:
        plan[fill.first - 1 : fill.last] = [fill.stock] * (fill.last - fill.first + 1)
    cost = found.bill.total + 1e6 * found.bill.unserved
    assert cost == pytest.approx(brute.weighed(tuple(plan), honest=True), abs=0.005)
    assert found.lower_bound + 1e6 * found.bill.unserved <= best + 0.005
    if not any(s.on_hand for s in case.pickets.stock):
        assert min(brute.weighed(tuple(plan)), cost) <= best + 0.005


HEIGHTS = st.lists(st.integers(-30, 8), min_size=4, max_size=5).map(lambda v: [q / 4 for q in v])


@settings(max_examples=40)
@given(HEIGHTS, st.sampled_from([1.0, 15.0, 60.0, 250.0]), st.sampled_from([2.0, 7.0]))
def test_nothing_cheaper_exists(heights: list[float], price: float, end_slope: float) -> None:
    check(scene(heights, [(69.0, 3.0, 0), (80.0, 5.0, 0)], price, end_slope=end_slope))


@settings(max_examples=20)
@given(HEIGHTS, st.sampled_from([5.0, 60.0]), st.sampled_from([(20.0, 30.0), (0.0, 7.0), (45.0, 48.0)]))
def test_nothing_cheaper_exists_beside_water(
    heights: list[float], price: float, water: tuple[float, float]
) -> None:
    check(scene(heights, [(69.0, 3.0, 0), (73.0, 4.0, 0)], price, water=water, end_slope=3.0))


@settings(max_examples=20)
@given(HEIGHTS, st.integers(0, 5), st.integers(0, 5), st.sampled_from([5.0, 60.0]))
def test_bound_and_cost_enclose_the_best_with_boards_on_hand(
    heights: list[float], short: int, long: int, price: float
) -> None:
    check(scene(heights, [(69.0, 3.0, short), (80.0, 5.0, long)], price, end_slope=3.0))


def test_a_case_in_which_soil_and_boards_both_pay() -> None:
    case = scene([0, -2, -6.5, -2.5, 0], [(69.0, 3.0, 0), (80.0, 8.0, 0)], 10.0, end_slope=3.0)
    found = close_low_ground([case.low], case.pickets, case.soil, MARK, UnitSystem.IMPERIAL)
    assert found.bill.compacted > 0
    assert found.bill.total < found.bills[LowGround.BOARDS].total
    check(case)
