"""Kickboards: which bays may have one, what they cost, and how they are scribed."""

from dataclasses import replace

import numpy as np
import pytest
from closed_ground import boards
from low_runs import MARK, low_run, pickets_of
from straight_ground import straight_ground

from fencegrade.fence.low_ground.choice import LowGroundPlan, close_low_ground
from fencegrade.fence.tops.level import level_at
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import LowGround
from fencegrade.job.records import Gate, OpenStretch, Run, Soil, Stock
from fencegrade.units import UnitSystem

BAYS = ((0.0, 96.0), (96.0, 192.0), (192.0, 288.0))
RUN = Run(name="bed", survey="bed.csv")
# level at both ends, 6 in lower all through the middle bay
DIP = straight_ground([0, 90, 102, 144, 186, 198, 288], [0, 0, -6, -6, -6, 0, 0])
PICKETS = pickets_of(((70.0, 4.0, 0), (84.0, 6.0, 0)), spacing=0.5)
SOIL = Soil(
    low_ground=LowGround.CHEAPEST,
    price=1000.0,
    most_depth=6.0,
    crest=12.0,
    side_slope=3.0,
    loose_factor=1.25,
    kickboard=(Stock(length=96.0, price=9.0), Stock(length=120.0, price=11.0)),
    kickboard_width=9.25,
)


def plan(
    line: GroundLine = DIP,
    run: Run = RUN,
    soil: Soil = SOIL,
    top: TopLine | None = None,
    bays: tuple[tuple[float, float], ...] = BAYS,
) -> LowGroundPlan:
    low = low_run(line, run, top or level_at(0.0, 288.0, 72.0), PICKETS, bays=bays)
    return close_low_ground([low], PICKETS, soil, MARK, UnitSystem.IMPERIAL)


def test_a_kickboard_in_the_low_bay() -> None:
    found = plan()
    (run,) = found.runs
    (board,) = run.kickboards
    assert (board.start, board.end, board.length, board.stock) == (96.0, 192.0, 96.0, 0)
    assert found.bill.kickboards == 9.0
    assert found.bill.total < found.bills[LowGround.BOARDS].total
    closed, cuts = run.boarded, boards(found).cuts
    assert closed.any()
    assert np.all(cuts.gap[closed] == 0)
    assert np.all(cuts.kept[closed] * MARK == 70)


def test_dear_kickboards_are_left() -> None:
    dear = replace(SOIL, kickboard=(Stock(length=96.0, price=90.0),))
    assert plan(soil=dear).runs[0].kickboards == ()


def test_chosen_outright_they_are_laid_whatever_they_cost() -> None:
    dear = replace(SOIL, low_ground=LowGround.KICKBOARD, kickboard=(Stock(length=96.0, price=90.0),))
    found = plan(soil=dear)
    assert len(found.runs[0].kickboards) >= 1
    assert found.bill.kickboards >= 90


def test_one_on_hand_costs_nothing() -> None:
    held = replace(SOIL, kickboard=(Stock(length=96.0, price=9.0, on_hand=1),))
    found = plan(soil=held)
    assert found.bill.kickboards == 0
    assert found.lower_bound <= found.bill.total


@pytest.mark.parametrize("limit", [None, 0])
def test_one_on_hand_serves_though_a_shorter_one_is_cheaper(limit: int | None) -> None:
    longer = Stock(length=120.0, price=11.0, on_hand=1, limit=limit)
    assert plan(soil=replace(SOIL, kickboard=(SOIL.kickboard[0], longer))).bill.kickboards == 0
    short = replace(longer, length=90.0)
    assert plan(soil=replace(SOIL, kickboard=(SOIL.kickboard[0], short))).bill.kickboards == 9


def test_the_one_on_hand_goes_where_it_spares_most_and_none_is_bought_beside_it() -> None:
    # the first bay dips under a few boards, the last under all of its boards; one costs more than either
    two = straight_ground([0, 40, 44, 60, 64, 198, 202, 288], [0, 0, -6, -6, 0, 0, -6, -6])
    held = replace(SOIL, kickboard=(Stock(length=96.0, price=45.0, on_hand=1),))
    found = plan(two, soil=held)
    assert [b.start for b in found.runs[0].kickboards] == [192.0]
    assert len(plan(two, soil=replace(held, low_ground=LowGround.KICKBOARD)).runs[0].kickboards) == 2
    assert found.bill.kickboards == 0
    assert (
        found.lower_bound
        <= found.bill.total
        < min(b.total for choice, b in found.bills.items() if choice is not LowGround.CHEAPEST)
    )


@pytest.mark.parametrize(
    "run",
    [
        Run(name="bed", survey="bed.csv", keep_open=(OpenStretch(start=140.0, end=150.0, height=2.0),)),
        Run(name="bed", survey="bed.csv", gate=(Gate(station=120.0, width=48.0),)),
    ],
)
def test_none_across_water_or_a_gate(run: Run) -> None:
    assert plan(run=run).runs[0].kickboards == ()


def test_none_too_narrow_too_short_or_without_posts() -> None:
    assert plan(soil=replace(SOIL, kickboard_width=7.5)).runs[0].kickboards == ()
    assert plan(soil=replace(SOIL, kickboard=(Stock(length=95.0, price=1.0),))).runs[0].kickboards == ()
    assert plan(bays=()).runs[0].kickboards == ()


def test_none_under_pickets_that_do_not_stand_in_line() -> None:
    bent = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 144.0, 288.0]),
        elevations=np.array([72.0, 73.0, 72.0]),
    )
    assert 1 not in [round(k.start / 96) for k in plan(top=bent).runs[0].kickboards]


def test_two_low_bays_share_the_boards_at_the_post_between() -> None:
    line = straight_ground([0, 90, 102, 186, 282, 288], [0, 0, -6, -6, -6, 0])
    (run,) = plan(line).runs
    assert [k.start for k in run.kickboards] == [96.0, 192.0]
    served = np.flatnonzero(run.boarded)
    assert np.all(np.diff(served) == 1)
    assert run.kickboards[1].first == run.kickboards[0].last + 1, "none over the post is left out"


def test_along_a_slope_the_edge_slopes_with_the_tops() -> None:
    slope = TopLine(
        style=TopStyle.SLOPED, stations=np.array([0.0, 288.0]), elevations=np.array([72.0, 89.28])
    )
    line = straight_ground(DIP.stations, DIP.elevations + DIP.stations * 0.06)
    (board, *_) = [k for k in plan(line, top=slope).runs[0].kickboards if k.start == 96.0]
    assert board.length == pytest.approx(96 * np.hypot(1, 0.06))
    assert board.stock == 1
