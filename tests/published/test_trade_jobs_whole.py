"""Whole jobs worked by hand, from the files a builder writes to what is bought: five fences.

Worked examples of our own making, not taken from any publication; each figure can be checked with pencil and
paper. The ground between readings is straight in them, so a reading is put in a hair beside each given one
where a figure depends on it. Lengths are before rounding, so the tape mark is 1/512 in or 0.1 mm here.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from fencegrade.fence.gates.gates import LeafFit
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import HingePost, LeafShape, SwingSide
from fencegrade.job.read import Job, read_job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.compare import compare_tops
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.units import parse_length

MARK = 1 / 512
PRINTED = 0.005 + MARK
HAIR = 0.001
MM = 25.4


def straight(stations: Sequence[float], values: Sequence[float]) -> str:
    """Rows with a reading put in a hair beside each given one, so that the curve is straight between."""
    given = np.array(stations, dtype=float)
    x = np.unique(np.concatenate([given, given[:-1] + HAIR, given[1:] - HAIR]))
    return "".join(f"{a:.6f},{b:.9f}\n" for a, b in zip(x, np.interp(x, stations, values), strict=True))


def written(job: str, survey: str) -> Job:
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "job.toml").write_text(job)
        (folder / "s.csv").write_text(survey)
        return read_job(folder)


def lengths(plan: FencePlan) -> np.ndarray:
    return np.asarray(plan.runs[0].full * plan.mark)


def post_stock(plan: FencePlan) -> list[float]:
    return [b.stock * plan.mark for b in plan.families.posts.traced()]


class TestSwale:
    """48 ft across a swale read every 4 ft: posts, a stepped, racked and contour top, and water to pass."""

    STATIONS = tuple(4.0 * n for n in range(13))
    DROPS = (24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24)

    def job(self, run: str = "", depth: int = 24, share: float = 0.0, spacing: str = "1/4 in") -> Job:
        text = f"""
[job]
title = "Swale"
units = "imperial"
tape = "{MARK!r} in"
[[run]]
name = "swale"
survey = "s.csv"
{run}
[top]
least_height = "72 in"
most_height = "84 in"
[pickets]
most_chance = 1
width = "5-1/2 in"
spacing = "{spacing}"
clearance = "2 in"
most_gap = "2 in"
[[pickets.stock]]
length = "72 in"
price = 3.60
[[pickets.stock]]
length = "96 in"
price = 6.10
[posts]
width = "3-1/2 in"
spacing = "8 ft"
height = "-2 in"
least_depth = "{depth} in"
depth_share = {share!r}
[[posts.stock]]
length = "8 ft"
[[posts.stock]]
length = "10 ft"
[[posts.stock]]
length = "12 ft"
[[rails.stock]]
length = "10 ft"
"""
        return written(text, "station [ft],drop [in]\n" + straight(self.STATIONS, self.DROPS))

    def test_posts_under_a_level_top(self) -> None:
        posts = plan_fence(self.job(), "level").runs[0].posts
        assert posts.station / 12 == pytest.approx([0, 8, 16, 24, 32, 40, 48])
        assert posts.above == pytest.approx([70, 72, 80, 89, 81, 72, 70], abs=1e-3)
        assert posts.total == pytest.approx([94, 96, 104, 113, 105, 96, 94], abs=1e-3)

    def test_24_inches_deep_takes_four_of_8_ft_and_three_of_10(self) -> None:
        assert Counter(post_stock(plan_fence(self.job(), "level"))) == {96.0: 4, 120.0: 3}

    def test_30_inches_deep_takes_10_ft_throughout(self) -> None:
        assert Counter(post_stock(plan_fence(self.job(depth=30), "level"))) == {120.0: 7}

    def test_a_third_in_the_ground_takes_12_ft_in_the_middle(self) -> None:
        plan = plan_fence(self.job(share=1 / 3), "level")
        assert plan.runs[0].posts.total[3] == pytest.approx(133.5, abs=1e-3)
        assert 144.0 in post_stock(plan)

    def test_all_rules_are_shown(self) -> None:
        posts = plan_fence(self.job(share=1 / 3), "level").runs[0].posts
        total = {str(c.rule): posts.above[3] + c.depth[3] for c in posts.choices}
        assert total["least depth"] == pytest.approx(113, abs=1e-3)
        assert total["share of the post's length"] == pytest.approx(133.5, abs=1e-3)

    def test_stepped(self) -> None:
        """Half an inch asked for gives the example's 16 boards a bay with 0.50 in between."""
        plan = plan_fence(self.job(spacing="1/2 in"), "stepped")
        run = plan.runs[0]
        assert run.top.elevations[::2] == pytest.approx([48, 46, 38, 37, 46, 48], abs=1e-3)
        assert np.abs(run.top.steps) == pytest.approx([2, 8, 1, 9, 2], abs=1e-3)
        assert len(run.slots) == 6 * 16
        assert run.slots.left[0] == pytest.approx(0.25)
        assert run.slots.left[1] - run.slots.right[0] == pytest.approx(0.5)
        assert lengths(plan).min() == pytest.approx(70.00, abs=PRINTED)
        assert lengths(plan).max() == pytest.approx(78.64, abs=PRINTED)
        assert plan.stock.used.tolist() == [49, 47]

    def test_contour_and_racked_take_one_length(self) -> None:
        """The example's racked top leaves 71 in at humps; this program lifts it and keeps the least
        height over the uphill edge of each board, for which three boards outgrow the shorter stock."""
        rows = {s.styles[0]: s for s in compare_tops(self.job()).styles}
        bought = {
            TopStyle.CONTOUR: (((72.0, 100),), 360.00),
            TopStyle.RACKED: (((72.0, 97), (96.0, 3)), 97 * 3.60 + 3 * 6.10),
        }
        for style, (boards, cost) in bought.items():
            assert rows[style].used.boards == boards
            assert rows[style].used.cost == pytest.approx(cost)
            plan = rows[style].plan
            assert plan is not None
            assert plan.runs[0].choice.least_height >= 72 - 1e-6
        level = rows[TopStyle.LEVEL]
        assert level.plan is not None
        open_wide = int((level.plan.runs[0].cuts.gap > 2 + 1e-6).sum())
        assert level.used.cost == 525.00
        assert level.broken == (
            "30 pickets over the height limit",
            f"{open_wide} pickets with too large a gap",
        )

    def test_racked_humps_are_named(self) -> None:
        problems = plan_fence(self.job(), "racked").problems
        humps = [p.place for p in problems if "humps" in p.found]
        stations = [parse_length(h.split(" at ")[1]) / 12 for h in humps]
        assert stations == pytest.approx([4, 12, 36, 44], abs=2 * HAIR)

    def test_water_passes_from_20_to_28_ft(self) -> None:
        keys = '[[run.keep_open]]\nstart = "20 ft"\nend = "28 ft"\nheight = "4 in"'
        run = plan_fence(self.job(keys), "level").runs[0]
        posts = run.posts.station / 12
        assert not ((posts > 20 + 1e-6) & (posts < 28 - 1e-6)).any()
        over = (run.slots.right > 240) & (run.slots.left < 336)
        assert run.cuts.gap[over].min() >= 4 - 1e-6
        assert {g.action for g in run.gaps if g.start < 335 and g.end > 241} == {"leave open"}


class TestSteadySlope:
    """24 m rising 2.880 m (12 %): 2.4 m rails do not reach 2.4 m centres, 11 bays of 2.1818 m do."""

    def job(self, spacing: str = "10 mm") -> Job:
        text = f"""
[job]
title = "Slope"
units = "metric"
tape = "0.1 mm"
[[run]]
name = "slope"
survey = "s.csv"
stations_taped = "level"
[top]
least_height = "1800 mm"
[pickets]
most_chance = 1
width = "95 mm"
spacing = "{spacing}"
clearance = "50 mm"
most_gap = "50 mm"
[[pickets.stock]]
length = "1.8 m"
price = 3.10
[[pickets.stock]]
length = "2.1 m"
price = 3.95
[posts]
width = "100 mm"
spacing = "2.4 m"
[rails]
count = 3
[[rails.stock]]
length = "2.4 m"
"""
        return written(text, "station [m],elevation [mm]\n0,0\n6,720\n12,1440\n18,2160\n24,2880\n")

    def test_bays_and_rails_along_the_slope(self) -> None:
        plan = plan_fence(self.job(), "racked")
        bays, run = plan.runs[0].layout.bays, plan.runs[0]
        assert (len(bays), len(run.posts)) == (11, 12)
        assert bays.width * MM == pytest.approx([24000 / 11] * 11, abs=0.01)
        inner = run.rails.length[(run.rails.bay > 0) & (run.rails.bay < 10)] * MM
        assert inner == pytest.approx([2181.818 * math.sqrt(1 + 0.12**2)] * 27, abs=0.05)
        assert inner == pytest.approx([2197.5] * 27, abs=0.05)
        assert plan.families.rails.counts(False) == [33]

    def test_stepped(self) -> None:
        """Level rails would reach in 10 bays, so the example's 11 bays are asked for by the post spacing."""
        job = self.job()
        text_spacing = 24000 / 11 / MM + 1e-6
        plan = plan_fence(replace(job, posts=replace(job.posts, spacing=text_spacing)), "stepped")
        run = plan.runs[0]
        assert len(run.layout.bays) == 11
        assert run.top.steps * MM == pytest.approx([261.8] * 10, abs=0.11)
        assert len(run.slots) == 11 * 21
        assert (run.slots.left[1] - run.slots.right[0]) * MM == pytest.approx(8.90, abs=0.005)
        assert lengths(plan).min() * MM == pytest.approx(1750.5, abs=0.16)
        assert lengths(plan).max() * MM == pytest.approx(1999.9, abs=0.16)
        assert plan.stock.used.tolist() == [44, 187]
        assert buying_list(plan).cost == 875.05

    def test_racked_boards_are_alike(self) -> None:
        plan = plan_fence(self.job("10.31 mm"), "racked")
        assert len(plan.runs[0].slots) == 228
        # the example's 1744.3 keeps 1800 over the middle of a board; over its uphill edge it is 1800 - 50
        assert lengths(plan) * MM == pytest.approx([1750.0] * 228, abs=0.11)
        assert plan.runs[0].cuts.gap.max() * MM == pytest.approx(61.4, abs=0.11)
        assert buying_list(plan).cost == 706.80


class TestTerrace:
    """32 ft with a wall at 16 ft: two readings at one station, 14 and 48 in under the string."""

    SURVEY = "station [ft],drop [in],side\n0,12,\n8,13,\n16,14,before\n16,48,after\n24,49,\n32,50,\n"

    def job(self, top: str = "", spacing: str = "16 ft") -> Job:
        text = f"""
[job]
title = "Terrace"
units = "imperial"
tape = "{MARK!r} in"
[[run]]
name = "terrace"
survey = "s.csv"
[top]
least_height = "72 in"
{top}
[pickets]
most_chance = 1
width = "5-1/2 in"
spacing = "1/4 in"
clearance = "2 in"
most_gap = "3 in"
[[pickets.stock]]
length = "72 in"
[[pickets.stock]]
length = "10 ft"
[posts]
spacing = "{spacing}"
[[posts.stock]]
length = "16 ft"
[[rails.stock]]
length = "20 ft"
"""
        return written(text, self.SURVEY)

    def test_no_board_spans_the_wall(self) -> None:
        slots = plan_fence(self.job(), "level").runs[0].slots
        left = slots.right <= 192 + 1e-9
        assert (int(left.sum()), int((~left).sum())) == (33, 33)
        assert slots.left[~left].min() == 192.0
        assert slots.left[1] - slots.right[0] == pytest.approx(0.3281, abs=5e-5)

    def test_one_top_a_side_and_a_step_of_36(self) -> None:
        plan = plan_fence(self.job(), "stepped")
        run = plan.runs[0]
        assert run.top.elevations == pytest.approx([60, 60, 24, 24], abs=1e-2)
        assert run.choice.largest_step == pytest.approx(36, abs=1e-2)
        assert lengths(plan).min() == pytest.approx(70.00, abs=PRINTED)
        assert lengths(plan).max() == pytest.approx(71.94, abs=0.04)  # half a gap at the ends, not flush
        assert plan.stock.used.tolist() == [66, 0]

    def test_one_level_top_stands_108_to_110_over_the_low_side(self) -> None:
        run = plan_fence(self.job('most_height = "120 in"'), "level").runs[0]
        low = run.slots.left >= 192
        assert run.cuts.tallest[low].min() == pytest.approx(108, abs=0.1)
        assert run.cuts.tallest[low].max() == pytest.approx(110, abs=1e-3)
        assert not run.flags[PicketFlag.OVER_HEIGHT].any()

    def test_a_rule_measured_from_the_lower_side_is_broken_even_by_the_stepped_top(self) -> None:
        top = 'most_height = "75 in"\nmeasured = "{}"'
        every = plan_fence(self.job(top.format("every point")), "stepped").runs[0]
        lower = plan_fence(self.job(top.format("lower side")), "stepped").runs[0]
        assert not every.flags[PicketFlag.OVER_HEIGHT].any()
        assert lower.flags[PicketFlag.OVER_HEIGHT].sum() == 1
        check = lower.height_check
        assert check is not None
        assert check.tallest == pytest.approx(108, abs=0.01)

    def test_the_post_at_the_wall_asks_for_an_engineer(self) -> None:
        problems = plan_fence(self.job(), "stepped").problems
        (told,) = [p for p in problems if p.place == "terrace, post 2 at 16' 0.0000\""]
        assert "engineer" in told.remedy


class TestGate:
    """A 48 in leaf; the ground rises 10 % along the closed line to the right and 6 % to the left side."""

    NEEDED = (
        (SwingSide.LEFT, LeafShape.SQUARE, 7.60, 4.88),
        (SwingSide.LEFT, LeafShape.RAKED, 2.80, 9.68),
        (SwingSide.RIGHT, LeafShape.SQUARE, 6.80, 2.00),
        (SwingSide.RIGHT, LeafShape.RAKED, 2.00, 3.92),
    )

    def plan(self, keys: str = "") -> FencePlan:
        text = f"""
[job]
title = "Gate"
units = "imperial"
[[run]]
name = "side"
survey = "s.csv"
stations_taped = "level"
[[run.gate]]
station = "8 ft"
width = "48 in"
slope_across = "6 %"
{keys}
[pickets]
most_chance = 1
clearance = "2 in"
[[pickets.stock]]
length = "8 ft"
"""
        survey = "station [ft],elevation [in]\n0,0\n8,9.6\n16,19.2\n24,28.8\n"
        return plan_fence(written(text, survey), "racked")

    def fits(self) -> tuple[LeafFit, ...]:
        return self.plan().runs[0].layout.gates[0].fits[0]

    @pytest.mark.parametrize("row", NEEDED, ids=lambda row: f"{row[0]}-{row[1]}")
    def test_bottom_over_the_ground_at_the_hinge(
        self, row: tuple[SwingSide, LeafShape, float, float]
    ) -> None:
        swing, shape, low, high = row
        found = {f.hinge: f.hinge_height for f in self.fits() if (f.swing, f.shape) == (swing, shape)}
        assert found[HingePost.START] == pytest.approx(low, abs=0.005)
        assert found[HingePost.END] == pytest.approx(high, abs=0.005)

    def test_the_worst_rise_lies_31_degrees_into_the_swing(self) -> None:
        (fit,) = [f for f in self.fits() if f.hinge_height > 7.5 and f.shape is LeafShape.SQUARE]
        assert math.degrees(fit.tightest) == pytest.approx(30.96, abs=0.005)
        assert fit.hinge_height - 2 == pytest.approx(5.598, abs=0.0005)

    def test_a_square_leaf_hinged_high_stays_open_at_the_latch(self) -> None:
        for fit in self.fits():
            if fit.shape is LeafShape.SQUARE and fit.hinge is HingePost.END:
                assert fit.latch_height - fit.hinge_height == pytest.approx(4.8)

    def test_the_advice_is_raked_hinged_low_opening_downhill(self) -> None:
        (chosen,) = self.plan().runs[0].layout.gates[0].chosen
        assert (chosen.shape, chosen.hinge, chosen.swing) == (
            LeafShape.RAKED,
            HingePost.START,
            SwingSide.RIGHT,
        )

    def test_a_wish_is_kept_and_what_it_costs_is_said(self) -> None:
        plan = self.plan('hinge = "end"\nswing = "left"\nleaf = "raked"')
        (chosen,) = plan.runs[0].layout.gates[0].chosen
        assert chosen.hinge_height == pytest.approx(9.68, abs=0.005)
        (told,) = [p for p in plan.problems if "as wished" in p.found]
        assert told.place == "side, gate 1"


STRINGS = (16, 10, -27, -32, -34, -68, -80, -80, -107, -128, -128, -147, -177, -176, -188, -225)


def wave(feet: float) -> float:
    """The ground of the long lane: -0.30 x + 14 sin(2 pi x/160), x in feet, in inches."""
    return -0.30 * feet + 14 * math.sin(2 * math.pi * feet / 160)


def chained(known: float) -> Iterable[str]:
    """Sixteen level strings of 50 ft read every 10 ft to a quarter inch, and an elevation known at 800 ft."""
    for k, height in enumerate(STRINGS):
        for i in range(6):
            at = 50 * k + 10 * i
            mark = "0" if at == 0 else f"{known}" if (k, i) == (15, 5) else ""
            yield f"{at},{round((height - wave(at)) * 4) / 4},S{k + 1},{mark}\n"


@cache
def long_lane(known: float) -> Job:
    strings = "".join(
        f'[[run.string]]\nid = "S{k + 1}"\nstart = "{50 * k} ft"\nend = "{50 * k + 50} ft"\n'
        + ('height = "16 in"\n' if k == 0 else "")
        for k in range(16)
    )
    text = f"""
[job]
title = "Long lane"
units = "imperial"
[[run]]
name = "lane"
survey = "s.csv"
stations_taped = "level"
{strings}
[top]
least_height = "72 in"
most_height = "84 in"
[pickets]
most_chance = 1
width = "5-1/2 in"
spacing = "0.2521 in"
[[pickets.stock]]
length = "6 ft"
[[pickets.stock]]
length = "8 ft"
[posts]
width = "3-1/2 in"
spacing = "8 ft"
hole_diameter = "10 in"
least_depth = "30 in"
depth_share = 0
[[posts.stock]]
length = "10 ft"
[rails]
count = 3
[[rails.stock]]
length = "8 ft"
"""
    return written(text, "station [ft],drop [in],string,known [in]\n" + "".join(chained(known)))


@cache
def long_plan(style: str) -> FencePlan:
    return plan_fence(long_lane(-239.25), style)


class TestLongRun:
    """800 ft over waves of 14 in on a fall of 0.30 in a foot, by sixteen strings."""

    def test_the_first_two_strings_as_read(self) -> None:
        drops = [float(row.split(",")[1]) for row in chained(0.0)]
        assert drops[:12] == [16, 13.75, 12, 12, 14, 18, 12, 18, 25.75, 34, 42.25, 50]

    def test_the_chain_comes_to_minus_240(self) -> None:
        readings = [float(row.split(",")[1]) for row in chained(0.0)]
        assert sum(readings[6 * k] - readings[6 * k + 5] for k in range(16)) == -240.00

    def test_a_misclosure_of_an_inch_and_a_half_is_refused(self) -> None:
        with pytest.raises(JobMistakesError) as caught:
            plan_fence(long_lane(-238.5), "level")
        (told,) = caught.value.problems
        assert told.place == "s.csv line 97"
        assert "the strings carry -240 in to 800' 0\", the known elevation is -238-1/2 in" in told.found
        assert "-1-1/2 in, more than 1 in (1/4 in times the square root of 16 set-ups" in told.found

    def test_three_quarters_are_spread_over_the_set_ups(self) -> None:
        ground = long_plan("racked").runs[0].ground
        last = ground.reduction.closures[-1]
        assert (last.misclosure, last.allowed) == pytest.approx((-0.75, 1.0))
        assert ground.elevations[-1] == pytest.approx(-239.25)
        at = {round(x / 12): z for x, z in zip(ground.stations, ground.elevations, strict=True)}
        assert at[400] == pytest.approx(-120 + 0.75 * 8 / 16, abs=0.25)

    def test_bays_posts_and_rails(self) -> None:
        run = long_plan("racked").runs[0]
        assert (len(run.layout.bays), len(run.posts), len(run.rail_pieces)) == (101, 102, 303)
        assert run.layout.bays.width.mean() == pytest.approx(95.05, abs=0.005)
        assert run.rail_pieces.length.max() <= 96.0 + 1e-6

    def test_pickets_and_screws(self) -> None:
        plan = long_plan("racked")
        slots = plan.runs[0].slots
        assert len(slots) == 1669
        assert slots.left[1] - slots.right[0] == pytest.approx(0.2521, abs=5e-5)
        pickets = plan.screws[0]
        assert (pickets.counted, pickets.needed) == (10_014, 10_515)

    def test_concrete_is_worth_having_delivered(self) -> None:
        concrete = long_plan("racked").concrete
        assert concrete.net / 102 == pytest.approx(1.151, abs=5e-4)
        assert concrete.ordered == pytest.approx(129.1, abs=0.05)
        assert concrete.yards == pytest.approx(4.78, abs=0.005)
        assert (concrete.bags_in_all, concrete.weight, concrete.delivered) == (216, 17_280.0, True)

    def test_one_straight_top_passes_the_limit(self) -> None:
        """T = -0.30 x + 86: 72 to 100 in over the ground, a little less steep after the closure is spread."""
        plan = long_plan("sloped")
        run = plan.runs[0]
        assert run.top.elevations == pytest.approx([86, -154], abs=1.0)
        assert run.choice.least_height >= 72 - 1e-6
        assert run.cuts.tallest.max() == pytest.approx(100, abs=0.5)
        assert any("over the limit of 7' 0\"" in p.found for p in plan.problems)

    def test_sag_left_uncorrected_is_said_once(self) -> None:
        told = [p for p in long_plan("racked").problems if "not corrected for sag" in p.found]
        assert [p.place for p in told] == ["lane"]
        assert told[0].found.startswith("16 strings are not corrected for sag")
        assert "hangs 3/8 in low" in told[0].found  # 0.35 in at 50 ft
