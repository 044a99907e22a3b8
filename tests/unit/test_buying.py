"""The buying list: every part once, totals that are sums of lines to the cent."""

from collections.abc import Callable

import pytest

from fencegrade.buying import BuyingList, BuyLine, buying_list
from fencegrade.job.read import Job
from fencegrade.plan import FencePlan, plan_fence

WriteJob = Callable[..., Job]

PRICED = """
[posts]
bag_price = 5.35
[[posts.stock]]
length = "10 ft"
price = 14.0
[rails]
[[rails.stock]]
length = "10 ft"
price = 7.15
on_hand = 2
[fasteners]
box_price = 11.99
"""
STOCK = """
[[pickets.stock]]
length = "6 ft"
price = 4.10
on_hand = 5
[[pickets.stock]]
length = "8 ft"
price = 6.85
"""


def lines(plan: FencePlan, part: str) -> list[BuyLine]:
    return [line for line in buying_list(plan).lines if line.part == part]


def test_a_line_is_need_and_spare_less_what_is_there(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(PRICED, stock=STOCK, pickets="spare = 0.1"))
    six, eight = lines(plan, "pickets")
    assert (six.on_hand, eight.on_hand) == (5, 0)
    for line in (six, eight):
        assert line.spare == -(-int(line.need) // 10)
        assert line.to_buy == line.need - line.on_hand + line.spare
    assert six.need + eight.need == len(plan.runs[0].slots)
    assert (six.size, eight.size, six.price, eight.price) == (72.0, 96.0, 4.10, 6.85)


def test_the_cost_is_the_sum_of_the_lines_to_the_cent(write_job: WriteJob) -> None:
    bought = buying_list(plan_fence(write_job(PRICED, stock=STOCK)))
    cents = sum(round(line.to_buy * line.price * 100) for line in bought.lines if line.price is not None)
    assert bought.cost == cents / 100
    assert bought.unpriced == ("gravel",)


def test_what_has_no_price_is_named_and_left_out(write_job: WriteJob) -> None:
    bought = buying_list(plan_fence(write_job()))
    assert set(bought.unpriced) >= {"posts", "rails", "concrete mix", "screws, pickets"}
    assert "pickets" not in bought.unpriced
    assert bought.cost == pytest.approx(sum(x.total for x in bought.lines if x.total is not None))


def test_without_any_price_there_is_no_cost(write_job: WriteJob) -> None:
    assert buying_list(plan_fence(write_job(stock='[[pickets.stock]]\nlength = "8 ft"\n'))).cost is None


def test_half_cents_go_up() -> None:
    line = BuyLine(part="x", unit="board", need=5, spare=0, on_hand=0, to_buy=5, price=0.101)
    assert line.total == 0.51  # 0.505
    assert BuyingList(lines=(line, line)).cost == 1.02


def test_posts_rails_bags_and_screws_are_those_of_the_plan(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(PRICED, stock=STOCK))
    (posts,), (rails,) = lines(plan, "posts"), lines(plan, "rails")
    assert posts.need == len(plan.runs[0].posts)
    assert rails.need == plan.families.rails.plan.board_count
    assert rails.on_hand == 2
    assert lines(plan, "concrete mix")[0].need == plan.concrete.bags_in_all
    assert [s.boxes for s in plan.screws] == [x.need for x in buying_list(plan).lines if x.unit == "box"]


def test_weight_of_timber_by_its_volume(write_job: WriteJob) -> None:
    """A 5/8 x 5-1/2 in picket of 72 in is 0.1432 cu ft; at 35 lb a cubic foot (common practice) 5.01 lb."""
    plan = plan_fence(write_job(PRICED, stock=STOCK))
    six = lines(plan, "pickets")[0]
    assert six.weight == pytest.approx(six.to_buy * 5.0130, rel=1e-4)
    assert buying_list(plan).weight > plan.concrete.weight


def test_gate_pickets_have_a_line_of_their_own(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    plan = plan_fence(write_job(lane=(level, '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"')))
    (gate,) = lines(plan, "gate pickets")
    assert gate.need == sum(len(leaf.kept) for leaf in plan.runs[0].leaves)
