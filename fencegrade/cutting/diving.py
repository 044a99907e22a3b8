"""Diving: fix part of the relaxed plan, price the rest again, and finish with all fillings that may serve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import floor, inf
from random import Random

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


class _Part(Struct, frozen=True, kw_only=True):
    """What is left of the pieces and boards, its column generation, and the names its pieces have outside."""

    model: Model
    generator: Generator
    relaxation: Relaxation
    names: list[int]

    @property
    def boards(self) -> float:
        """Boards of the relaxed plan."""
        return float(sum(self.relaxation.relaxed.times))


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
    turns: int = 1,
) -> tuple[Cut, ...] | None:
    """Look for a plan that costs no more than `target`.

    share: part of the boards left that is fixed before pricing again
    small: number of boards for which fillings are listed
    trials: further piece values whose rows the fillings of that programme must meet
    limits: boards of each kind, where not those of the model
    until: work spent at which the dive ends
    turns: how often it goes down, after the first time from a part of what was fixed
    """
    model = generator.model
    asked = [bar.limit for bar in model.bars] if limits is None else limits
    model, names = _rest(model, Fixed(model.demands, asked))
    whole = _Part(model=model, generator=generator, relaxation=relaxation, names=names)
    return _Dive(whole, target, share, small, trials, until).run(turns)


class _Dive:
    """Fixes part of a plan, prices what is left, and so on down; then frees some boards and goes on.

    cuts: what is fixed, by the names of the whole
    """

    def __init__(
        self,
        whole: _Part,
        target: int,
        share: float,
        small: int,
        trials: Sequence[Sequence[int]],
        until: float,
    ) -> None:
        self.whole, self.target, self.share, self.small = whole, target, share, small
        self.trials, self.until, self.effort = trials, until, whole.generator.effort
        self.cuts: list[Cut] = []
        self.chance = Random(1)

    @property
    def over(self) -> bool:
        """True once the work allowed is done."""
        return self.effort.over or self.effort.spent > self.until

    def run(self, turns: int) -> tuple[Cut, ...] | None:
        """Go down, and again from a part of what was fixed, as long as there is work left."""
        part: _Part | None = self.whole
        for turn in range(turns):
            if part is not None and self._down(part):
                return tuple(self.cuts)
            if self.over or not self.cuts or turn == turns - 1:
                break
            part = self._freed(int(self.small * FREED * MORE_FREED**turn))
        return None

    def _down(self, part: _Part) -> bool:
        """Fix share after share; true once everything is."""
        while part.names and not self.over:
            last = part.boards <= self.small / 3
            if part.boards <= self.small:
                settled, cuts = _finish(part, self.trials, self._left(()), last=last)
                self.cuts += cuts or ()
                if settled or last:
                    return cuts is not None
            deeper = self._deeper(part)
            if deeper is None:
                return False
            part = deeper
        return not part.names

    def _left(self, cuts: Iterable[Cut]) -> int:
        """What may still be spent beside what is fixed and these cuts."""
        return self.target - plan_cost(self.whole.model, self.cuts) - plan_cost(self.whole.model, cuts)

    def _deeper(self, part: _Part) -> _Part | None:
        """Fix a share of the boards; a third of it where what is left would cost too much."""
        pool, times = part.generator.pool, part.relaxation.relaxed.times.tolist()
        for share in (self.share, self.share / 3):
            state = Fixed(part.model.demands, [bar.limit for bar in part.model.bars])
            _fix_some(part.model, pool, state, times, share)
            deeper = None if self.over else self._priced(part, state, self._left(state.cuts))
            if deeper is not None:
                self.cuts += _named(state.cuts, part.names)
                return deeper
        return None

    def _priced(self, part: _Part, state: Fixed, most: int) -> _Part | None:
        """Generate columns for what a state leaves of a part; None where it would cost more than `most`."""
        if most < 0:
            return None
        rest, left = _rest(part.model, state)
        names = [part.names[i] for i in left]
        if not names:
            return replace(part, names=names)
        pool = _rest_pool(rest, part.generator.pool, left)
        inner = Generator(rest, pool, bar_knapsack(rest, self.effort))
        found = inner.run(rest.demands, [bar.limit for bar in rest.bars], goal=most + 1, rounds=ROUNDS)
        if found is None or ceil_of(found.bound) > most:
            return None
        return _Part(model=rest, generator=inner, relaxation=found, names=names)

    def _freed(self, number: int) -> _Part | None:
        """Take back so many boards at random, and price them with what was left."""
        single = [replace(cut, times=1) for cut in self.cuts for _ in range(cut.times)]
        self.chance.shuffle(single)
        freed, self.cuts = single[:number], single[number:]
        state = Fixed(self.whole.model.demands, [bar.limit for bar in self.whole.model.bars])
        for cut in self.cuts:
            state.fix(self.whole.model, cut.bar, cut.items, 1)
        self.whole.generator.pool.add_cuts(freed)
        return self._priced(self.whole, state, self._left(()))


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
    part: _Part, trials: Sequence[Sequence[int]], target: int, *, last: bool
) -> tuple[bool, list[Cut] | None]:
    """Settle the rest: exactly where its fillings are few, and at last with the fillings known.

    Returns whether it is settled (found, or proven not to be there), and what was found, by outer names.
    """
    rest, effort, knapsack = part.model, part.generator.effort, part.generator.knapsack
    values = [part.relaxation.values, *([trial[i] for i in part.names] for trial in trials)]
    asked = conditions(rest, [make_row(rest, knapsack, each) for each in values], target, MOST_ROWS)
    pool = list_patterns(rest, asked, FEW, effort, full=False)
    exact = pool is not None
    if pool is None and last:
        pool = _best_patterns(rest, asked[0], effort)
    if pool is None:
        return False, None
    if not len(pool):
        return exact, None
    limits = [bar.limit for bar in rest.bars]
    outcome, times = plunge(pool, rest.demands, limits, target, effort, tries=TRIES, exactly=exact)
    cuts = None if times is None else cover_to_cuts(rest, pool, times, rest.demands)
    if cuts is None:
        return exact and outcome is Outcome.infeasible, None
    return True, _named(cuts, part.names)


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
