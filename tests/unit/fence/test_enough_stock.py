"""Spares, and how many boards fall to the next length when the ground moves."""

import numpy as np
import pytest

from fencegrade.fence.enough_stock import RiskRun, spare_boards, stock_risk
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.stock import StockChoice, choose_stock, join_needs, needs_of
from fencegrade.fence.tops.level import level_at
from fencegrade.ground.fit import fit_ground
from fencegrade.job.records import BottomCut, Fit, Stock

COSTS = np.array([3.0, 5.0])


class TestSpares:
    def test_nine_draws_of_ten(self) -> None:
        # of ten draws one lacks 7 long boards, the others none to three
        long = [0, 0, 1, 1, 2, 2, 2, 3, 3, 7]
        demand = np.array([[20 - n, 5 + n] for n in long])
        spares, covered = spare_boards(np.array([20, 5]), demand, COSTS)
        assert spares.tolist() == [0, 3]
        assert covered == 0.9

    def test_a_long_spare_serves_for_a_short_one(self) -> None:
        # one draw wants two more short boards, another two more long ones: two long ones do for both
        demand = np.array([[12, 5], [10, 7]])
        spares, covered = spare_boards(np.array([10, 5]), demand, COSTS, chance=1.0)
        assert spares.tolist() == [0, 2]
        assert covered == 1.0

    def test_the_dearest_draw_is_left_out(self) -> None:
        demand = np.array([[10, 5]] * 8 + [[12, 5], [10, 9]])
        spares, covered = spare_boards(np.array([10, 5]), demand, COSTS, chance=0.9)
        assert spares.tolist() == [2, 0]
        assert covered == 0.9

    def test_what_is_held_may_be_enough(self) -> None:
        spares, covered = spare_boards(np.array([10, 5]), np.array([[9, 5], [10, 4]]), COSTS)
        assert spares.tolist() == [0, 0]
        assert covered == 1.0

    def test_a_chance_is_a_share(self) -> None:
        with pytest.raises(ValueError, match="between 0 and 1"):
            spare_boards(np.array([1, 1]), np.array([[1, 1]]), COSTS, chance=9.0)


def run_at(reach: float, fixed: bool = False, error: float = 0.5) -> tuple[RiskRun, StockChoice, float]:
    """A level fence whose pickets are `reach` inches short of their board's length."""
    x = np.arange(0.0, 241.0, 24.0)
    profile = fit_ground(x, np.sin(x / 30) / 4, reading_error=error)
    slots = fill_stretch(0.0, 240.0, 5.5, 0.5, Fit.EVEN_GAPS)
    clearance = np.full(len(slots), 2.0)
    high = float(profile.highest(0.0, 240.0))
    top = level_at(0.0, 240.0, high + 74.0)
    cuts = cut_pickets(profile.line, slots, top, clearance, BottomCut.SQUARE, 0.125)
    longest = float(cuts.kept.max()) * 0.125
    stock = (Stock(length=longest + reach, price=3.0), Stock(length=longest + reach + 12, price=5.0))
    needs = needs_of(cuts, clearance, None, 0.125)
    choice = choose_stock(needs, stock)
    risk = RiskRun(profile=profile, slots=slots, needs=needs, fixed=np.full(len(slots), fixed))
    return risk, choice, longest


class TestStockRisk:
    def test_far_from_the_reach_nothing_falls(self) -> None:
        risk, choice, _ = run_at(8.0)
        found = stock_risk([risk], choice)
        assert found.falls.tolist() == [0, 0]
        assert found.spares.tolist() == [0, 0]
        assert found.covered == 1.0

    def test_at_the_reach_some_do_and_spares_cover_nine_in_ten(self) -> None:
        risk, choice, _ = run_at(0.0)
        found = stock_risk([risk], choice)
        assert found.falls[0] > 1
        assert found.most_falls[0] > found.falls[0]
        assert found.spares[1] > 0
        assert found.covered >= 0.9
        assert found.unserved == 0

    def test_the_nearer_the_reach_the_more_fall(self) -> None:
        falls = []
        for reach in (0.0, 0.5, 1.0, 3.0):
            risk, choice, _ = run_at(reach)
            falls.append(float(stock_risk([risk], choice).falls[0]))
        assert falls == sorted(falls, reverse=True)
        assert falls[0] > falls[-1]

    def test_pickets_cut_to_a_fill_do_not_follow_the_ground(self) -> None:
        risk, choice, _ = run_at(0.0, fixed=True)
        assert stock_risk([risk], choice).falls.tolist() == [0, 0]

    def test_the_same_seed_gives_the_same_answer(self) -> None:
        risk, choice, _ = run_at(0.25)
        one, two = (stock_risk([risk], choice, seed=4) for _ in range(2))
        assert one.falls.tolist() == two.falls.tolist()
        assert one.spares.tolist() == two.spares.tolist()

    def test_two_runs_do_not_move_in_step(self) -> None:
        """On ground that moved alike twice as many would fall at once; of two grounds both seldom move so."""
        risk, choice, _ = run_at(0.0)
        stock = choose_stock(join_needs([risk.needs] * 2), choice.offered)
        one = stock_risk([risk], choice)
        two = stock_risk([risk, risk], stock)
        assert one.falls[0] < two.falls[0]
        assert two.falls[0] == pytest.approx(2 * one.falls[0], rel=0.25)
        assert one.most_falls[0] < two.most_falls[0] < 2 * one.most_falls[0]

    def test_with_one_length_alone_all_that_fall_are_left_without(self) -> None:
        risk, choice, _ = run_at(0.0)
        stock = choose_stock(risk.needs, choice.offered[:1])
        assert (stock.stock == 0).all()
        found = stock_risk([risk], stock)
        assert found.unserved == found.most_falls[0] > 0
        both = choose_stock(join_needs([risk.needs] * 2), choice.offered[:1])
        of_two = stock_risk([risk, risk], both)
        assert of_two.unserved == of_two.most_falls[0] > found.unserved

    def test_pickets_that_no_stock_served_before_are_not_counted_again(self) -> None:
        risk, _, longest = run_at(0.0, fixed=True)
        stock = choose_stock(risk.needs, [Stock(length=longest - 0.25, price=3.0)])
        assert 0 < (stock.stock < 0).sum() < len(risk.slots)
        found = stock_risk([risk], stock)
        assert (found.unserved, found.falls.tolist()) == (0, [0])
