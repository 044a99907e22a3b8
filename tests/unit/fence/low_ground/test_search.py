"""What the search weighs together: boards, soil and lengths along a run."""

from types import SimpleNamespace

import numpy as np
import pytest
from closed_ground import boards, gaps
from low_runs import RUN, SWALE, low_run, pickets_of, plan, straight
from straight_ground import straight_ground

from fencegrade.fence.low_ground.cases import _shares
from fencegrade.fence.low_ground.fill_places import LowRun, fill_rows, gate_swing
from fencegrade.fence.low_ground.finished import fill_volumes, soil_top
from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.low_ground.search import Closed
from fencegrade.fence.low_ground.soil_body import Section
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.wishes import picket_zones
from fencegrade.fence.slots import fill_stretch
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import BottomCut, Fit, LowGround, Pattern
from fencegrade.job.records import Gate, Run, Soil, Stock


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
        assert gate_swing(Run(name="a", survey="a.csv", gate=(gate,))) == [(100.0, 148.0)]
        assert gate_swing(Run(name="a", survey="a.csv", gate=(double,))) == [(100.0, 196.0)]
        line = ground_line([0, 50, 100, 150, 200], [0, -4, -4, -4, 0])
        run = Run(name="herb bed", survey="h.csv", gate=(gate,))
        stock = ((71.0, 3.0, 0), (96.0, 5.0, 0))
        found = plan(line, LowGround.SOIL, stock=stock, run=run)
        assert all(f.foot_end <= 100 or f.foot_start >= 148 for f in found.runs[0].fills)
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


@pytest.mark.parametrize("cut", BottomCut)
@pytest.mark.parametrize("ground", [(0.0, 0.0, 0.0, 0.0), (0.0, 1.9, 3.8, 5.75), (0.0, 3.0, 1.0, 4.0)])
def test_two_rows_share_their_soil(cut: BottomCut, ground: tuple[float, ...]) -> None:
    """What the search adds up board by board, and the soil as laid, is the higher of two tops, on a grid."""
    slots, _ = lay_pattern(Pattern.SHADOWBOX, 0.0, 57.5, 5.5, 2.0, Fit.EVEN_GAPS).in_order()
    line = ground_line([0.0, 20.0, 40.0, 57.5], ground)
    top = TopLine(style=TopStyle.CONTOUR, stations=line.stations, elevations=line.elevations + 78.0)
    zones = picket_zones(slots, RUN, pickets_of())
    cuts = cut_pickets(line, slots, top, zones.clearance, cut, 1 / 1024)
    low = LowRun(run=RUN, line=line, start=0.0, end=57.5, slots=slots, zones=zones, cuts=cuts)
    soil = Soil(
        low_ground=LowGround.SOIL, price=1.0, most_depth=9.0, crest=12.0, side_slope=1.0, loose_factor=1.25
    )
    rows = fill_rows(low, np.array([71 * 1024]), soil, 1 / 1024)
    assert len(rows) == len(slots)
    assert rows.joined.tolist() == [False, *[True] * (len(rows) - 1)]
    x = np.arange(0.0, 57.5, 1 / 256) + 1 / 512
    share = (x[:, None] - slots.left) / slots.width
    surface = rows.left_surface + share * (rows.right_surface - rows.left_surface)
    tops = np.where((share >= 0) & (share <= 1), surface, -np.inf).max(axis=1)
    depth = tops - line.elevation(x)
    volume = float(np.sum(12 * depth + depth**2)) / 256
    assert float(rows.body.sum() + rows.link.sum()) * 1728 == pytest.approx(volume, rel=1e-3)
    whole = Closed(fills=((0, len(rows) - 1),), strips=(), cost=0.0)
    laid = soil_top(low, rows, whole, soil)
    piece = np.flatnonzero(~laid.taper)[np.searchsorted(laid.start[~laid.taper], x) - 1]
    part = (x - laid.start[piece]) / (laid.end - laid.start)[piece]
    assert laid.z_start[piece] + part * (laid.z_end - laid.z_start)[piece] == pytest.approx(tops, abs=1e-6)
    made = fill_volumes(low, rows, whole, laid, Section(crest=12.0, side_slope=1.0))
    ends = rows.before.volume[0] + rows.after.volume[-1]
    assert made * 1728 == pytest.approx([volume + ends * 1728], rel=1e-3)


def test_boards_on_hand_are_tried_at_every_share_alone_and_at_few_in_pairs() -> None:
    """Shares of each and the cost of the cheaper length; of two lengths half and nothing, each with each."""
    stock = [
        Stock(length=72.0, price=4.0, on_hand=3),
        Stock(length=96.0, price=5.0, on_hand=2),
        Stock(length=120.0, price=10.0),
    ]
    found = [tuple(shares) for shares in _shares(SimpleNamespace(stock=stock, cases=()))]  # type: ignore[arg-type]
    first = [(s, 1.0, 1.0) for s in (0.0, 0.25, 0.5, 0.75)]
    second = [(1.0, s, 1.0) for s in (0.0, 0.25, 0.5, 0.75, 0.8)]
    both = [(s, t, 1.0) for s in (0.0, 0.5) for t in (0.0, 0.5, 0.8)]
    assert found == [(1.0, 1.0, 1.0), *first, *second, *both]
