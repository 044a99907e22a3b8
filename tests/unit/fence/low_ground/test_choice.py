"""What closes low ground, on small fences worked by hand."""

from typing import Any

import numpy as np
import pytest
from closed_ground import boards, gaps
from straight_ground import straight_ground

from fencegrade.fence.low_ground.bill import loose_price, soil_order
from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.low_ground.fill_places import LowRun, fill_rows, gate_swing
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.wishes import picket_zones
from fencegrade.fence.slots import Slots, fill_stretch, join_slots
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.level import level_at, level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut, Fit, LowGround, Pattern
from fencegrade.job.records import Gate, OpenStretch, Pickets, Run, Soil, Stock
from fencegrade.units import UnitSystem

MARK = 0.125
RUN = Run(name="herb bed", survey="herb.csv")
PRICED = ((72.0, 3.6, 0), (96.0, 6.1, 0))
SWALE = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]


def straight(readings: list[float], step: float) -> GroundLine:
    """Ground straight between readings under a level string at 0."""
    x = np.arange(len(readings)) * step
    return straight_ground(x, -np.array(readings, dtype=float))


def pickets_of(
    stock: tuple[tuple[float, float | None, int], ...] = PRICED, most_gap: float = 3.0, clearance: float = 2.0
) -> Pickets:
    return Pickets(
        width=5.5,
        spacing=0.25,
        pattern="side by side",
        fit="even gaps",
        top_end="dog-eared",
        bottom_cut="square",
        clearance=clearance,
        most_gap=most_gap,
        stock=tuple(Stock(length=a, price=p, on_hand=h) for a, p, h in stock),
    )


def low_run(
    line: GroundLine,
    run: Run = RUN,
    top: TopLine | None = None,
    pickets: Pickets | None = None,
    no_soil: tuple[tuple[float, float], ...] = (),
    mark: float = MARK,
) -> LowRun:
    slots = fill_stretch(line.start, line.end, 5.5, 0.25, Fit.EVEN_GAPS)
    zones = picket_zones(slots, run, pickets or pickets_of())
    tops = top or level_top(line, line.start, line.end, 72.0)
    return LowRun(
        run=run,
        line=line,
        start=line.start,
        end=line.end,
        slots=slots,
        zones=zones,
        cuts=cut_pickets(line, slots, tops, zones.clearance, BottomCut.SQUARE, mark),
        no_soil=no_soil,
    )


def plan(
    line: GroundLine,
    choice: LowGround = LowGround.CHEAPEST,
    stock: tuple[tuple[float, float | None, int], ...] = PRICED,
    run: Run = RUN,
    top: TopLine | None = None,
    most_gap: float = 3.0,
    clearance: float = 2.0,
    no_soil: tuple[tuple[float, float], ...] = (),
    system: UnitSystem = UnitSystem.IMPERIAL,
    runs: int = 1,
    mark: float = MARK,
    **soil: Any,
) -> LowGroundPlan:
    pickets = pickets_of(stock, most_gap, clearance)
    table = {"price": 40.0, "most_depth": 6.0, "crest": 12.0, "side_slope": 3.0, "loose_factor": 1.25} | soil
    low = low_run(line, run, top, pickets, no_soil, mark)
    return close_low_ground([low] * runs, pickets, Soil(low_ground=choice, **table), mark, system)


def said(found: LowGroundPlan) -> str:
    return "\n".join(str(p) for p in found.problems)


class TestSwale:
    """A swale of 48 ft, 19 in deep, straight between readings."""

    def test_boards_alone(self) -> None:
        # worked by hand without rounding: 34 boards of 72 in and 66 of 96 in cost 525.00
        found = plan(straight(SWALE, 48.0), LowGround.BOARDS, most_gap=2.0, mark=1 / 1024)
        assert found.stock.used.tolist() == [34, 66]
        assert found.bill.total == pytest.approx(525.00)
        assert found.bill.unserved == 0

    def test_soil_is_measured_as_by_hand(self) -> None:
        # tops at 48, 72 in boards, 2 in clearance: the soil comes level to -26, between the two stations at
        # which the ground passes -26: 96 and 480 in. Section 12 d + 3 d^2 over straight ground.
        line = straight(SWALE, 48.0)
        found = plan(line, LowGround.SOIL, most_gap=2.0, most_depth=20.0, end_slope=0.0)
        (fill,) = found.runs[0].fills
        x = np.linspace(fill.start, fill.end, 200_001)
        d = np.maximum(-26.0 - line.elevation(x), 0.0)
        want = np.trapezoid(12 * d + 3 * d * d, x) / 1728
        assert found.bill.compacted == pytest.approx(want, rel=1e-5)
        assert found.bill.loose == pytest.approx(want * 1.25, rel=1e-5)
        assert found.stock.used.tolist() == [100, 0]
        assert fill.low_point == 288.0
        # and by prismoidal sections between the readings, ends left out
        ends = np.array([-26.0 + z for z in SWALE[2:11]])
        middles = (ends[:-1] + ends[1:]) / 2
        a, m = 12 * ends + 3 * ends**2, 12 * middles + 3 * middles**2
        whole = float(np.sum(48 / 6 * (a[:-1] + 4 * m + a[1:]))) / 1728
        assert found.bill.compacted == pytest.approx(whole, rel=0.002)

    def test_the_cheaper_way_goes_with_the_price_of_soil(self) -> None:
        line = straight(SWALE, 48.0)
        cheap, dear = (plan(line, most_depth=20.0, price=p) for p in (5.0, 5000.0))
        assert cheap.stock.used.tolist() == [100, 0]
        assert cheap.bill.total < cheap.bills[LowGround.BOARDS].total
        assert dear.bill.compacted == 0
        assert dear.bill.total == dear.bills[LowGround.BOARDS].total

    def test_water_keeps_its_way(self) -> None:
        run = Run(
            name="herb bed", survey="h.csv", keep_open=(OpenStretch(start=240.0, end=336.0, height=4.0),)
        )
        found = plan(straight(SWALE, 48.0), LowGround.SOIL, run=run, most_depth=20.0, price=5.0)
        assert found.runs[0].fills
        for fill in found.runs[0].fills:
            assert fill.foot_end <= 240 or fill.foot_start >= 336
            assert fill.low_point is None
        low = low_run(straight(SWALE, 48.0), run)
        (water,) = [g for g in gaps(found, low) if g.action is GapAction.LEAVE_OPEN]
        assert water.start < 240
        assert water.end > 336

    def test_standing_water_and_timber_are_warned_about(self) -> None:
        text = said(plan(straight(SWALE, 48.0), LowGround.SOIL, most_depth=20.0))
        assert "herb bed, 24' 0\": the fill closes a low point of the ground" in text
        assert "soil stands up to" in text
        assert "will touch the pickets" not in text
        touching = plan(straight(SWALE, 48.0), LowGround.SOIL, clearance=0.0, most_gap=1.0, most_depth=20.0)
        assert "soil will touch the pickets, and wood in soil rots" in said(touching)


class TestLongRun:
    """800 ft of rolling ground falling 0.3 in a foot, under one straight top: pickets of 70 to 98 in."""

    def ground(self) -> GroundLine:
        feet = np.arange(0, 801, 10.0)
        return ground_line(feet * 12, -0.30 * feet + 14 * np.sin(2 * np.pi * feet / 160))

    def top(self) -> TopLine:
        ends = np.array([0.0, 9600.0])
        return TopLine(style=TopStyle.SLOPED, stations=ends, elevations=-0.30 * ends / 12 + 86)

    def test_what_no_board_reaches_stays_in_the_plan(self) -> None:
        found = plan(self.ground(), LowGround.BOARDS, top=self.top())
        assert found.bill.unserved > 0
        unserved = found.stock.stock == NO_STOCK
        # kept at the length that would be needed: up to 98 in
        assert found.stock.kept[unserved].min() * MARK > 96
        assert found.stock.kept.max() * MARK == pytest.approx(98, abs=0.5)
        left = [g for g in gaps(found, low_run(self.ground(), top=self.top())) if g.action is GapAction.NONE]
        numbers = [n for g in left for n in range(g.first, g.last + 1)]
        assert numbers == (np.flatnonzero(unserved) + 1).tolist()
        bought = found.stock.bought
        assert found.bill.total == pytest.approx(bought[0] * 3.6 + bought[1] * 6.1)

    def test_soil_closes_what_no_board_reaches_whatever_it_costs(self) -> None:
        found = plan(self.ground(), top=self.top(), price=100_000.0)
        assert found.bill.unserved == 0
        assert found.bill.compacted > 0
        assert len(found.runs[0].fills) == 5


class TestJoint:
    def test_no_fill_under_one_board_alone(self) -> None:
        # a pit 5 in deep just as wide as one board: no neighbour is short of the 72 in stock
        slots = fill_stretch(0.0, 200.0, 5.5, 0.25, Fit.EVEN_GAPS)
        edges = [slots.right[16], slots.left[17], slots.right[17], slots.left[18]]
        line = straight_ground([0, *edges, 200], [0, 0, -5, -5, 0, 0])
        found = plan(line, LowGround.SOIL, least_length=0.0, end_slope=0.0)
        assert found.runs[0].fills == ()
        assert found.stock.used.tolist() == [len(slots) - 1, 1]

    def test_a_short_dip_takes_boards_where_the_fill_would_be_too_short(self) -> None:
        line = straight_ground([0, 90, 100, 110, 120, 200], [0, 0, -3, -3, 0, 0])
        short, long = (
            plan(line, LowGround.SOIL, stock=((71.0, 3.0, 0), (96.0, 5.0, 0)), least_length=v)
            for v in (12.0, 150.0)
        )
        assert short.runs[0].fills
        assert not long.runs[0].fills
        assert long.stock.used[1] > 0

    def test_boards_over_a_taper_are_cut_to_it(self) -> None:
        # the deep part takes long boards; the flank is filled and runs out under the first of them
        z = [0, 0, -2, -5, -5.5, -14, -14, -14, 0, 0]
        line = straight_ground(np.arange(10) * 36.0, z)
        found = plan(line, LowGround.SOIL, end_slope=3.0)
        (run,) = found.runs
        filled = {n for f in run.fills for n in range(f.first, f.last + 1)}
        beside = [i for i in np.flatnonzero(run.on_soil) if i + 1 not in filled]
        bare = low_run(line).cuts.kept
        assert beside
        assert all(run.full.kept[i] < bare[i] for i in beside)
        assert (
            found.stock.kept.tolist()
            == np.minimum(run.full.kept, found.stock.lengths[found.stock.stock]).tolist()
        )

    def test_no_soil_where_a_gate_swings(self) -> None:
        gate = Gate(station=100.0, width=48.0)
        double = Gate(station=100.0, width=96.0, leaves=2)
        assert gate_swing(Run(name="a", survey="a.csv", gate=(gate,))) == [(52.0, 196.0)]
        assert gate_swing(Run(name="a", survey="a.csv", gate=(double,))) == [(52.0, 244.0)]
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        run = Run(name="herb bed", survey="h.csv", gate=(gate,))
        stock = ((71.0, 3.0, 0), (96.0, 5.0, 0))
        found = plan(line, LowGround.SOIL, stock=stock, run=run)
        assert all(f.foot_end <= 52 or f.foot_start >= 196 for f in found.runs[0].fills)
        assert plan(line, LowGround.SOIL, stock=stock).runs[0].fills != found.runs[0].fills

    def test_no_soil_against_a_trunk(self) -> None:
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        stock = ((71.0, 3.0, 0), (96.0, 5.0, 0))
        found = plan(line, LowGround.SOIL, stock=stock, no_soil=((90.0, 110.0),), end_slope=3.0)
        assert found.runs[0].fills
        assert all(f.foot_end <= 90 + 1e-6 or f.foot_start >= 110 - 1e-6 for f in found.runs[0].fills)

    def test_no_fill_across_a_wall(self) -> None:
        line = ground_line([0, 60, 96, 96, 140, 192], [0, -3, -3, -12, -12, -12])
        found = plan(line, LowGround.SOIL, stock=((71.0, 3.0, 0), (84.0, 5.0, 0)))
        assert all(f.foot_end <= 96 or f.foot_start >= 96 for f in found.runs[0].fills)

    def test_boards_on_hand_are_shared_by_all_runs(self) -> None:
        line = straight(SWALE, 48.0)
        found = plan(
            line,
            LowGround.BOARDS,
            stock=((72.0, 3.6, 0), (96.0, 6.1, 70)),
            most_gap=2.0,
            runs=2,
            mark=1 / 1024,
        )
        assert found.stock.bought.tolist() == [68, 62]
        assert found.bill.total == pytest.approx(68 * 3.6 + 62 * 6.1)
        assert len(found.runs) == 2

    def test_soil_no_deeper_than_allowed_is_none_at_all(self) -> None:
        found = plan(straight(SWALE, 48.0), most_depth=0.0)
        assert found.bill.total == found.bills[LowGround.BOARDS].total

    def test_a_square_cut_that_leaves_too_much_keeps_its_length(self) -> None:
        line = straight_ground([0, 100, 110, 200], [0, 0, 12, 12])
        found = plan(line, LowGround.BOARDS, stock=((72.0, 3.0, 0), (96.0, 5.0, 0)))
        cuts = boards(found).cuts
        steep = cuts.gap > 3.0 + 1e-6
        assert found.bill.over_gap == steep.sum() > 0
        assert np.all(cuts.kept[steep] == found.runs[0].needs.full[steep])
        left = [g for g in gaps(found, low_run(line)) if g.action is GapAction.NONE]
        assert sum(g.last - g.first + 1 for g in left) == steep.sum()


class TestFlatTrench:
    """Tops at 78 over ground at 0: boards of 72 in and 4 in of soil below their 2 in of clearance."""

    STOCK = ((72.0, 4.0, 0), (96.0, 6.0, 0))

    def close(self, length: float, choice: LowGround = LowGround.SOIL, **keys: Any) -> LowGroundPlan:
        return plan(
            ground_line([0, length], [0, 0]), choice, self.STOCK, top=level_at(0, length, 78.0), **keys
        )

    def test_a_fill_from_end_to_end_of_the_run(self) -> None:
        (fill,) = self.close(69.0, end_slope=5.0).runs[0].fills
        assert (fill.first, fill.last, fill.stock) == (1, 12, 0)
        assert (fill.start, fill.end, fill.foot_start, fill.foot_end) == (0, 69, 0, 69)
        assert (fill.surface_start, fill.surface_end, fill.deepest) == pytest.approx((4, 4, 4))
        # section 12 * 4 + 3 * 16 = 96; a wedge 20 in long at either end, beyond the run:
        # 12 * 4^2 * 5 / 2 + 3 * 4^3 * 5 / 3 = 480 + 320
        assert fill.compacted == pytest.approx((96 * 69 + 2 * 800) / 1728)
        assert fill.low_point is None

    def test_two_boards_are_enough_for_a_fill_and_one_is_not(self) -> None:
        found = self.close(11.25, least_length=0.0, end_slope=0.0)
        (fill,) = found.runs[0].fills
        assert (fill.first, fill.last) == (1, 2)
        assert fill.compacted == pytest.approx(96 * 11.25 / 1728, rel=1e-5)
        assert found.stock.used.tolist() == [2, 0]
        one = self.close(5.5, least_length=0.0, end_slope=0.0)
        assert one.runs[0].fills == ()
        assert one.stock.used.tolist() == [0, 1]

    def test_fills_on_both_sides_of_a_trunk_are_each_measured(self) -> None:
        found = self.close(287.5, no_soil=((100.0, 110.0),), end_slope=0.0)
        slots = fill_stretch(0.0, 287.5, 5.5, 0.25, Fit.EVEN_GAPS)
        fills = found.runs[0].fills
        assert len(fills) == 2
        for fill in fills:
            assert (fill.start, fill.end) == (slots.left[fill.first - 1], slots.right[fill.last - 1])
            assert fill.compacted == pytest.approx(96 * (fill.end - fill.start) / 1728, rel=1e-5)
        # a board every 5-3/4 in: the 18th to the 20th, from 97.75 to 114.75, stand over the trunk's stretch
        assert [(f.first, f.last) for f in fills] == [(1, 17), (21, 50)]
        assert found.bill.compacted == pytest.approx(sum(f.compacted for f in fills))
        assert found.bill.loose == pytest.approx(1.25 * sum(f.compacted for f in fills))

    @pytest.mark.parametrize(("share", "filled"), [(0.999, True), (1.001, False)])
    def test_soil_is_brought_up_to_the_price_at_which_boards_cost_as_much(
        self, share: float, filled: bool
    ) -> None:
        # 12 boards save 2 each; in place (96 * 69 + 2 * 800) / 1728 cubic feet, loose 1-1/4 of it
        border = 24 / ((96 * 69 + 2 * 800) / 1728 * 1.25 / 27)
        found = self.close(69.0, LowGround.CHEAPEST, end_slope=5.0, price=border * share)
        assert bool(found.runs[0].fills) == filled
        assert found.bill.total == pytest.approx(48 + 24 * share if filled else 72)

    @pytest.mark.parametrize("turned", [False, True])
    @pytest.mark.parametrize(("share", "filled"), [(0.999, True), (1.001, False)])
    def test_of_two_trenches_the_one_that_pays_is_filled(
        self, share: float, filled: bool, turned: bool
    ) -> None:
        """Twelve low boards, a wall up to six boards 4 in higher, a wall down to six more low ones."""
        faces = np.array([5.75 * 12 - 0.125, 5.75 * 18 - 0.125])
        end = 5.75 * 24 - 0.25
        x = np.array([0, faces[0], faces[0], faces[1], faces[1], end])
        z = np.array([0.0, 0, 4, 4, 0, 0])
        line = ground_line(end - x[::-1], z[::-1]) if turned else ground_line(x, z)
        # section 96 under the boards, a wedge of 800 beyond the run's end, and 1/8 in of it up to the wall,
        # where 4 in deep falls by 0.025: Simpson's rule is exact there
        depths = np.array([4.0, 3.9875, 3.975])
        wall = float((12 * depths + 3 * depths**2) @ [1, 4, 1]) / 6 / 8
        long, short = ((96 * (5.75 * n - 0.25) + 800 + wall) / 1728 * 1.25 / 27 for n in (12, 6))
        price = 24 / long * share
        assert short * price > 12
        top = level_at(0, end, 78.0)
        found = plan(line, LowGround.CHEAPEST, self.STOCK, top=top, end_slope=5.0, price=price)
        assert [(f.first, f.last) for f in found.runs[0].fills] == (
            [] if not filled else [(13, 24)] if turned else [(1, 12)]
        )
        assert found.bill.total == pytest.approx(108 + 24 * share if filled else 132)

    def test_a_fill_begins_where_it_is_needed(self) -> None:
        # beside it stand boards that soil could be put under but that are served without it
        line = straight(SWALE, 48.0)
        found = plan(line, LowGround.SOIL, most_depth=20.0, end_slope=0.0)
        (fill,) = found.runs[0].fills
        assert fill.start > 96
        assert line.elevation(fill.start) < -26
        x = np.linspace(fill.start, fill.end, 200_001)
        d = -26.0 - line.elevation(x)
        want = np.trapezoid(12 * d + 3 * d * d, x) / 1728
        assert fill.compacted == pytest.approx(want, rel=1e-5)
        assert found.bill.compacted == pytest.approx(want, rel=1e-5)

    def test_with_nothing_on_hand_the_bound_is_the_bill(self) -> None:
        line = straight(SWALE, 48.0)
        for price in (5.0, 40.0, 120.0):
            found = plan(line, most_depth=20.0, price=price, end_slope=5.0)
            assert found.runs[0].fills
            assert any(f.foot_start < f.start and f.foot_end > f.end for f in found.runs[0].fills)
            assert found.lower_bound == pytest.approx(found.bill.total)

    def test_of_equal_timber_the_least_soil(self) -> None:
        # all but the flanks' feet can be left open by 3 in, so no more boards than needed stand over soil
        line = straight([0, 0, 2.5, 6, 6, 2.5, 0, 0, 0, 0, 20, 20, 0, 0], 36.0)
        top = level_at(0, line.end, 74.0)
        keys: dict[str, Any] = {"stock": ((72.0, 4.0, 0), (96.0, 6.0, 0)), "top": top, "end_slope": 3.0}
        found = plan(line, LowGround.SOIL, **keys)
        turned = straight_ground(line.end - line.stations[::-1], line.elevations[::-1])
        back = plan(turned, LowGround.SOIL, **keys)
        assert found.runs[0].fills
        assert found.bill.compacted == pytest.approx(back.bill.compacted)


@pytest.mark.parametrize("rise", [0.0, 0.1])
def test_two_rows_share_their_soil_in_the_search(rise: float) -> None:
    """What the search adds up board by board is the soil under the higher of two tops, on a fine grid."""
    rows_of = lay_pattern(Pattern.SHADOWBOX, 0.0, 57.5, 5.5, 2.0, Fit.EVEN_GAPS, 1.5)
    slots = join_slots([rows_of.first, rows_of.second])
    order = np.argsort(slots.left, kind="stable")
    slots = Slots(left=slots.left[order], right=slots.right[order])
    line = ground_line([0.0, 57.5], [0.0, 57.5 * rise])
    ends = np.array([0.0, 57.5])
    top = TopLine(style=TopStyle.SLOPED, stations=ends, elevations=78.0 + rise * ends)
    zones = picket_zones(slots, RUN, pickets_of())
    cuts = cut_pickets(line, slots, top, zones.clearance, BottomCut.SQUARE, 1 / 1024)
    low = LowRun(run=RUN, line=line, start=0.0, end=57.5, slots=slots, zones=zones, cuts=cuts)
    soil = Soil(
        low_ground=LowGround.SOIL, price=1.0, most_depth=9.0, crest=12.0, side_slope=3.0, loose_factor=1.25
    )
    rows = fill_rows(low, np.array([72 * 1024]), soil, 1 / 1024)
    x = np.arange(0.0, 57.5, 1 / 256) + 1 / 512
    tops = np.where(
        (x[:, None] >= slots.left) & (x[:, None] <= slots.right), top.at(slots.centre) - 72.0 - 2.0, -np.inf
    )
    depth = tops.max(axis=1) - line.elevation(x)
    assert len(rows) == len(slots)
    volume = float(np.sum(12 * depth + 3 * depth**2)) / 256
    assert float(rows.body.sum() + rows.link.sum()) * 1728 == pytest.approx(volume, rel=1e-3)


class TestWithoutPrices:
    def test_without_board_prices_the_least_timber(self) -> None:
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        stock = ((71.0, None, 0), (96.0, None, 0))
        found = plan(line, stock=stock, price=1000.0)
        assert found.bill.timber == found.bills[LowGround.SOIL].timber
        assert found.bill.timber < found.bills[LowGround.BOARDS].timber
        assert found.bill.boards == 0
        assert found.lower_bound == pytest.approx(found.bill.timber, abs=0.02)
        assert "boards have no prices, so the least timber was taken" in said(found)

    def test_soil_without_a_price_only_closes_what_no_board_can(self) -> None:
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        found = plan(line, stock=((71.0, 3.0, 0), (96.0, 5.0, 0)), price=None)
        assert found.bill.compacted == 0
        text = said(found)
        assert "soil has no price" in text
        assert "pays below" in text
        only = plan(line, stock=((71.0, 3.0, 0),), price=None)
        assert only.bill.compacted > 0
        assert only.bill.unserved == 0

    def test_the_price_at_which_soil_pays_is_the_border(self) -> None:
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        stock = ((71.0, 3.0, 0), (96.0, 5.0, 0))
        text = said(plan(line, stock=stock, price=None))
        border = float(text.split("pays below ")[1].split(" ")[0])
        for price, fills in ((border * 0.97, True), (border * 3.0, False)):
            found = plan(line, stock=stock, price=price)
            assert (found.bill.compacted > 0) == fills or found.bill.total < found.bills[LowGround.SOIL].total


class TestQuantities:
    SOIL = Soil(
        low_ground=LowGround.SOIL,
        price=40.0,
        most_depth=6.0,
        crest=12.0,
        side_slope=3.0,
        loose_factor=1.25,
        bag=0.75,
    )

    def test_an_order(self) -> None:
        # 21.6 cubic feet in place are 27 loose: one cubic yard, 36 bags of 3/4 cubic foot
        order = soil_order(21.6, self.SOIL)
        assert order.bags == 36
        assert order.weight == pytest.approx(2700)

    def test_price_by_the_yard_or_the_metre(self) -> None:
        assert loose_price(self.SOIL, UnitSystem.IMPERIAL) == pytest.approx(40 / 27)
        assert loose_price(self.SOIL, UnitSystem.METRIC) == pytest.approx(40 * 0.028316846592)


def test_a_job_without_stock_is_refused() -> None:
    with pytest.raises(ValueError, match="one picket stock"):
        plan(straight(SWALE, 48.0), stock=())
