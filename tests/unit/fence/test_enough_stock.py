"""Spares, and how many boards fall to the next length when the ground moves."""

import numpy as np
import pytest

from fencegrade.fence.enough_stock import RiskRun, spare_boards, stock_risk
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.stock import StockChoice, choose_stock, needs_of
from fencegrade.fence.tops.level import level_at
from fencegrade.ground.fit import fit_ground
from fencegrade.job.choices import BottomCut, Fit
from fencegrade.job.records import Stock

COSTS = np.array([3.0, 5.0])


class TestSpares:
    def test_nine_draws_of_ten(self) -> None:
        # of ten draws one lacks 7 long boards, the others none to three
        long = [0, 0, 1, 1, 2, 2, 2, 3, 3, 7]
        demand = np.array([[0, n] for n in long])
        assert spare_boards(demand, COSTS, chance=0.9).tolist() == [0, 3]

    def test_a_long_spare_serves_for_a_short_one(self) -> None:
        # one draw wants two more short boards, another two more long ones: two long ones do for both
        demand = np.array([[2, 0], [0, 2]])
        assert spare_boards(demand, COSTS, chance=1.0).tolist() == [0, 2]

    def test_the_dearest_draw_is_left_out(self) -> None:
        demand = np.array([[0, 0]] * 8 + [[2, 0], [0, 4]])
        assert spare_boards(demand, COSTS, chance=0.9).tolist() == [2, 0]

    def test_of_two_draws_that_set_a_length_each_the_one_whose_absence_saves_most(self) -> None:
        demand = np.array([[0, 0]] * 8 + [[3, 0], [0, 2]])
        assert spare_boards(demand, COSTS, chance=0.9).tolist() == [3, 0]
        assert spare_boards(demand, COSTS[[0, 0]], chance=0.9).tolist() == [0, 2]

    def test_a_chance_is_a_share(self) -> None:
        with pytest.raises(ValueError, match="between 0 and 1"):
            spare_boards(np.array([[1, 1]]), COSTS, chance=9.0)


MARK = 0.125


def marked_at(wood: float, error: float = 0.5) -> tuple[RiskRun, StockChoice]:
    """A level fence all marked in place, whose boards reach `wood` inches past the longest length needed."""
    x = np.arange(0.0, 241.0, 24.0)
    profile = fit_ground(x, np.sin(x / 30) / 4, reading_error=error)
    slots = fill_stretch(0.0, 240.0, 5.5, 0.5, Fit.EVEN_GAPS)
    clearance = np.full(len(slots), 2.0)
    top = level_at(0.0, 240.0, float(profile.highest(0.0, 240.0)) + 74.0)
    needs = needs_of(
        cut_pickets(profile.line, slots, top, clearance, BottomCut.SQUARE, MARK), clearance, None, MARK
    )
    longest = float(needs.least.max()) * MARK
    choice = choose_stock(
        needs, (Stock(length=longest + wood, price=3.0), Stock(length=longest + 12, price=5.0))
    )
    return RiskRun(profile=profile, slots=slots, needs=needs, wood=choice.wood), choice


class TestStockRisk:
    def test_with_wood_enough_none_is_short(self) -> None:
        run, choice = marked_at(8.0)
        found = stock_risk([run], choice)
        assert (found.short, found.spares.tolist()) == (0, [0, 0])

    def test_with_none_to_spare_some_are_and_spares_cover_nineteen_in_twenty(self) -> None:
        run, choice = marked_at(0.0)
        found = stock_risk([run], choice)
        assert found.short > 1
        assert found.spares[1] > found.short
        assert found.unserved == 0

    def test_the_less_wood_the_more_are_short(self) -> None:
        short = [stock_risk([run], choice).short for run, choice in map(marked_at, (0.0, 0.5, 1.0, 3.0))]
        assert short == sorted(short, reverse=True)
        assert short[0] > short[-1]

    def test_the_share_short_is_that_of_the_law(self) -> None:
        run, choice = marked_at(0.5)
        room = (run.wood - run.needs.least) * MARK
        law = run.profile.spread.at(run.slots.centre).beyond(room)
        # a reach is whole marks: the chance lies between that of this room and of a mark more
        more = run.profile.spread.at(run.slots.centre).beyond(room + MARK)
        found = stock_risk([run], choice, draws=2000).short
        assert float(more.sum()) * 0.9 <= found <= float(law.sum()) * 1.1

    def test_the_same_seed_gives_the_same_answer(self) -> None:
        run, choice = marked_at(0.25)
        one, two = (stock_risk([run], choice, seed=4) for _ in range(2))
        assert (one.short, one.spares.tolist()) == (two.short, two.spares.tolist())

    def test_two_runs_do_not_move_in_step(self) -> None:
        """On ground that moved alike twice as many would be short at once; of two grounds both seldom are."""
        run, choice = marked_at(0.0)
        one, two = stock_risk([run], choice), stock_risk([run, run], choice)
        assert two.short == pytest.approx(2 * one.short, rel=0.25)
        assert one.spares.sum() < two.spares.sum() < 2 * one.spares.sum()

    def test_with_one_length_alone_all_that_are_short_are_left_without(self) -> None:
        run, choice = marked_at(0.0)
        alone = choose_stock(run.needs, choice.offered[:1])
        found = stock_risk([run], alone)
        assert found.unserved > found.short > 0
        assert not found.spares.any()

    def test_a_length_that_costs_more_than_a_longer_one_is_no_spare(self) -> None:
        run, choice = marked_at(0.0)
        short, longer = choice.offered
        dear = Stock(length=(short.length + longer.length) / 2, price=9.0)
        found = stock_risk([run], choose_stock(run.needs, (short, dear, longer)))
        assert found.spares[1] == 0
        assert found.spares[2] == stock_risk([run], choice).spares[1] > 0
