"""Sequential value correction: fill bars one by one for pseudo-values that rise for pieces that packed badly.

Belov and Scheithauer, INFORMS Journal on Computing 19 (2007) 27-35, describe the heuristic; the details here
are our own. Random choices come from a fixed seed, so equal problems get equal plans.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from fencegrade.cutting.knapsack import Knapsack
from fencegrade.cutting.model import Cut, Model, plan_cost

RESOLUTION = 1 << 20


def correct_values(
    model: Model, knapsack: Knapsack, target: int, best: tuple[Cut, ...], work: float, passes: int
) -> tuple[Cut, ...]:
    """Improve a plan by repeated passes until it costs no more than `target`.

    passes: at most so many; work: at most so much of `Effort`
    """
    chance = Random(20)
    end = knapsack.effort.spent + work
    cost = plan_cost(model, best)
    values = [float(w) for w in model.weights]
    for number in range(passes):
        if cost <= target or _over(knapsack, end):
            break
        power = 1.0 + 0.04 * chance.random() * (number % 3)
        cuts = _one_pass(model, knapsack, values, chance, power, (cost, end))
        if cuts is not None and plan_cost(model, cuts) < cost:
            best, cost = tuple(cuts), plan_cost(model, cuts)
    return best


def _over(knapsack: Knapsack, end: float) -> bool:
    return knapsack.effort.spent > end or knapsack.effort.clock_over


def _one_pass(
    model: Model,
    knapsack: Knapsack,
    values: list[float],
    chance: Random,
    power: float,
    most: tuple[int, float],
) -> list[Cut] | None:
    """One whole plan; None as soon as it costs as much, or takes as long, as `most` says."""
    left = list(model.demands)
    limits = [bar.limit for bar in model.bars]
    spent, cuts = 0, []
    while any(left):
        if spent >= most[0] or _over(knapsack, most[1]):
            return None
        top = max(v for v, n in zip(values, left, strict=True) if n)
        knapsack.fill([int(v / top * RESOLUTION) + 1 for v in values], left)
        cut = _pick(model, knapsack, values, left, limits)
        for i, number in cut.items:
            left[i] -= number * cut.times
        limit = limits[cut.bar]
        if limit is not None:
            limits[cut.bar] = limit - cut.times
        spent += model.bars[cut.bar].cost * cut.times
        cuts.append(cut)
        _correct(model, values, left, cut, chance, power)
    return cuts


def _pick(
    model: Model, knapsack: Knapsack, values: list[float], left: list[int], limits: Sequence[int | None]
) -> Cut:
    best = None
    for b, bar in enumerate(model.bars):
        if limits[b] == 0 or not int(knapsack.best[bar.capacity]):
            continue
        numbers = knapsack.filling(bar.capacity)
        worth = sum(values[i] * n for i, n in numbers.items())
        score = (bar.cost / worth, b)
        if best is None or score < best[0]:
            best = (score, b, numbers)
    assert best is not None, "the longest bar is never limited"
    _, b, numbers = best
    times = min(left[i] // n for i, n in numbers.items())
    limit = limits[b]
    return Cut(
        bar=b, items=tuple(sorted(numbers.items())), times=times if limit is None else min(times, limit)
    )


def _correct(
    model: Model, values: list[float], left: list[int], cut: Cut, chance: Random, power: float
) -> None:
    """Blend into each piece's value what it cost in this bar, its share of the loss included."""
    bar = model.bars[cut.bar]
    used = sum(model.weights[i] * n for i, n in cut.items)
    spread = bar.capacity / used
    for i, number in cut.items:
        inertia = (1.0 + chance.random()) * (model.demands[i] + left[i]) / (number * cut.times)
        shared = float(model.weights[i]) ** power * spread
        values[i] = (inertia * values[i] + shared) / (inertia + 1.0)
