"""Searches for a top line against independent ways to one number: grids, brute force, the cut pipeline."""

from collections.abc import Callable
from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from top_wishes import build, solved, stepped_slots

from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.fence.stock import choose_stock, needs_of
from fencegrade.fence.tops.asked import TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.chains import chain_over, meetings_at
from fencegrade.fence.tops.cheapest_near import _pair_costs, _Window, cheapest_near
from fencegrade.fence.tops.hull import support
from fencegrade.fence.tops.least_sum import least_sum
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_alone, ground_and_boards
from fencegrade.fence.tops.linear_programme import Aim
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.stepped import choose as choose_stepped
from fencegrade.fence.tops.string_heights import string_heights
from fencegrade.fence.tops.styles import choose_tops
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut, Fit
from fencegrade.job.records import Stock
from fencegrade.units.arrays import Floats

STOCK = ((72, 3.6), (84, 5.0), (96, 6.1), (120, 9.0))


def random_ground(
    seed: int, readings: int = 9, apart: float = 48.0, spread: float = 6.0, face: bool = False
) -> GroundLine:
    rng = np.random.default_rng(seed)
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(0.6, 1.4, readings - 1) * apart)])
    z = np.cumsum(rng.normal(0, spread, readings))
    if face:
        x = np.insert(x, 5, x[4])
        z = np.insert(z, 5, z[4] - 10.0)
    return ground_line(x, z)


def boards(wish: TopWish) -> tuple[Floats, Floats]:
    """The middle of each board, and the highest ground under it by sampling."""
    share = np.linspace(0, 1, 401)
    x = wish.slots.left[:, None] + wish.slots.width[:, None] * share
    x[:, -1] = wish.slots.right
    after, before = wish.line.elevation(x), wish.line.elevation(x, before=True)
    z = np.concatenate([after[:, :-1], before[:, -1:]], axis=1)
    inner = wish.line.stations
    for k, (a, b) in enumerate(zip(wish.slots.left, wish.slots.right, strict=True)):
        z[k, 0] = max([z[k, 0], *wish.line.elevation(inner[(inner > a) & (inner < b)])])
    return wish.slots.centre, z.max(axis=1)


def to_clear(wish: TopWish, count: int = 20_001) -> tuple[Floats, Floats]:
    """All a line has to clear, by sampling: the ground, and over the middle of each board its highest."""
    (x, z), (middle, high) = dense(wish.line, count), boards(wish)
    return np.concatenate([x, middle]), np.concatenate([z, high])


def dense(line: GroundLine, count: int = 200_001) -> tuple[Floats, Floats]:
    """Stations and the higher ground at them, by sampling."""
    x = np.union1d(np.linspace(line.start, line.end, count), line.stations)
    after = line.elevation(x)
    before = line.elevation(x, before=True)
    return x, np.maximum(before, after)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("face", [False, True])
def test_support_against_sampled_ground(seed: int, face: bool) -> None:
    line = random_ground(seed, face=face)
    hull = support(ground_alone(line), line.start, line.end)
    x, z = dense(line)
    slopes = np.random.default_rng(seed).uniform(-0.6, 0.6, 40)
    high, touch = hull.at(slopes)
    for m, h, t in zip(slopes, high, touch, strict=True):
        sampled = (z - m * x).max()
        assert h >= sampled - 1e-9
        assert h == pytest.approx(sampled, abs=1e-5)
        assert t == pytest.approx(x[np.argmax(z - m * x)], abs=0.5)


@pytest.mark.parametrize("seed", range(4))
def test_least_mean_line_against_a_grid(seed: int) -> None:
    line = random_ground(seed)
    middle = (line.start + line.end) / 2
    hull = support(ground_alone(line), line.start, line.end)
    slope = hull.lowest_over(middle)
    high, _ = hull.at(np.array([slope]))
    lowest = float(high[0]) + 72.0 + slope * (middle - line.start)
    x, z = dense(line, 20_001)
    mean = [(z - m * (x - middle)).max() + 72 for m in np.linspace(-0.5, 0.5, 2001)]
    assert lowest <= min(mean) + 1e-5
    assert lowest == pytest.approx(min(mean), abs=0.05)


def line_cost(wish: TopWish, x: Floats, z: Floats, slope: float) -> float:
    """Cost of the lowest line of a slope over sampled ground, by the cut pipeline."""
    base = (z - slope * x).max() + wish.least_height
    return wish.cost.total(base + slope * wish.slots.centre)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("limit", [None, 0.02])
def test_sloped_top_against_a_dense_grid(seed: int, limit: float | None) -> None:
    wish = build(random_ground(seed), stock=STOCK, limits=TopLimits(most_slope=limit))
    choice = choose_sloped(wish)
    x, z = to_clear(wish, 4001)
    bound = 0.4 if limit is None else limit
    grid = np.linspace(-bound, bound, 4001)
    costs = np.array([line_cost(wish, x, z, m) for m in grid])
    assert choice.counted <= costs.min() + 1e-6
    assert choice.least_height == pytest.approx(72, abs=1e-9)
    if limit is not None:
        assert choice.steepest <= limit + 1e-12
    near = costs[np.abs(grid - choice.top.slopes[0]).argmin()]
    assert choice.counted <= near + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_sloped_top_at_every_slope_where_a_board_changes(seed: int) -> None:
    """Every breakpoint found by bracketing instead, and the cost taken at and between them."""
    line = random_ground(seed, readings=6)
    wish = build(line, slots=fill_stretch(line.start, line.end, 11.0, 2.0, Fit.EVEN_GAPS), stock=STOCK)
    x, z = to_clear(wish)
    hull = support(ground_and_boards(line, wish.slots, x[[0, -1]]), line.start, line.end)
    for m in (-0.1, 0.0, 0.07):
        assert hull.at(np.array([m]))[0][0] == pytest.approx((z - m * (x - line.start)).max(), abs=1e-3)

    grid = np.linspace(-1.0, 1.0, 801)
    base = hull.at(grid)[0] + 72

    def over(m: float, centre: float, reach: float) -> float:
        return float(hull.at(np.array([m]))[0][0]) + 72 + m * (centre - line.start) - reach

    slopes = [0.0]
    for centre, reaches in zip(wish.slots.centre, wish.cost.reach, strict=True):
        for reach in reaches:
            values = base + grid * (centre - line.start) - reach
            slopes += [
                brentq(over, grid[k], grid[k + 1], args=(centre, reach), xtol=1e-14)
                for k in np.flatnonzero(np.diff(np.sign(values)))
            ]
    each = np.unique(slopes)
    tried = np.concatenate([each, (each[1:] + each[:-1]) / 2])
    best = min(
        wish.cost.total(float(hull.at(np.array([m]))[0][0]) + 72 + m * (wish.slots.centre - line.start))
        for m in tried
    )
    assert choose_sloped(wish).counted == pytest.approx(best)


@pytest.mark.parametrize("cut", list(BottomCut))
@pytest.mark.parametrize("seed", range(4))
def test_ladder_against_the_cut_pipeline(seed: int, cut: BottomCut) -> None:
    line = random_ground(seed, spread=12.0)
    wish = build(line, stock=STOCK, most_gap=3.0, cut=cut)
    offered = [Stock(length=float(length), price=price) for length, price in STOCK]
    rng = np.random.default_rng(seed)
    n = len(wish.slots)
    for _ in range(20):
        a = float(line.highest(line.start, line.end)) + rng.uniform(40, 110)
        top = TopLine(
            style=TopStyle.SLOPED,
            stations=np.array([line.start, line.end]),
            elevations=np.array([a, a + rng.uniform(-20, 20)]),
        )
        cuts = cut_pickets(line, wish.slots, top, np.full(n, 2.0), cut, wish.mark)
        stock = choose_stock(needs_of(cuts, np.full(n, 3.0), None, wish.mark), offered).stock
        real = np.where(stock >= 0, np.append([p for _, p in STOCK], 0.0)[stock], 9.0 * 1001)
        ladder = wish.cost.at(cuts.top)
        if cut is BottomCut.SQUARE:
            assert ladder == pytest.approx(real)
        else:
            assert np.all(ladder >= real - 1e-9)
            # never more than one tape mark early
            assert np.all(wish.cost.at(cuts.top - 2 * wish.mark) <= real + 1e-9)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("choose", [choose_level, choose_sloped])
def test_string_heights_against_the_cut_pipeline(seed: int, choose: Callable[[TopWish], TopChoice]) -> None:
    line = random_ground(seed)
    wish = build(line, stock=STOCK[:3], most_gap=2.5)
    top = choose(wish).top
    heights = string_heights(line, wish.slots, top, wish.cost, lowest=60.0)
    offered = [Stock(length=float(length), price=price) for length, price in STOCK[:3]]
    n = len(wish.slots)
    assert len(heights) >= 3
    edges = np.insert(heights.offset, 0, heights.offset[0] - 0.2)
    for row, (low, high) in enumerate(pairwise(edges)):
        for offset in (low + 0.7 * (high - low), high):
            moved = TopLine(style=top.style, stations=top.stations, elevations=top.elevations + offset)
            cuts = cut_pickets(line, wish.slots, moved, np.full(n, 2.0), BottomCut.SQUARE, wish.mark)
            used = choose_stock(needs_of(cuts, np.full(n, 2.5), None, wish.mark), offered).used
            assert used.tolist() == heights.boards[row].tolist()
        chosen = choose_stock(needs_of(cuts, np.full(n, 2.5), None, wish.mark), offered)
        whole = cuts.kept >= np.append(chosen.lengths, 0)[chosen.stock]
        assert heights.cuts[row] == n - heights.unserved[row] - (whole & (chosen.stock >= 0)).sum()
        assert heights.tallest[row] == pytest.approx(float(cuts.tallest.max()), abs=1e-6)


def bay_bounds(wish: TopWish, edges: Floats) -> tuple[float, NDArray[np.intp]]:
    """Marks over the highest bay's height that each bay's ground asks at least."""
    asked = wish.line.highest(edges[:-1], edges[1:]) + wish.least_height
    return float(asked.max()), np.ceil((asked - asked.max()) / wish.mark - 1e-6).astype(int)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("most_step", [None, 1.0, 3.0])
def test_stepped_top_against_brute_force(seed: int, most_step: float | None) -> None:
    """Every combination of up to six marks above each bay's lowest."""
    line = random_ground(seed, readings=7, apart=24.0, spread=2.0)
    posts = np.linspace(line.start, line.end, 7)
    slots = stepped_slots(posts, 5.5, 0.25)
    limits = TopLimits(most_step=most_step)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=limits)
    anchor, low = bay_bounds(wish, posts)
    bay = np.searchsorted(posts, slots.centre) - 1
    paths = np.indices((7,) * len(low)).reshape(len(low), -1) + low[:, None]
    if most_step is not None:
        paths = paths[:, np.abs(np.diff(paths, axis=0)).max(axis=0) <= most_step]
    total = np.zeros(paths.shape[1])
    for b in range(len(low)):
        row = [
            wish.cost.at(np.full(len(slots), anchor + z))[bay == b].sum() for z in range(low[b], low[b] + 7)
        ]
        total += np.array(row)[paths[b] - low[b]]
    assert choose_stepped(wish).counted == pytest.approx(total.min())


def bought(wish: TopWish, crown: Floats, cut: BottomCut) -> float:
    """What boards for pickets of these tops cost, cut by the cut pipeline: 2 in clear, gaps of 4 in."""
    n = len(crown)
    ends = np.stack([wish.slots.left, wish.slots.right], axis=1).ravel()
    top = TopLine(style=TopStyle.STEPPED, stations=ends, elevations=np.repeat(crown, 2))
    cuts = cut_pickets(wish.line, wish.slots, top, np.full(n, 2.0), cut, wish.mark)
    offered = [Stock(length=length, price=price) for length, price in STOCK]
    used = choose_stock(needs_of(cuts, np.full(n, 4.0), None, wish.mark), offered)
    assert (used.stock >= 0).all()
    return float(used.used @ [price for _, price in STOCK])


@pytest.mark.parametrize("cut", BottomCut)
@pytest.mark.parametrize("seed", [5, 8, 18])
def test_equal_steps_against_brute_force(seed: int, cut: BottomCut) -> None:
    """Every height from each bay's lowest to two marks over the highest bay's, bought as a plan buys."""
    line = random_ground(seed, readings=6, apart=24.0, spread=3.0)
    posts = np.linspace(line.start, line.end, 5)
    slots = stepped_slots(posts, 5.5, 0.25)
    limits = TopLimits(equal_steps=True)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=limits, cut=cut, most_gap=4.0)
    anchor, low = bay_bounds(wish, posts)
    counts = np.diff(np.searchsorted(slots.left, posts))
    best = np.inf
    for path in product(*(range(z, 3) for z in low)):
        change = np.abs(np.diff(path))
        if len(np.unique(change[change > 0])) <= 1:
            best = min(best, bought(wish, anchor + np.repeat(path, counts), cut))
    choice = choose_stepped(wish)
    assert choice.counted == pytest.approx(best)
    assert bought(wish, np.repeat(choice.top.elevations[::2], counts), cut) == pytest.approx(best)


@pytest.mark.parametrize("seed", range(4))
def test_equal_steps_with_a_face_against_brute_force(seed: int) -> None:
    """Steps of one size but at the face."""
    line = random_ground(seed, readings=7, apart=24.0, spread=2.0, face=True)
    face = float(line.faces[0])
    posts = np.array([line.start, face / 2, face, (face + line.end) / 2, line.end])
    slots = stepped_slots(posts, 5.5, 0.25)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=TopLimits(equal_steps=True))
    anchor, low = bay_bounds(wish, posts)
    counts = np.diff(np.searchsorted(slots.left, posts))
    best = np.inf
    for path in product(*(range(z, 3) for z in low)):
        change = np.abs(np.diff(path))
        if len({*change[[0, 2]].tolist()} - {0}) <= 1:
            best = min(best, wish.cost.total(anchor + np.repeat(path, counts)))
    choice = choose_stepped(wish)
    steps = np.abs(choice.top.steps)
    assert len(np.unique(np.round(steps[[0, 2]][steps[[0, 2]] > 1e-9], 6))) <= 1
    assert choice.counted == pytest.approx(best)


@pytest.mark.parametrize("seed", range(4))
def test_racked_heights_near_against_brute_force(seed: int) -> None:
    """Three bays, heights in whole inches either way of the line of least timber."""
    line = random_ground(seed, readings=6, apart=30.0, spread=5.0)
    posts = np.linspace(line.start, line.end, 4)
    wish = build(line, stock=STOCK, mark=1.0, posts=posts)
    chain = chain_over(wish, posts)
    (start,) = solved([chain], Aim.TIMBER)
    x, z = to_clear(wish, 2001)
    best = np.inf
    for path in product(range(-4, 5), repeat=4):
        top = start + np.array(path)
        if np.all(np.interp(x, posts, top) >= z + 72 - 1e-6):
            best = min(best, wish.cost.total(np.interp(wish.slots.centre, posts, top)))
    (found,) = cheapest_near([wish], [chain], [start], (), (1,))
    assert np.all(np.interp(x, posts, found) >= z + 72 - 1e-6)
    assert wish.cost.total(np.interp(wish.slots.centre, posts, found)) <= best + 1e-9


@pytest.mark.parametrize("ring", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_sloped_runs_that_join_against_brute_force(seed: int, ring: bool) -> None:
    """Two runs end to end, or three round a yard, at whole inches about the line of least timber."""
    count = 3 if ring else 2
    wishes = [build(random_ground(seed + 10 * k, 5, 30.0), stock=STOCK, mark=1.0) for k in range(count)]
    corners = [(0, 1), (1, 2), (2, 0)] if ring else [(0, 1)]
    chains = [chain_over(w, np.array([w.start, w.end])) for w in wishes]
    start = solved(chains, Aim.TIMBER, None, meetings_at(corners))
    at = [z[0] for z in start] + ([] if ring else [start[-1][1]])
    needs = [to_clear(w, 2001) for w in wishes]
    costs = {}
    for k, (wish, (x, z)) in enumerate(zip(wishes, needs, strict=True)):
        for pair in product(range(-6, 7), repeat=2):
            ends = at[k] + pair[0], at[(k + 1) % len(at)] + pair[1]
            kept = np.all(np.interp(x, [wish.start, wish.end], ends) >= z + 72 - 1e-5)
            crown = np.interp(wish.slots.centre, [wish.start, wish.end], ends)
            costs[k, *pair] = wish.cost.total(crown) if kept else np.inf
    best = min(
        sum(costs[k, path[k], path[(k + 1) % len(at)]] for k in range(count))
        for path in product(range(-6, 7), repeat=len(at))
    )
    choices = choose_tops([TopStyle.SLOPED] * count, wishes, corners)
    assert sum(c.counted for c in choices) <= best + 1e-9
    assert min(c.least_height for c in choices) >= 72 - 1e-6
    level = choose_tops([TopStyle.LEVEL] * count, wishes, corners)
    assert sum(c.counted for c in choices) <= sum(c.counted for c in level) + 1e-9


@pytest.mark.parametrize("mark", [0.125, 1.0])
def test_cost_of_every_pair_of_heights(mark: float) -> None:
    """The table the search on the tape reads, against the pickets' own costs, one pair at a time."""
    line = random_ground(3, readings=6, spread=3.0)
    posts = np.linspace(line.start, line.end, 4)
    wish = build(line, stock=STOCK, mark=mark, posts=posts)
    tried = line.elevation(posts)[:, None] + 74 + mark * np.arange(9)
    window = _Window(chain=chain_over(wish, posts), heights=tried, step=mark, piece=np.arange(3))
    table = _pair_costs(wish, window, 1e-5)
    bay = np.searchsorted(posts, wish.slots.centre, side="right") - 1
    for b, left, right in product(range(3), range(9), range(9)):
        ends = np.array([tried[b, left], tried[b + 1, right]])
        inside = bay == b
        crown = np.interp(wish.slots.centre, posts[b : b + 2], ends)
        rungs = (wish.cost.at(crown) - wish.cost.base)[inside].sum()
        # over the rungs the table carries a trace of timber, under a hundredth of any price
        assert rungs - 1e-9 <= table[b, left, right] <= rungs + 0.01


def test_racked_cost_goes_below_that_of_least_timber() -> None:
    """Some ground where the tape search gains; else it would be idle."""
    gains = 0
    for seed in range(6):
        line = random_ground(seed, readings=12, spread=7.0)
        posts = np.linspace(line.start, line.end, 7)
        wish = build(line, stock=STOCK, posts=posts)
        (timber,) = solved([chain_over(wish, posts)], Aim.TIMBER)
        plain = wish.cost.total(np.interp(wish.slots.centre, posts, timber))
        cheap = choose_racked(wish)
        assert cheap.counted <= plain + 1e-9
        assert cheap.least_height >= 72 - 1e-6
        gains += cheap.counted < plain - 0.01
    assert gains


@pytest.mark.parametrize("ring", [False, True])
def test_least_sum_against_brute_force(ring: bool) -> None:
    """A line of three pairs with a branch, and the same closed to a ring."""
    rng = np.random.default_rng(2)
    pairs = [(0, 1), (1, 2), (3, 2), (1, 4)] + [(3, 0)] * ring
    costs = [rng.uniform(0, 9, (4, 4)) for _ in pairs]
    costs[0][1, 2] = np.inf
    first, second = np.array(pairs).T
    chosen = least_sum(5, first, second, costs)

    def total(values: Any) -> float:
        return float(sum(c[values[a], values[b]] for (a, b), c in zip(pairs, costs, strict=True)))

    assert total(chosen) == pytest.approx(min(map(total, product(range(4), repeat=5))))


def test_slots_of_a_wish_may_overlap() -> None:
    line = random_ground(1)
    overlap = Slots(left=np.array([10.0, 12.0, 12.0]), right=np.array([16.0, 18.0, 18.0]))
    assert choose_sloped(build(line, slots=overlap)).least_height == pytest.approx(72)
