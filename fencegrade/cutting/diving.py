"""Diving: fix part of the relaxed plan, price the rest again, and finish with a small integer programme."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import floor
from time import perf_counter

from fencegrade.cutting.columns import Generator, Relaxation, bar_knapsack
from fencegrade.cutting.constructive import ceil_of, construct
from fencegrade.cutting.correction import correct_values
from fencegrade.cutting.master import Outcome, choose
from fencegrade.cutting.model import Cut, Model
from fencegrade.cutting.patterns import Worth, list_patterns, worth_of
from fencegrade.cutting.pool import Items, Pool, cover_to_cuts

FEW = 2_500
LIKELY = 0.6
"""Part of a board in the relaxed plan from which rounding takes the whole board."""

BRANCHES = 150
"""Branches of a finishing integer programme; twice as many where all fillings that may serve are known."""


@dataclass(slots=True)
class _Dive:
    """What is fixed so far and what is left to cut."""

    left: list[int]
    limits: list[int | None]
    cost: int = 0
    cuts: list[Cut] = field(default_factory=list)

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """How the rest of a dive ended: `settled` if it was found or cannot be within the target."""

    settled: bool
    cuts: tuple[Cut, ...] | None


def dive(
    generator: Generator, root: Relaxation, target: int, until: float, *, share: float, small: int
) -> tuple[Cut, ...] | None:
    """Look for a plan that costs no more than `target`.

    share: part of the boards left that is fixed before pricing again
    small: number of boards that the finishing integer programme is given
    """
    model, pool = generator.model, generator.pool
    state = _Dive(left=list(model.demands), limits=[bar.limit for bar in model.bars])
    relaxation: Relaxation | None = root
    while relaxation is not None and perf_counter() < until:
        times = list(relaxation.relaxed.times)
        boards = sum(times)
        if boards <= small:
            last = boards <= small / 3
            finish = _finish(generator, state, relaxation, target, until, last=last)
            if finish.settled or last:
                return finish.cuts
        _fix_some(model, pool, state, times, share)
        if state.cost > target:
            return None
        if not any(state.left):
            return tuple(state.cuts)
        relaxation = generator.run(state.left, state.limits, until, goal=target - state.cost + 1, rounds=40)
        if relaxation is None or ceil_of(relaxation.bound) + state.cost > target:
            return None
    return None


def round_off(generator: Generator, root: Relaxation, work: float) -> tuple[Cut, ...]:
    """Keep the whole parts of the relaxed plan and cut the rest by value correction: a plan at once.

    work: cells of the knapsack that may be spent. A bar kind's limit may be passed; the caller looks.
    """
    model, pool = generator.model, generator.pool
    state = _Dive(left=list(model.demands), limits=[bar.limit for bar in model.bars])
    for column, times in enumerate(root.relaxed.times):
        if whole := floor(times + 1e-6):
            state.fix(model, pool.bars[column], pool.items[column], whole)
    for column in sorted(range(len(root.relaxed.times)), key=lambda c: (-(root.relaxed.times[c] % 1.0), c)):
        if root.relaxed.times[column] % 1.0 < LIKELY:
            break
        state.fix(model, pool.bars[column], pool.items[column], 1)
    if not any(state.left):
        return tuple(state.cuts)
    rest, names = _rest(model, state)
    cuts = correct_values(rest, bar_knapsack(rest), 0, construct(rest), work, 100)
    return (*state.cuts, *_named(cuts, names))


def _named(cuts: Iterable[Cut], names: Sequence[int]) -> list[Cut]:
    """The cuts of a rest by the piece numbers of the whole."""
    return [replace(cut, items=tuple((names[i], n) for i, n in cut.items)) for cut in cuts]


def _fix_some(model: Model, pool: Pool, state: _Dive, times: Sequence[float], share: float) -> None:
    """Fix the whole parts, then the largest fractions, until the wanted share of boards is fixed."""
    boards = sum(times)
    wanted = max(1.0, share * boards)
    fixed = 0
    order = sorted(
        (c for c, t in enumerate(times) if t > 1e-6), key=lambda c: (floor(times[c] + 1e-6) - times[c], c)
    )
    for column in order:
        whole = floor(times[column] + 1e-6)
        if whole and fixed < wanted * 2:
            fixed += state.fix(model, pool.bars[column], pool.items[column], whole)
    for column in order:
        if fixed >= wanted:
            break
        fixed += state.fix(model, pool.bars[column], pool.items[column], 1)


def _finish(
    generator: Generator, state: _Dive, relaxation: Relaxation, target: int, until: float, *, last: bool
) -> Finish:
    """Settle the rest: exactly where its fillings are few, and at last with the fillings known."""
    rest, names = _rest(generator.model, state)
    worth = worth_of(
        rest, [relaxation.values[i] for i in names], generator.scale, bar_knapsack(rest), target - state.cost
    )
    pool = list_patterns(rest, [worth], FEW, full=False)
    exact = pool is not None
    if pool is None and last:
        pool = _best_patterns(rest, worth)
    if pool is None:
        if not last:
            return Finish(settled=False, cuts=None)
        pool = Pool(rest)
    if not exact:
        _add_known(pool, generator.pool, names)
    if not len(pool):
        return Finish(settled=exact, cuts=None)
    limits = [bar.limit for bar in rest.bars]
    most = target - state.cost if exact or len(rest.bars) == 1 else None
    outcome, times = choose(
        pool,
        rest.demands,
        limits,
        most,
        until - perf_counter(),
        nodes=BRANCHES * (1 + exact),
        exactly=exact,
    )
    if times is None:
        return Finish(settled=exact and outcome is Outcome.infeasible, cuts=None)
    cuts = cover_to_cuts(rest, pool, times, rest.demands)
    if cuts is None:
        return Finish(settled=False, cuts=None)
    return Finish(settled=True, cuts=(*state.cuts, *_named(cuts, names)))


def _best_patterns(rest: Model, worth: Worth) -> Pool | None:
    """List the fillings of least reduced cost, as many as are few."""
    for halvings in range(1, 5):
        nearer = tuple(c - ((c - w) >> halvings) for c, w in zip(worth.charges, worth.least, strict=True))
        pool = list_patterns(rest, [replace(worth, least=nearer)], FEW, full=False)
        if pool is not None:
            return pool
    return None


def _rest(model: Model, state: _Dive) -> tuple[Model, list[int]]:
    names = [i for i, n in enumerate(state.left) if n]
    rest = Model(
        weights=tuple(model.weights[i] for i in names),
        demands=tuple(state.left[i] for i in names),
        bars=tuple(replace(bar, limit=limit) for bar, limit in zip(model.bars, state.limits, strict=True)),
    )
    return rest, names


def _add_known(pool: Pool, known: Pool, names: list[int]) -> None:
    """Add fillings known so far, cut down to the pieces that are left."""
    place = {i: k for k, i in enumerate(names)}
    demands = pool.model.demands
    for bar, items in zip(known.bars, known.items, strict=True):
        pool.add(bar, tuple((place[i], min(n, demands[place[i]])) for i, n in items if i in place))
