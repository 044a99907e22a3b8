"""The buying list: every part once, totals that are sums of lines to the cent."""

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.job.read import Job
from fencegrade.planning.buying import (
    BuyingList,
    BuyLine,
    bag_weight_words,
    buying_list,
    crew_hours,
    section_words,
    trips,
)
from fencegrade.planning.heights import heights_on
from fencegrade.planning.marked import marked_pickets
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.screen.summary import buy_words
from fencegrade.units import UnitSystem

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


LEVEL = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n"
ROLLING = "station [ft],elevation [in]\n0,0\n8,-5\n16,-9\n24,1\n"


def lines(plan: FencePlan, part: str) -> list[BuyLine]:
    return [line for line in buying_list(plan).lines if line.part == part]


def test_a_line_is_need_and_spare_less_what_is_there(write_job: WriteJob) -> None:
    plan = plan_fence(
        write_job(f'[top]\nleast_height = "6 ft"\n{PRICED}', stock=STOCK, pickets="spare = 0.1")
    )
    six, eight = lines(plan, "pickets")
    assert (six.on_hand, eight.on_hand) == (5, 0)
    for line in (six, eight):
        assert line.spare == -(-int(line.need) // 10)
        assert line.to_buy == line.need - line.on_hand + line.spare
    assert six.need + eight.need == len(plan.runs[0].slots)
    assert (six.length, eight.length, six.price, eight.price) == (72.0, 96.0, 4.10, 6.85)


def test_bags_on_hand_are_used_before_any_is_bought(write_job: WriteJob) -> None:
    """Three bags of concrete of those needed are there, and more of gravel than are needed."""
    some = PRICED.replace("bag_price = 5.35", "bag_price = 5.35\nbags_on_hand = 3\ngravel_bags_on_hand = 99")
    bare, held = (plan_fence(write_job(keys, stock=STOCK)) for keys in (PRICED, some))
    (was,), (mix,), (gravel,) = (
        lines(bare, "concrete mix"),
        lines(held, "concrete mix"),
        lines(held, "gravel"),
    )
    assert (mix.need, mix.on_hand, mix.to_buy) == (was.need, 3, was.need - 3)
    assert (gravel.on_hand, gravel.to_buy, gravel.weight) == (gravel.need, 0, 0)
    assert buy_words(gravel, held.words) == f"{gravel.need:g} bags (50 lb) of gravel, on hand"
    one = (was.weight or 0.0) / was.need
    assert mix.weight == pytest.approx((was.weight or 0.0) - 3 * one)
    less = (buying_list(bare).cost or 0.0) - (buying_list(held).cost or 0.0)
    assert less == pytest.approx(3 * 5.35)


@pytest.mark.parametrize("limit", [None, 0])
def test_what_is_left_on_hand_is_spare_before_any_is_bought(write_job: WriteJob, limit: int | None) -> None:
    """Two more of 6 ft lie there than are needed, of 8 ft one more; the others are bought in what is sold."""
    few = f'[top]\nleast_height = "6 ft"\n{PRICED}'
    needs = [line.need for line in lines(plan_fence(write_job(few, stock=STOCK)), "pickets")]
    there = f"on_hand = {needs[0] + 2:g}\n" + ("" if limit is None else f"limit = {limit}")
    stock = STOCK.replace("on_hand = 5", there) + f"on_hand = {needs[1] + 1:g}\n"
    plan = plan_fence(write_job(few, stock=stock, pickets="spare = 0.5"))
    short, long = lines(plan, "pickets")
    assert [short.need, long.need] == needs
    assert (short.spare_there, short.on_hand, long.spare_there, long.on_hand) == (
        *(2, needs[0] + 2),
        *(1, needs[1] + 1),
    )
    more = [-(-n // 2) for n in needs] if limit is None else [0, -(-sum(needs) // 2)]
    bought = [more[0] - 2, more[1] - 1] if limit is None else [0, more[1] - 3]
    assert [short.to_buy, long.to_buy] == bought == [x.spare - x.spare_there for x in (short, long)]
    pile = f"{needs[1] + 1:g} more on hand, 1 of them spare"
    told = buy_words(long, plan.words)
    assert told.startswith(f"{bought[1]:g} pickets of 8 ft, ")
    assert told.endswith(f"{bought[1]:g} of them spare ({pile})")


@pytest.mark.parametrize("ends", ["dog-eared", "flat"])
def test_a_spare_is_of_the_cheapest_length_that_would_do_for_its_board(
    write_job: WriteJob, ends: str
) -> None:
    """Boards of 8 ft on hand go where 6 ft would do; a dearer length between is no spare at all."""
    asked = f'[top]\nleast_height = "5 ft 4 in"\n{PRICED}'
    stock = STOCK.replace("on_hand = 5", "").replace("price = 6.85", "price = 6.85\non_hand = 20")
    pickets = f'spare = 0.1\ntop_end = "{ends}"'
    between = "[[pickets.stock]]\nlength = '6 ft 3 in'\nprice = 9\n"
    low, none = (
        buying_list(plan_fence(write_job(asked, stock=s, pickets=pickets, lane=(LEVEL, ""))))
        for s in (stock + between, stock)
    )
    six, eight = (x for x in low.lines if x.part == "pickets")
    assert (eight.need, eight.spare, eight.to_buy) == (20, 0, 0)
    assert six.spare == -(-int(six.need + eight.need) // 10)
    assert none.cost == low.cost
    high = asked.replace("5 ft 4 in", "6 ft 4 in")
    own = lines(
        plan_fence(write_job(high, stock=stock + between, pickets=pickets, lane=(LEVEL, ""))), "pickets"
    )
    assert [x.length for x in own if x.spare] == [96.0]


def test_what_is_over_from_another_job_and_no_longer_sold_is_used_and_never_bought(
    write_job: WriteJob,
) -> None:
    """Fourteen boards, two long posts and two long rails; spares of the boards are bought in what is sold."""
    stock = STOCK.replace("price = 4.10\non_hand = 5", "on_hand = 14\nlimit = 0")
    over = "on_hand = 2\nlimit = 0\n"
    posts = f"[[posts.stock]]\nlength = '9 ft'\nprice = 9\n[[posts.stock]]\nlength = '12 ft'\n{over}"
    rails = f"[[rails.stock]]\nlength = '8 ft'\nprice = 7\n[[rails.stock]]\nlength = '16 ft'\n{over}"
    plan = plan_fence(write_job(posts + rails, stock=stock, pickets="spare = 0.1", lane=(LEVEL, "")))
    six, eight = lines(plan, "pickets")
    assert (six.need, six.on_hand, six.to_buy, six.total) == (14, 14, 0, None)
    assert eight.need + 14 == len(plan.runs[0].slots)
    assert eight.spare == -(-(14 + int(eight.need)) // 10)
    longer = STOCK.replace("price = 6.85", "on_hand = 14\nlimit = 0")
    six, eight = lines(
        plan_fence(write_job("", stock=longer, pickets="spare = 0.1", lane=(LEVEL, ""))), "pickets"
    )
    assert (eight.on_hand, eight.spare, eight.to_buy) == (14, 0, 0)
    assert six.spare == -(-(14 + int(six.need)) // 10), (
        "the longest sold is spare for what no sold one is as long as"
    )
    for part in ("posts", "rails"):
        sold, left = lines(plan, part)
        assert (left.on_hand, left.to_buy, sold.on_hand) == (2, 0, 0)
    assert not plan.missing
    (few,) = plan_fence(write_job(posts.replace("9 ft", "6 ft"), stock=stock, lane=(LEVEL, ""))).missing
    assert (few.part, few.count, few.longest) == ("post", 1, 72.0), "and told beside what is sold"
    assert {"posts", "rails", "pickets"}.isdisjoint(buying_list(plan).unpriced)
    assert all(
        entry.table.boards.shape[1] == 1 for entry in heights_on(plan.job, [plan.runs[0].ground]).tables
    )


def test_the_cost_is_the_sum_of_the_lines_to_the_cent(write_job: WriteJob) -> None:
    bought = buying_list(plan_fence(write_job(PRICED, stock=STOCK)))
    cents = sum(round(line.to_buy * line.price * 100) for line in bought.lines if line.price is not None)
    assert bought.cost == cents / 100
    assert bought.unpriced == ("gravel",)


def test_the_money_of_the_doubt_and_the_bill_without_it_come_to_the_pickets_line(write_job: WriteJob) -> None:
    """Boards on hand that go to a picket in doubt are bought for another: that counts as well."""
    stock = STOCK.replace(
        "on_hand = 5", "on_hand = 40\n[[pickets.stock]]\nlength = '7 ft'\nprice = 9\non_hand = 9"
    )
    sparse = "station [ft],drop [in]\n0,20\n20,34\n40,20\n"
    plan = plan_fence(write_job('[top]\nleast_height = "62 in"\n', stock=stock, lane=(sparse, "")))
    marked = marked_pickets(plan)
    low = plan.low_ground
    assert marked.more > 0
    none = tuple(replace(s, on_hand=0) for s in plan.job.pickets.stock)
    sold = marked_pickets(plan_fence(replace(plan.job, pickets=replace(plan.job.pickets, stock=none))))
    assert (marked.longer, marked.charted) == (sold.longer, sold.charted), "on hand or bought for another"
    paid = sum(line.total or 0.0 for line in lines(plan, "pickets") + lines(plan, "soil"))
    assert low.bills[low.choice].total + marked.more + marked.charted_more == pytest.approx(paid)


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
    boxes = [x.need for x in buying_list(plan).lines if x.unit == "box of 350"]
    assert [s.boxes for s in plan.screws] == boxes


def test_weight_of_timber_by_its_volume(write_job: WriteJob) -> None:
    """A 5/8 x 5-1/2 in picket of 72 in is 0.1432 cu ft, 5.10 lb of dry pine; a treated rail 18.18 lb.

    Weights of wood: see tests/published/test_lumber_sizes.py.
    """
    plan = plan_fence(write_job(PRICED, stock=STOCK, pickets="spare = 0.1"))
    six, (rail,) = lines(plan, "pickets")[0], lines(plan, "rails")
    assert six.spare > 0
    assert rail.weight == pytest.approx(rail.to_buy * 0.364583 * 0.47 * 62.4 * 1.7, rel=1e-4)
    assert six.weight == pytest.approx(six.to_buy * 0.143229 * 0.51 * 62.4 * 1.12, rel=1e-4)
    assert buying_list(plan).weight > plan.concrete.weight


def test_gate_pickets_have_a_line_of_their_own(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    plan = plan_fence(write_job(lane=(level, '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"')))
    (gate,) = lines(plan, "gate pickets")
    assert gate.need == sum(len(leaf.kept) for leaf in plan.runs[0].leaves)


SOIL = """
[soil]
low_ground = "soil"
price = 40.0
most_depth = "12 in"
"""


def test_soil_in_bags_costs_its_share_of_a_yard(write_job: WriteJob) -> None:
    """Half a cubic foot is 1/54 of a cubic yard."""
    yard = plan_fence(write_job(SOIL))
    bags = plan_fence(write_job(SOIL + 'bag = "0.5 ft3"\n'))
    (loose,), (bagged,) = lines(yard, "soil"), lines(bags, "soil")
    assert (loose.unit, loose.price) == ("cubic yard", 40.0)
    assert loose.to_buy * 2 == int(loose.to_buy * 2)
    assert 0 <= loose.to_buy - loose.need < 0.5
    assert (bagged.unit, bagged.price) == ("bag of 0.50 cu ft", round(40.0 / 54, 2))
    assert 0 <= bagged.to_buy - loose.need * 54 < 1.1
    assert bagged.need == bagged.to_buy, "whole bags are needed"
    # what the ways to close low ground are compared by is what the list costs
    assert [p.low_ground.bill.soil for p in (yard, bags)] == pytest.approx([loose.total, bagged.total])


def test_the_list_is_in_the_yard_s_words(write_job: WriteJob) -> None:
    said = {x.part: x.section for x in buying_list(plan_fence(write_job())).lines}
    assert said["posts"] == "4x4 (3-1/2 x 3-1/2 in), treated for ground contact"
    assert said["pickets"] == "1x6 (5/8 x 5-1/2 in), dog-eared"
    metric = "station [m],elevation [mm]\n0,0\n3,10\n6,0\n"
    plan = plan_fence(write_job(units="metric", stock='[[pickets.stock]]\nlength = "2.4 m"\n', lane=metric))
    sold = {x.part: (x.section, x.unit) for x in buying_list(plan).lines}
    assert sold["pickets"][0] == "16 x 140 mm, dog-eared"
    assert sold["rails"] == ("38 x 90 mm, treated, above ground", "board")
    assert sold["concrete mix"] == ("", "bag of 25 kg")


def test_each_run_s_share_of_the_cost_adds_up_to_the_cent(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(PRICED, stock=STOCK, lane=ROLLING, side=LEVEL))
    bought = buying_list(plan)
    lane, side = bought.cost_by_run(2)
    assert round(lane + side, 2) == bought.cost
    assert lane > side > 0
    assert all(len(x.shares) == 2 for x in bought.lines)


def test_pickets_over_a_fill_do_not_follow_the_ground(write_job: WriteJob) -> None:
    (run,) = plan_fence(write_job(SOIL)).runs
    assert run.closing.fills
    over = {n for fill in run.closing.fills for n in range(fill.first, fill.last + 1)}
    assert set((run.closing.on_soil.nonzero()[0] + 1).tolist()) >= over


def test_the_last_trip_may_be_a_light_one(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(PRICED + '[crew]\npayload = "500 lb"\n'))
    bought = buying_list(plan)
    made = trips(plan, bought)
    assert made is not None
    assert (made - 1) * 500 < bought.weight <= made * 500
    assert trips(plan_fence(write_job(PRICED)), bought) is None


@pytest.mark.parametrize(
    ("to_buy", "price", "shares", "cents"),
    [
        (3, 1.0, (1.0, 2.0), [100, 200]),
        (1, 1.0, (1.0, 1.0, 1.0), [33, 34, 33]),
        (1, 0.01, (1.0, 3.0), [0, 1]),
        (2, 0.5, (), [33, 34, 33]),  # no run's own: alike
        (2, 0.5, (0.0, 0.0, 0.0), [33, 34, 33]),
        (2, None, (1.0, 1.0), [0, 0]),
        (2, 5.0, (0.0, 4.0), [0, 1000]),
    ],
)
def test_a_line_s_cents_by_run_add_up(
    to_buy: float, price: float | None, shares: tuple[float, ...], cents: list[int]
) -> None:
    line = BuyLine(part="x", unit="board", need=to_buy, to_buy=to_buy, price=price, shares=shares)
    assert line.cents_by_run(len(cents)) == cents
    assert sum(cents) == round((line.total or 0.0) * 100)
    dear = BuyLine(part="y", unit="board", need=1, to_buy=1, price=2.5, shares=(1.0,) * len(cents))
    both = BuyingList(lines=(line, dear)).cost_by_run(len(cents))
    assert both == [
        round((a + b) / 100, 2) for a, b in zip(cents, dear.cents_by_run(len(cents)), strict=True)
    ]


def test_a_list_of_nothing_costs_nothing_in_every_run() -> None:
    none = BuyingList(lines=())
    assert (none.cost, none.cost_by_run(2), none.unpriced, none.weight) == (None, [0.0, 0.0], (), 0)


def test_parts_without_a_price_are_named_once_and_only_where_bought() -> None:
    def line(part: str, to_buy: float, price: float | None, weight: float | None) -> BuyLine:
        return BuyLine(part=part, unit="board", need=9, to_buy=to_buy, price=price, weight=weight)

    found = BuyingList(
        lines=(
            line("rails", 3, None, 10.0),
            line("posts", 0, None, None),
            line("rails", 2, None, 2.5),
            line("pickets", 2, 4.0, 1.0),
        )
    )
    assert (found.unpriced, found.cost, found.weight) == (("rails",), 8.0, 13.5)


@pytest.mark.parametrize(
    ("size", "system", "words"),
    [
        ((1.5, 3.5), UnitSystem.IMPERIAL, "2x4 (1-1/2 x 3-1/2 in)"),
        ((3.5, 1.5), UnitSystem.IMPERIAL, "2x4 (1-1/2 x 3-1/2 in)"),
        ((0.625, 5.0), UnitSystem.IMPERIAL, "5/8 x 5 in"),
        ((90 / 25.4, 38 / 25.4), UnitSystem.METRIC, "38 x 90 mm"),
    ],
)
def test_a_section_as_a_yard_names_it(size: tuple[float, float], system: UnitSystem, words: str) -> None:
    assert section_words(*size, system) == words


@pytest.mark.parametrize(
    ("pounds", "system", "words"),
    [
        (80.0, UnitSystem.IMPERIAL, "80 lb"),
        (55.11556554, UnitSystem.METRIC, "25 kg"),
        (49.604, UnitSystem.METRIC, "22.5 kg"),
    ],
)
def test_the_weight_of_a_bag_as_printed_on_it(pounds: float, system: UnitSystem, words: str) -> None:
    assert bag_weight_words(pounds, system) == words


@pytest.mark.parametrize(("weight", "trips_made"), [(999.0, 2), (1000.0, 2), (1000.1, 3), (0.0, 0)])
def test_trips_by_the_payload(weight: float, trips_made: int) -> None:
    plan: Any = SimpleNamespace(job=SimpleNamespace(crew=SimpleNamespace(payload=500.0)))
    line = BuyLine(part="x", unit="board", need=1, to_buy=1, weight=weight)
    assert trips(plan, BuyingList(lines=(line,))) == trips_made


def test_hours_at_the_crew_s_pace() -> None:
    """Five posts to set at 2 an hour, eight rails at 4, and thirty pickets at no pace that is told."""
    runs = [
        SimpleNamespace(
            rails_coming=np.array([True] * 4 + [False]),
            layout=SimpleNamespace(coming=np.ones(15, dtype=bool)),
        )
    ] * 2
    crew = SimpleNamespace(posts_an_hour=2.0, rails_an_hour=4.0, pickets_an_hour=None)
    own = [SimpleNamespace(wanted=np.array(new)) for new in ([True, True, False], [False, True, True, True])]
    plan: Any = SimpleNamespace(runs=runs, job=SimpleNamespace(crew=crew), posts_to_set=own)
    assert crew_hours(plan) == {"setting posts": 2.5, "fixing rails": 2.0}
    crew.pickets_an_hour = 60.0
    assert crew_hours(plan)["cutting and hanging pickets"] == 0.5
