"""What must hold whatever the ground, the stock and the prices, when low ground is closed."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from closed_ground import boards, gaps
from hypothesis import given
from hypothesis import strategies as st
from low_runs import MARK, RUN, low_run, pickets_of

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.stock import choose_stock, needs_of
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut, LowGround
from fencegrade.job.records import OpenStretch, Run, Soil
from fencegrade.units import UnitSystem

pytestmark = pytest.mark.usefixtures("soil_by_volume")

LENGTH = 384.0
PRICED = ((72.0, 3.6, 0), (84.0, 4.8, 0), (96.0, 6.1, 0))


def soil_of(choice: LowGround = LowGround.CHEAPEST, price: float | None = 30.0, **more: float) -> Soil:
    table: dict[str, Any] = {"most_depth": 6.0, "crest": 12.0, "side_slope": 3.0, "loose_factor": 1.25} | more
    return Soil(low_ground=choice, price=price, **table)


def closed(
    line: GroundLine,
    choice: LowGround = LowGround.CHEAPEST,
    stock: tuple[tuple[float, float | None, int], ...] = PRICED,
    price: float | None = 30.0,
    most_gap: float = 3.0,
    clearance: float = 2.0,
    run: Run = RUN,
    **more: float,
) -> LowGroundPlan:
    pickets = pickets_of(stock, most_gap, clearance)
    low = low_run(line, run, pickets=pickets)
    return close_low_ground([low], pickets, soil_of(choice, price, **more), MARK, UnitSystem.IMPERIAL)


@st.composite
def grounds(draw: st.DrawFn, deep: int = 26) -> GroundLine:
    """Rolling ground, read every 2 ft."""
    steps = draw(st.lists(st.integers(-10, 10), min_size=16, max_size=16))
    z = np.clip(np.cumsum([0, *steps]) / 4, -deep, 0)
    return ground_line(np.linspace(0.0, LENGTH, 17), z)


@st.composite
def swales(draw: st.DrawFn) -> GroundLine:
    """One dip, falling to its lowest point and rising again."""
    depth = draw(st.floats(1.0, 14.0))
    middle = draw(st.integers(5, 11))
    x = np.arange(17)
    left, right = np.sin(np.pi / 2 * x / middle) ** 2, np.sin(np.pi / 2 * (16 - x) / (16 - middle)) ** 2
    return ground_line(np.linspace(0.0, LENGTH, 17), -depth * np.where(x <= middle, left, right))


GAPS = st.floats(2.25, 7.0)
PRICES = st.floats(0.0, 80.0)


@given(grounds(), PRICES, GAPS)
def test_cheapest_costs_no_more_than_boards_or_soil_alone(line: GroundLine, price: float, gap: float) -> None:
    found = closed(line, price=price, most_gap=gap)
    for other in (LowGround.BOARDS, LowGround.SOIL):
        assert (found.bill.unserved, found.bill.total) <= (
            found.bills[other].unserved,
            found.bills[other].total + 1e-6,
        )
    assert found.lower_bound == pytest.approx(found.bill.total, abs=1e-6)


@given(grounds(), PRICES, st.tuples(st.integers(0, 40), st.integers(0, 40)), st.integers(1, 30))
def test_boards_on_hand_never_raise_the_bill(
    line: GroundLine, price: float, held: tuple[int, int], more: int
) -> None:
    def bill(short: int, long: int) -> tuple[int, float]:
        stock = ((72.0, 3.6, short), (84.0, 4.8, 0), (96.0, 6.1, long))
        found = closed(line, stock=stock, price=price)
        assert found.lower_bound <= found.bill.total + 1e-6
        return found.bill.unserved, found.bill.total

    fewer = bill(*held)
    for short, long in ((held[0] + more, held[1]), (held[0], held[1] + more)):
        after = bill(short, long)
        assert after[0] <= fewer[0]
        assert after[1] <= fewer[1] + 1e-6


@given(swales(), GAPS, GAPS)
def test_fill_grows_with_a_larger_gap_only_where_it_saves_boards(
    line: GroundLine, one: float, other: float
) -> None:
    """What closes the ground under a gap closes it under a larger one too. More soil is then only laid where
    it spares timber: a fill whose sloping ends left too much open before may serve now.
    """
    small, large = sorted((one, other))
    for choice in (LowGround.SOIL, LowGround.CHEAPEST):
        tight, wide = (closed(line, choice, price=8.0, most_gap=g) for g in (small, large))
        spared = tight.bill.timber - wide.bill.timber
        assert wide.bill.compacted <= tight.bill.compacted + 1e-9 or spared > 1e-6
        assert wide.bill.total <= tight.bill.total + 1e-6
        assert choice is LowGround.CHEAPEST or spared > -1e-6


@given(swales(), st.floats(0.25, 4.0), st.floats(0.25, 4.0))
def test_fill_never_grows_when_more_clearance_is_wanted(line: GroundLine, one: float, other: float) -> None:
    """Soil comes up to the clearance, so less clearance takes more soil under the same boards. More clearance
    opens every gap too: a board more may then be over the largest, and be filled beside them. Depth is not
    limited here.
    """
    low, high = sorted((one, other))
    less, more = (
        closed(line, LowGround.SOIL, clearance=c, most_gap=4.5, most_depth=60.0) for c in (low, high)
    )
    few_boards, many_boards = (
        {k for f in plan.runs[0].fills for k in range(f.first, f.last + 1)} for plan in (less, more)
    )
    assert more.bill.compacted <= less.bill.compacted + 1e-9 or few_boards < many_boards


@given(grounds(), GAPS)
def test_boards_alone_take_the_stock_that_needs_no_decision(line: GroundLine, gap: float) -> None:
    pickets = pickets_of(((72.0, 3.6, 7), (84.0, 4.8, 0), (90.0, 6.1, 3)), gap)
    low = low_run(line, pickets=pickets)
    found = close_low_ground([low], pickets, soil_of(LowGround.BOARDS), MARK, UnitSystem.IMPERIAL)
    plain = choose_stock(needs_of(low.cuts, low.zones.most_gap, None, MARK), pickets.stock)
    assert found.stock.stock.tolist() == plain.stock.tolist()
    assert found.stock.on_hand.tolist() == plain.on_hand.tolist()
    assert found.stock.kept.tolist() == plain.kept.tolist()
    assert found.bill.compacted == 0
    assert found.runs[0].fills == ()


@given(grounds(), st.floats(0.0, 20.0), st.sampled_from(list(BottomCut)))
def test_every_board_keeps_its_clearance_over_the_finished_ground(
    line: GroundLine, price: float, cut: BottomCut
) -> None:
    pickets = pickets_of(PRICED)
    low = low_run(line, pickets=pickets, cut=cut)
    soil = soil_of(price=price)
    found = close_low_ground(
        [low], replace(pickets, bottom_cut=cut), soil, MARK, UnitSystem.IMPERIAL, compare=False
    )
    (run,), made = found.runs, boards(found).cuts
    for i in range(len(low.slots)):
        x = np.linspace(low.slots.left[i] + 1e-7, low.slots.right[i] - 1e-7, 45)
        ground = line.elevation(x)
        for fill in run.fills:
            inside = (x >= fill.start) & (x <= fill.end)
            if cut is BottomCut.SQUARE and inside.any():
                ground = np.where(inside, np.maximum(ground, fill.surface_start), ground)
            ahead = (x > fill.end) & (x < fill.foot_end)
            back = (x < fill.start) & (x > fill.foot_start)
            ground = np.where(
                ahead, np.maximum(ground, fill.surface_end - (x - fill.end) / soil.end_slope), ground
            )
            ground = np.where(
                back, np.maximum(ground, fill.surface_start - (fill.start - x) / soil.end_slope), ground
            )
        share = (x - low.slots.left[i]) / low.slots.width[i]
        bottom = made.bottom_left[i] + share * (made.bottom_right[i] - made.bottom_left[i])
        assert (bottom - ground).min() >= 2.0 - 1e-4
        if not any(f.first <= i + 1 <= f.last for f in run.fills):
            assert (bottom - ground).max() == pytest.approx(made.gap[i], abs=0.02)


@given(grounds(), PRICES)
def test_no_fill_is_an_island_short_deep_or_in_the_water(line: GroundLine, price: float) -> None:
    water = OpenStretch(start=150.0, end=180.0, height=2.0)
    run = Run(name="paddock lane", survey="lane.csv", keep_open=(water,))
    found = closed(line, price=price, run=run)
    fills = found.runs[0].fills
    for fill in fills:
        assert fill.last > fill.first
        assert fill.end - fill.start >= 24.0 - 1e-6
        assert fill.deepest <= 6.0 + 1e-6
        assert fill.foot_end <= water.start + 1e-6 or fill.foot_start >= water.end - 1e-6
    for one, two in pairwise(fills):
        assert one.foot_end <= two.foot_start + 1e-6


@given(grounds(), PRICES)
def test_the_gap_list_holds_all_the_soil_and_calls_no_board_longer_that_is_not(
    line: GroundLine, price: float
) -> None:
    found = closed(line, price=price)
    (run,) = found.runs
    low = low_run(line, pickets=pickets_of(PRICED))
    for gap in gaps(found, low):
        own, longer = slice(gap.first - 1, gap.last), gap.action is GapAction.LONGER_BOARD
        assert not longer or (boards(found).cuts.kept[own] * MARK > PRICED[0][0]).all()
        feet = [(low.slots.right[own] > f.foot_start) & (low.slots.left[own] < f.foot_end) for f in run.fills]
        assert gap.action is not GapAction.FILL or np.any(feet, axis=0).all()
        assert (gap.action is GapAction.FILL) == (gap.fill_depth > 0), "no row of soil without soil"
    assert sum(g.fill_volume for g in gaps(found, low)) == pytest.approx(found.bill.compacted, abs=1e-9)
    assert sum(f.compacted for f in run.fills) == pytest.approx(found.bill.compacted, abs=1e-9)
    assert found.bill.loose == pytest.approx(found.bill.compacted * 1.25)


@given(grounds(), PRICES)
def test_heights_stay_those_over_the_ground_as_surveyed(line: GroundLine, price: float) -> None:
    pickets = pickets_of(PRICED)
    low = low_run(line, pickets=pickets)
    (run,) = close_low_ground([low], pickets, soil_of(price=price), MARK, UnitSystem.IMPERIAL).runs
    assert run.full.height.tolist() == low.cuts.height.tolist()
    assert run.full.tallest.tolist() == low.cuts.tallest.tolist()


@given(grounds(), PRICES)
def test_moving_the_datum_changes_no_decision(line: GroundLine, price: float) -> None:
    there = closed(line, price=price)
    moved = closed(ground_line(line.stations, line.elevations + 1024.0), price=price)
    assert moved.bill.total == pytest.approx(there.bill.total, abs=1e-6)
    assert moved.stock.used.tolist() == there.stock.used.tolist()


@given(grounds(), PRICES)
def test_a_line_turned_round_costs_the_same(line: GroundLine, price: float) -> None:
    turned = ground_line(LENGTH - line.stations[::-1], line.elevations[::-1])
    assert closed(turned, price=price).bill.total == pytest.approx(
        closed(line, price=price).bill.total, abs=1e-5
    )


@given(grounds(), st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_dearer_soil_is_used_less(line: GroundLine, one: float, other: float) -> None:
    cheap, dear = (closed(line, price=p) for p in sorted((one, other)))
    assert dear.bill.compacted <= cheap.bill.compacted + 1e-6
    assert dear.bill.total >= cheap.bill.total - 1e-6


def test_level_ground_needs_nothing() -> None:
    line = ground_line([0, 100, 200, 300, 384], [0, 0, 0, 0, 0])
    found = closed(line)
    assert gaps(found, low_run(line, pickets=pickets_of(PRICED))) == ()
    assert found.bill.compacted == 0
