"""Fills as they are to be built: where they may lie, how much soil they hold."""

from typing import Any

import numpy as np
import pytest
from low_runs import SWALE, plan, straight
from straight_ground import straight_ground

from fencegrade.fence.low_ground.choice import LowGroundPlan
from fencegrade.fence.low_ground.finished import _crossings
from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.tops.level import level_at
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import Fit, LowGround

pytestmark = pytest.mark.usefixtures("soil_by_volume")


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

    @pytest.mark.parametrize(
        ("limit", "told"),
        [
            ({"most_depth": 3.0}, "4 in deep, and most_depth is 3 in"),
            ({"least_length": 80.0}, "least_length"),
        ],
    )
    def test_the_limit_that_keeps_soil_away_is_told(self, limit: dict[str, Any], told: str) -> None:
        """6 in stay open under boards of 72 in where 4 in of soil would close them, and no other stock."""
        line, top = ground_line([0, 69], [0, 0]), level_at(0, 69, 78.0)
        made = plan(line, LowGround.SOIL, self.STOCK[:1], top=top, end_slope=5.0, **limit)
        (found,) = [p for p in made.problems if "no soil" in p.found]
        assert told in found.found
        assert found.found.startswith("no soil goes under pickets 1-12")

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


def test_the_tops_of_two_overlapping_boards_cross_where_they_are_level_with_each_other() -> None:
    """One rises by 1/2 from 0 at 0, the other falls by 1/2 from 3 at 2: both are 2 at 4; a third is apart."""
    left, right = np.array([0.0, 2.0, 7.0]), np.array([6.0, 8.0, 9.0])
    assert _crossings(left, right, np.array([0.0, 3.0, 5.0]), np.array([0.5, -0.5, 0.0])) == pytest.approx(
        [4]
    )
