"""The cutting question as solvers see it: equal pieces merged, the saw cut folded in, prices in whole units.

A board of length c gives pieces l1 .. ln with a cut of width k between neighbours when

    l1 + k + l2 + k + .. + ln <= c      that is      (l1 + k) + .. + (ln + k) <= c + k

so each piece becomes l + k, each board c + k, and the saw is forgotten.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd, lcm

from msgspec import Struct
from msgspec.structs import replace

from fencegrade.cutting.reading import exact_price
from fencegrade.cutting.records import Problem

Items = tuple[tuple[int, int], ...]
"""What is cut from a board: pairs of a piece and its number, pieces rising."""

Way = tuple[int, Items]
"""A kind of board and what is cut from it."""


class Bar(Struct, frozen=True, kw_only=True):
    """One kind of board: folded capacity, cost in whole units, how many (None: any number), and its origin.

    `lacking` marks boards that nobody offered: a plan that uses one shows that the stock on offer is too
    little.
    """

    capacity: int
    cost: int
    limit: int | None
    entry: int
    on_hand: bool = False
    lacking: bool = False


class Model(Struct, frozen=True, kw_only=True):
    """Folded weights (strictly falling) with their demands, and the bars they are cut from."""

    weights: tuple[int, ...]
    demands: tuple[int, ...]
    bars: tuple[Bar, ...]

    @property
    def total(self) -> int:
        """Weight of everything wanted."""
        return sum(w * d for w, d in zip(self.weights, self.demands, strict=True))


class Cut(Struct, frozen=True, kw_only=True):
    """A bar kind, what is cut from it, and how many bars are cut so."""

    bar: int
    items: Items
    times: int


class Result(Struct, frozen=True, kw_only=True):
    """What a search found: a plan, its cost, and what no plan costs less than, as proved (`raw`).

    `short`: the boards on offer are proven to be too few; the plan then uses some that are lacking.
    """

    cuts: tuple[Cut, ...]
    cost: int
    raw: Fraction
    short: bool = False


class Left:
    """Pieces and boards that are left while a plan is made, and what has been cut.

    limits: boards of each kind, where not those of the model; None: any number
    """

    def __init__(self, model: Model, limits: Iterable[int | None] | None = None) -> None:
        self.model, self.cuts = model, list[Cut]()
        self.pieces = list(model.demands)
        self.boards = [bar.limit for bar in model.bars] if limits is None else list(limits)

    def cut(self, bar: int, items: Items, times: int) -> int:
        """Cut a filling as often as pieces and boards last, at most `times`; returns how often."""
        there = self.boards[bar]
        often = min([times if there is None else min(times, there), *(self.pieces[i] // n for i, n in items)])
        if often <= 0:
            return 0
        for i, n in items:
            self.pieces[i] -= n * often
        if there is not None:
            self.boards[bar] = there - often
        self.cuts.append(Cut(bar=bar, items=items, times=often))
        return often

    @property
    def rest(self) -> Model:
        """What is left as a question of its own, pieces and boards by the same numbers."""
        bars = (replace(bar, limit=n) for bar, n in zip(self.model.bars, self.boards, strict=True))
        return replace(self.model, demands=tuple(self.pieces), bars=tuple(bars))


def ceil_of(value: Fraction) -> int:
    """Round up to a whole number."""
    return -(-value.numerator // value.denominator)


def plan_cost(model: Model, cuts: Iterable[Cut]) -> int:
    """Add up what the bars of a plan cost."""
    return sum(model.bars[cut.bar].cost * cut.times for cut in cuts)


def used(model: Model, items: Iterable[tuple[int, int]]) -> int:
    """Weight of some pieces."""
    return sum(model.weights[i] * n for i, n in items)


def serves(model: Model, cuts: Iterable[Cut]) -> bool:
    """True where cuts hold every piece once and no limited bar is cut more often than it is there."""
    left = Left(model)
    cut_so = all(left.cut(cut.bar, cut.items, cut.times) == cut.times for cut in cuts)
    return cut_so and not any(left.pieces)


def lacks(model: Model, cuts: Iterable[Cut]) -> bool:
    """True where a plan uses boards that nobody offered."""
    return any(model.bars[cut.bar].lacking for cut in cuts)


def cost_unit(problem: Problem) -> Fraction:
    """Give the greatest amount of which every price (or length, where nothing has a price) is a multiple."""
    prices = [p for p in _costs(problem) if p > 0]
    if not prices:
        return Fraction(1)
    bottom = lcm(*(p.denominator for p in prices))
    return Fraction(gcd(*(int(p * bottom) for p in prices)), bottom)


def build_model(problem: Problem, lengths: Sequence[int]) -> Model:
    """Fold a problem whose pieces are to be cut to `lengths` (one for each entry of `problem.pieces`)."""
    wanted: dict[int, int] = {}
    for piece, length in zip(problem.pieces, lengths, strict=True):
        if piece.count:
            wanted[length + problem.kerf] = wanted.get(length + problem.kerf, 0) + piece.count
    weights = tuple(sorted(wanted, reverse=True))
    bars = _bars(problem, min(weights, default=0), sum(wanted.values()))
    if weights:
        bars = _without_dominated(bars, sum(wanted.values()))
    return Model(weights=weights, demands=tuple(wanted[w] for w in weights), bars=tuple(bars))


def _costs(problem: Problem) -> list[Fraction]:
    """What one bought board of each stock entry costs; 0 for what cannot be bought."""
    costs = (exact_price(s.length if s.price is None else s.price) for s in problem.stock)
    return [cost if s.limit != 0 else Fraction(0) for s, cost in zip(problem.stock, costs, strict=True)]


def _bars(problem: Problem, least: int, count: int) -> list[Bar]:
    unit = cost_unit(problem)
    bars: list[Bar] = []
    for entry, (stock, cost) in enumerate(zip(problem.stock, _costs(problem), strict=True)):
        capacity = stock.length + problem.kerf
        if capacity < least:
            continue
        if stock.on_hand:
            free = Bar(capacity=capacity, cost=0, limit=min(stock.on_hand, count), entry=entry, on_hand=True)
            bars.append(free)
        if stock.limit != 0:
            limit = None if stock.limit is None or stock.limit >= count else stock.limit
            bars.append(Bar(capacity=capacity, cost=int(cost / unit), limit=limit, entry=entry))
    return bars


def _without_dominated(bars: list[Bar], count: int) -> list[Bar]:
    """Drop bars that an unlimited one betters, and add one without a limit where the longest have theirs.

    That one is dearer than any plan without it, so that it is used only where nothing on offer serves.
    """
    kept: list[Bar] = []
    order = sorted(bars, key=lambda b: (b.cost, -b.capacity, b.limit is not None, b.entry))
    for bar in order:
        if not any(k.limit is None and k.capacity >= bar.capacity and k.cost <= bar.cost for k in kept):
            kept.append(bar)
    longest = max(kept, key=lambda b: b.capacity)
    if all(bar.limit is not None for bar in kept if bar.capacity == longest.capacity):
        dear = 1 + count * max(bar.cost for bar in kept)
        kept.append(replace(longest, cost=dear, limit=None, on_hand=False, lacking=True))
    return sorted(kept, key=lambda b: (b.capacity, b.cost, b.entry))
