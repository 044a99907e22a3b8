"""Diving: fix part of the relaxed plan, price the rest again, and finish with all fillings that may serve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import floor, inf

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from fencegrade.cutting.columns import Generator, Relaxation, bar_knapsack
from fencegrade.cutting.constructive import construct
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.master import Outcome, plunge
from fencegrade.cutting.model import Cut, Model, ceil_of, plan_cost
from fencegrade.cutting.patterns import list_patterns
from fencegrade.cutting.pool import Items, Pool, cover_to_cuts
from fencegrade.cutting.rows import Condition, conditions, make_row

ALMOST = 1e-6
"""Part of one by which a number of boards may miss a whole one."""

FEW = 5_000
"""Fillings listed for the last boards; with 2,500 dives took a tenth longer, with 12,000 a quarter."""
MOST_ROWS = 4
"""Rows whose conditions the listing of a rest is pruned by."""

LIKELY, PARTS = 0.6, (0.4, 0.6, 0.8, 0.95)
"""Part of a board in the relaxed plan from which rounding takes the whole board; others tried."""

TRIES = 6
"""Random costs for which the last boards are tried: the first finds a choice in four of five, at 10 to 30 ms
where an integer programme took 200 to 800.
"""


class Fixed:
    """What is fixed so far, and the pieces and boards that are left."""

    def __init__(self, left: Sequence[int], limits: Sequence[int | None]) -> None:
        self.left, self.limits, self.cost = list(left), list(limits), 0
        self.cuts: list[Cut] = []

    def fix(self, model: Model, bar: int, items: Items, times: int) -> int:
        """Fix a filling as often as it still goes, at most `times`; returns how often."""
        fits = min([times, *(self.left[i] // n for i, n in items)])
        limit = self.limits[bar]
        if limit is not None:
            fits = min(fits, limit)
        if fits <= 0:
            return 0
        for i, n in items:
            self.left[i] -= n * fits
        if limit is not None:
            self.limits[bar] = limit - fits
        self.cost += model.bars[bar].cost * fits
        self.cuts.append(Cut(bar=bar, items=items, times=fits))
        return fits


class Finish(Struct, frozen=True, kw_only=True):
    """How the rest of a dive ended: `settled` if it was found or cannot be within the target."""

    settled: bool
    cuts: tuple[Cut, ...] | None


def dive(
    generator: Generator,
    relaxation: Relaxation,
    target: int,
    *,
    share: float,
    small: int,
    trials: Sequence[Sequence[int]] = (),
    limits: Sequence[int | None] | None = None,
    until: float = inf,
) -> tuple[Cut, ...] | None:
    """Look for a plan that costs no more than `target`.

    share: part of the boards left that is fixed before pricing again
    small: number of boards for which fillings are listed
    trials: further piece values whose rows the fillings of that programme must meet
    limits: boards of each kind, where not those of the model
    until: work spent at which the dive ends
    """
    model, pool = generator.model, generator.pool
    asked = [bar.limit for bar in model.bars] if limits is None else limits
    times = relaxation.relaxed.times
    boards = sum(times)
    if boards <= small:
        state = Fixed(model.demands, asked)
        last = boards <= small / 3
        finish = _finish(generator, state, [relaxation.values, *trials], target, last=last)
        if finish.settled or last:
            return finish.cuts
    for part in (share, share / 3):
        if generator.effort.over or generator.effort.spent > until:
            return None
        state = Fixed(model.demands, asked)
        _fix_some(model, pool, state, times.tolist(), part)
        if state.cost > target:
            return None
        if not any(state.left):
            return tuple(state.cuts)
        rest, names = _rest(model, state)
        inner = Generator(rest, _rest_pool(rest, pool, names), bar_knapsack(rest, generator.effort))
        rest_limits = [bar.limit for bar in rest.bars]
        deeper = inner.run(rest.demands, rest_limits, goal=target - state.cost + 1, rounds=40)
        if deeper is None or ceil_of(deeper.bound) + state.cost > target:
            continue
        values = [[trial[i] for i in names] for trial in trials]
        found = dive(inner, deeper, target - state.cost, share=share, small=small, trials=values, until=until)
        return None if found is None else (*state.cuts, *_named(found, names))
    return None


def _rest_pool(rest: Model, known: Pool, names: list[int]) -> Pool:
    """The fillings known that the rest has the pieces for, and one for each piece that is in none."""
    pool = Pool(rest)
    place = {i: k for k, i in enumerate(names)}
    free = max(
        (b for b, bar in enumerate(rest.bars) if bar.limit is None), key=lambda b: rest.bars[b].capacity
    )
    for i, (weight, demand) in enumerate(zip(rest.weights, rest.demands, strict=True)):
        pool.add(free, ((i, min(demand, rest.bars[free].capacity // weight)),))
    for bar, items in zip(known.bars, known.items, strict=True):
        if all(i in place and n <= rest.demands[place[i]] for i, n in items):
            pool.add(bar, tuple((place[i], n) for i, n in items))
    return pool


def rounded(
    model: Model, pool: Pool, times: NDArray[np.float64], limits: Sequence[int | None], part: float
) -> Fixed:
    """Fix the whole parts of a fractional plan, and one board more where the rest is `part` or above."""
    state = Fixed(model.demands, limits)
    for column, number in enumerate(times.tolist()):
        if whole := floor(number + ALMOST):
            state.fix(model, pool.bars[column], pool.items[column], whole)
    for column in sorted(range(len(times)), key=lambda c: (-(times[c] % 1.0), c)):
        if times[column] % 1.0 < part:
            break
        state.fix(model, pool.bars[column], pool.items[column], 1)
    return state


def round_off(generator: Generator, root: Relaxation) -> tuple[Cut, ...]:
    """Keep the whole parts of the relaxed plan and cut the rest board by board: a plan at once.

    A bar kind's limit may be passed; the caller looks.
    """
    model = generator.model
    limits = [bar.limit for bar in model.bars]
    plans = []
    for part in PARTS:
        state = rounded(model, generator.pool, root.relaxed.times, limits, part)
        rest, names = _rest(model, state)
        plans.append((*state.cuts, *_named(construct(rest) if names else (), names)))
    return min(plans, key=lambda cuts: plan_cost(model, cuts))


def _named(cuts: Iterable[Cut], names: Sequence[int]) -> list[Cut]:
    """The cuts of a rest by the piece numbers of the whole."""
    return [replace(cut, items=tuple((names[i], n) for i, n in cut.items)) for cut in cuts]


def _fix_some(model: Model, pool: Pool, state: Fixed, times: Sequence[float], share: float) -> None:
    """Fix the whole parts, then the largest fractions, until the wanted share of boards is fixed."""
    boards = sum(times)
    wanted = max(1.0, share * boards)
    fixed = 0
    order = sorted(
        (c for c, t in enumerate(times) if t > ALMOST), key=lambda c: (floor(times[c] + ALMOST) - times[c], c)
    )
    for column in order:
        whole = floor(times[column] + ALMOST)
        if whole and fixed < wanted * 2:
            fixed += state.fix(model, pool.bars[column], pool.items[column], whole)
    for column in order:
        if fixed >= wanted:
            break
        fixed += state.fix(model, pool.bars[column], pool.items[column], 1)


def _finish(
    generator: Generator, state: Fixed, trials: Sequence[Sequence[int]], target: int, *, last: bool
) -> Finish:
    """Settle the rest: exactly where its fillings are few, and at last with the fillings known."""
    rest, names = _rest(generator.model, state)
    effort, knapsack = generator.effort, bar_knapsack(rest, generator.effort)
    rows = [make_row(rest, knapsack, [values[i] for i in names]) for values in trials]
    asked = conditions(rest, rows, target - state.cost, MOST_ROWS)
    pool = list_patterns(rest, asked, FEW, effort, full=False)
    exact = pool is not None
    if pool is None and last:
        pool = _best_patterns(rest, asked[0], effort)
    if pool is None:
        if not last:
            return Finish(settled=False, cuts=None)
        pool = Pool(rest)
    if not len(pool):
        return Finish(settled=exact, cuts=None)
    limits = [bar.limit for bar in rest.bars]
    outcome, times = plunge(
        pool, rest.demands, limits, target - state.cost, effort, tries=TRIES, exactly=exact
    )
    cuts = None if times is None else cover_to_cuts(rest, pool, times, rest.demands)
    if cuts is None:
        return Finish(settled=exact and outcome is Outcome.infeasible, cuts=None)
    return Finish(settled=True, cuts=(*state.cuts, *_named(cuts, names)))


def _best_patterns(rest: Model, asked: Condition, effort: Effort) -> Pool | None:
    """List the fillings that leave least worth unused, as many as are few."""
    best = make_row(rest, bar_knapsack(rest, effort), asked.values).worth
    for halvings in range(1, 12):
        nearer = tuple(
            None if least is None else w - ((w - least) >> halvings)
            for w, least in zip(best, asked.least, strict=True)
        )
        pool = list_patterns(rest, [replace(asked, least=nearer)], FEW, effort, full=False)
        if pool is not None:
            return pool
    return None


def _rest(model: Model, state: Fixed) -> tuple[Model, list[int]]:
    names = [i for i, n in enumerate(state.left) if n]
    rest = Model(
        weights=tuple(model.weights[i] for i in names),
        demands=tuple(state.left[i] for i in names),
        bars=tuple(replace(bar, limit=limit) for bar, limit in zip(model.bars, state.limits, strict=True)),
    )
    return rest, names
