"""Searches for a top line against independent ways to one number: grids, brute force, the cut pipeline."""

from itertools import pairwise, product

import numpy as np
import pytest
from scipy.optimize import brentq
from top_wishes import build

from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.fence.stock import choose_stock
from fencegrade.fence.tops import (
    TopLimits,
    TopLine,
    choose_level,
    choose_racked,
    choose_sloped,
    choose_stepped,
    sloped_top,
    stepped,
    stepped_slots,
    string_heights,
)
from fencegrade.fence.tops.hull import support
from fencegrade.fence.tops.racked_to_the_mark import _pair_costs, _Window, cheapest_near
from fencegrade.ground.profile import ground_line
from fencegrade.job.records import BottomCut, Fit, Stock, TopStyle

STOCK = ((72, 3.6), (84, 5.0), (96, 6.1), (120, 9.0))


def random_ground(seed, readings=9, apart=48.0, spread=6.0, face=False):
    rng = np.random.default_rng(seed)
    x = np.concatenate([[0.0], np.cumsum(rng.uniform(0.6, 1.4, readings - 1) * apart)])
    z = np.cumsum(rng.normal(0, spread, readings))
    if face:
        x = np.insert(x, 5, x[4])
        z = np.insert(z, 5, z[4] - 10.0)
    return ground_line(x, z)


def dense(line, count=200_001):
    """Stations and the higher ground at them, by sampling."""
    x = np.union1d(np.linspace(line.start, line.end, count), line.stations)
    after = line.elevation(x)
    before = line.elevation(x, before=True)
    return x, np.maximum(before, after)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("face", [False, True])
def test_support_against_sampled_ground(seed, face):
    line = random_ground(seed, face=face)
    hull = support(line, line.start, line.end)
    x, z = dense(line)
    slopes = np.random.default_rng(seed).uniform(-0.6, 0.6, 40)
    high, touch = hull.at(slopes)
    for m, h, t in zip(slopes, high, touch, strict=True):
        sampled = (z - m * x).max()
        assert h >= sampled - 1e-9
        assert h == pytest.approx(sampled, abs=1e-5)
        assert t == pytest.approx(x[np.argmax(z - m * x)], abs=0.5)


@pytest.mark.parametrize("seed", range(4))
def test_least_mean_line_against_a_grid(seed):
    line = random_ground(seed)
    top = sloped_top(line, line.start, line.end, 72.0)
    x, z = dense(line, 20_001)
    middle = (line.start + line.end) / 2
    mean = [(z - m * (x - middle)).max() + 72 for m in np.linspace(-0.5, 0.5, 2001)]
    assert top.elevations.mean() <= min(mean) + 1e-5
    assert top.elevations.mean() == pytest.approx(min(mean), abs=0.05)


def line_cost(wish, x, z, slope):
    """Cost of the lowest line of a slope over sampled ground, by the cut pipeline."""
    base = (z - slope * x).max() + wish.least_height
    return wish.cost.total(base + slope * wish.slots.centre)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("limit", [None, 0.02])
def test_sloped_top_against_a_dense_grid(seed, limit):
    wish = build(random_ground(seed), stock=STOCK, limits=TopLimits(most_slope=limit))
    choice = choose_sloped(wish)
    x, z = dense(wish.line, 4001)
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
def test_sloped_top_at_every_slope_where_a_board_changes(seed):
    """Every breakpoint found by bracketing instead, and the cost taken at and between them."""
    line = random_ground(seed, readings=6)
    wish = build(line, slots=fill_stretch(line.start, line.end, 11.0, 2.0, Fit.EVEN_GAPS), stock=STOCK)
    hull = support(line, line.start, line.end)

    grid = np.linspace(-1.0, 1.0, 801)
    base = hull.at(grid)[0] + 72

    def over(m, centre, reach):
        return float(hull.at(np.array([m]))[0][0]) + 72 + m * (centre - line.start) - reach

    slopes = [0.0]
    for centre, reaches in zip(wish.slots.centre, wish.cost.reach, strict=True):
        for reach in reaches:
            values = base + grid * (centre - line.start) - reach
            slopes += [
                brentq(over, grid[k], grid[k + 1], args=(centre, reach), xtol=1e-14)
                for k in np.flatnonzero(np.diff(np.sign(values)))
            ]
    slopes = np.unique(slopes)
    tried = np.concatenate([slopes, (slopes[1:] + slopes[:-1]) / 2])
    best = min(
        wish.cost.total(float(hull.at(np.array([m]))[0][0]) + 72 + m * (wish.slots.centre - line.start))
        for m in tried
    )
    assert choose_sloped(wish).counted == pytest.approx(best)


@pytest.mark.parametrize("cut", list(BottomCut))
@pytest.mark.parametrize("seed", range(4))
def test_ladder_against_the_cut_pipeline(seed, cut):
    line = random_ground(seed, spread=12.0)
    wish = build(line, stock=STOCK, most_gap=3.0, cut=cut)
    offered = [Stock(length=f"{length} in", price=price) for length, price in STOCK]
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
        stock = choose_stock(cuts, np.full(n, 3.0), offered, wish.mark).stock
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
def test_string_heights_against_the_cut_pipeline(seed, choose):
    line = random_ground(seed)
    wish = build(line, stock=STOCK[:3], most_gap=2.5)
    top = choose(wish).top
    heights = string_heights(line, wish.slots, top, wish.cost, lowest=60.0)
    offered = [Stock(length=f"{length} in", price=price) for length, price in STOCK[:3]]
    n = len(wish.slots)
    assert len(heights) >= 3
    edges = np.insert(heights.offset, 0, heights.offset[0] - 0.2)
    for row, (low, high) in enumerate(pairwise(edges)):
        for offset in (low + 0.7 * (high - low), high):
            moved = TopLine(style=top.style, stations=top.stations, elevations=top.elevations + offset)
            cuts = cut_pickets(line, wish.slots, moved, np.full(n, 2.0), BottomCut.SQUARE, wish.mark)
            used = choose_stock(cuts, np.full(n, 2.5), offered, wish.mark).used
            assert used.tolist() == heights.boards[row].tolist()
        assert heights.tallest[row] == pytest.approx(float(cuts.tallest.max()), abs=1e-6)


def brute_stepped(wish, edges, most_step, step_charge, change_charge, tried):
    """Least counted cost over every combination of `tried` marks above each bay's lowest."""
    asked = wish.line.highest(edges[:-1], edges[1:]) + wish.least_height
    anchor, mark = asked.max(), wish.mark
    low = np.ceil((asked - anchor) / mark - 1e-6)
    bay = np.searchsorted(edges, wish.slots.centre) - 1
    table = [
        [
            wish.cost.at(np.full(len(wish.slots), anchor + (low[b] + k) * mark))[bay == b].sum()
            for k in range(tried)
        ]
        for b in range(len(low))
    ]
    paths = np.indices((tried,) * len(low)).reshape(len(low), -1)
    change = np.abs(np.diff((low[:, None] + paths) * mark, axis=0))
    total = sum(np.array(row)[k] for row, k in zip(table, paths, strict=True))
    total = total + step_charge * np.count_nonzero(change, axis=0) + change_charge * change.sum(axis=0)
    if most_step is not None:
        total = total[change.max(axis=0) <= most_step + 1e-9]
    return total.min()


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(
    ("most_step", "step_charge", "change_charge"), [(None, 0, 0), (None, 3, 0), (None, 0, 0.7), (3.0, 1, 0.2)]
)
def test_stepped_top_against_brute_force(seed, most_step, step_charge, change_charge):
    line = random_ground(seed, readings=7, apart=24.0, spread=2.0)
    posts = np.linspace(line.start, line.end, 7)
    limits = TopLimits(most_step=most_step, step_charge=step_charge, change_charge=change_charge)
    slots = stepped_slots(posts, 5.5, 0.25)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=limits)
    choice = choose_stepped(wish)
    steps = np.abs(choice.top.steps)
    charges = step_charge * np.count_nonzero(steps > 1e-9) + change_charge * steps.sum()
    expected = brute_stepped(wish, posts, most_step, step_charge, change_charge, 7)
    assert choice.counted + charges == pytest.approx(expected)


@pytest.mark.parametrize("seed", range(3))
def test_equal_steps_against_brute_force(seed):
    line = random_ground(seed, readings=6, apart=24.0, spread=2.0)
    posts = np.linspace(line.start, line.end, 5)
    slots = stepped_slots(posts, 5.5, 0.25)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=TopLimits(equal_steps=True))
    asked = line.highest(posts[:-1], posts[1:]) + 72
    anchor = asked.max()
    low = np.ceil(asked - anchor - 1e-6)
    best = np.inf
    span = int(-low.min()) + 1
    for path in product(range(-span + 1, 1), repeat=4):
        change = np.abs(np.diff(path))
        if np.all(path >= low) and len(np.unique(change[change > 0])) <= 1:
            best = min(
                best, wish.cost.total(anchor + np.repeat(path, np.diff(np.searchsorted(slots.left, posts))))
            )
    assert choose_stepped(wish).counted == pytest.approx(best)


@pytest.mark.parametrize("cells", [4, 200_000])
@pytest.mark.parametrize(("step_charge", "change_charge"), [(0.0, 0.0), (1.0, 0.2), (0.0, 1.5), (6.0, 0.0)])
@pytest.mark.parametrize("seed", range(4))
def test_equal_steps_with_charges_and_a_face_against_brute_force(
    monkeypatch, seed, step_charge, change_charge, cells
):
    """Steps of one size but at the face; sizes are searched a few at a time, or all together."""
    monkeypatch.setattr(stepped, "_MOST_CELLS", cells)
    line = random_ground(seed, readings=7, apart=24.0, spread=2.0, face=True)
    face = float(line.faces[0])
    posts = np.array([line.start, face / 2, face, (face + line.end) / 2, line.end])
    slots = stepped_slots(posts, 5.5, 0.25)
    limits = TopLimits(equal_steps=True, step_charge=step_charge, change_charge=change_charge)
    wish = build(line, slots=slots, stock=STOCK, mark=1.0, posts=posts, limits=limits)
    asked = line.highest(posts[:-1], posts[1:]) + 72
    anchor = asked.max()
    low = np.ceil(asked - anchor - 1e-6).astype(int)
    counts = np.diff(np.searchsorted(slots.left, posts))
    best = np.inf
    for path in product(*(range(z, 1) for z in low)):
        change = np.abs(np.diff(path))
        if len({*change[[0, 2]].tolist()} - {0}) <= 1:
            charged = step_charge * np.count_nonzero(change) + change_charge * change.sum()
            best = min(best, wish.cost.total(anchor + np.repeat(path, counts)) + charged)
    choice = choose_stepped(wish)
    steps = np.abs(choice.top.steps)
    assert len(np.unique(np.round(steps[[0, 2]][steps[[0, 2]] > 1e-9], 6))) <= 1
    charged = step_charge * np.count_nonzero(steps > 1e-9) + change_charge * steps.sum()
    assert choice.counted + charged == pytest.approx(best)


@pytest.mark.parametrize("seed", range(4))
def test_racked_heights_near_against_brute_force(seed):
    """Three bays, heights in whole inches either way of the line of least timber."""
    line = random_ground(seed, readings=6, apart=30.0, spread=5.0)
    posts = np.linspace(line.start, line.end, 4)
    wish = build(line, stock=STOCK, mark=1.0, posts=posts, limits=TopLimits(most_bend=1e6))
    start = choose_racked(wish).top
    x, z = dense(line, 2001)
    best = np.inf
    for path in product(range(-4, 5), repeat=4):
        top = start.elevations + np.array(path)
        if np.all(np.interp(x, posts, top) >= z + 72 - 1e-6):
            best = min(best, wish.cost.total(np.interp(wish.slots.centre, posts, top)))
    near = cheapest_near(wish, posts, start.elevations)
    found = start.elevations if near is None else near
    assert np.all(np.interp(x, posts, found) >= z + 72 - 1e-6)
    assert wish.cost.total(np.interp(wish.slots.centre, posts, found)) <= best + 1e-9


@pytest.mark.parametrize("mark", [0.125, 1.0])
def test_cost_of_every_pair_of_heights(mark):
    """The table the search on the tape reads, against the pickets' own costs, one pair at a time."""
    line = random_ground(3, readings=6, spread=3.0)
    posts = np.linspace(line.start, line.end, 4)
    wish = build(line, stock=STOCK, mark=mark, posts=posts)
    tried = line.elevation(posts)[:, None] + 74 + mark * np.arange(9)
    table = _pair_costs(wish, _Window(x=posts, heights=tried, piece=np.arange(3)))
    bay = np.searchsorted(posts, wish.slots.centre, side="right") - 1
    for b, left, right in product(range(3), range(9), range(9)):
        ends = np.array([tried[b, left], tried[b + 1, right]])
        inside = bay == b
        crown = np.interp(wish.slots.centre, posts[b : b + 2], ends)
        rungs = (wish.cost.at(crown) - wish.cost.base)[inside].sum()
        # over the rungs the table carries a trace of timber, under a hundredth of any price
        assert rungs - 1e-9 <= table[b, left, right] <= rungs + 0.01


def test_racked_cost_goes_below_that_of_least_timber():
    """Some ground where the tape search gains; else it would be idle."""
    gains = 0
    for seed in range(6):
        line = random_ground(seed, readings=12, spread=7.0)
        wish = build(line, stock=STOCK, posts=np.linspace(line.start, line.end, 7))
        plain = choose_racked(build(line, stock=STOCK, posts=wish.posts, limits=TopLimits(most_bend=1e6)))
        cheap = choose_racked(wish)
        assert cheap.counted <= plain.counted + 1e-9
        assert cheap.least_height >= 72 - 1e-6
        gains += cheap.counted < plain.counted - 0.01
    assert gains


def test_slots_of_a_wish_may_overlap_or_be_absent():
    line = random_ground(1)
    overlap = Slots(left=np.array([10.0, 12.0, 12.0]), right=np.array([16.0, 18.0, 18.0]))
    assert choose_sloped(build(line, slots=overlap)).least_height == pytest.approx(72)
    none = Slots(left=np.empty(0), right=np.empty(0))
    for choose in (choose_level, choose_sloped):
        assert choose(build(line, slots=none)).counted == 0
