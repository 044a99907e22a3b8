"""What closes low ground, on small fences worked by hand."""

import numpy as np
import pytest
from closed_ground import gaps
from low_runs import MARK, SWALE, low_run, plan, straight

from fencegrade.fence.low_ground.bill import loose_price
from fencegrade.fence.low_ground.choice import LowGroundPlan
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.stock import NO_STOCK
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import LowGround
from fencegrade.job.records import OpenStretch, Run, Soil
from fencegrade.units import UnitSystem


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


def test_the_price_of_soil_is_by_the_yard_or_the_metre() -> None:
    soil = Soil(
        low_ground=LowGround.SOIL, price=40.0, most_depth=6.0, crest=12.0, side_slope=3.0, loose_factor=1.25
    )
    assert loose_price(soil, UnitSystem.IMPERIAL) == pytest.approx(40 / 27)
    assert loose_price(soil, UnitSystem.METRIC) == pytest.approx(40 * 0.028316846592)


def test_a_job_without_stock_is_refused() -> None:
    with pytest.raises(ValueError, match="one picket stock"):
        plan(straight(SWALE, 48.0), stock=())
