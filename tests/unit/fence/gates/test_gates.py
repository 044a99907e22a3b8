import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fencegrade.fence.gates.gates import (
    LeafFit,
    describe,
    leaf_fits,
    leaf_pickets,
    plan_gate,
    plane_of_readings,
)
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import Fit, HingePost, LeafShape, SwingSide
from fencegrade.job.records import Gate
from fencegrade.problems import Severity, note, warning

# A leaf of 48 in; the ground rises 10 % along the run and 6 % to the left; 2 in of clearance; a quarter turn.
HEIGHTS = {
    (HingePost.START, SwingSide.LEFT, LeafShape.SQUARE): 7.60,
    (HingePost.END, SwingSide.LEFT, LeafShape.SQUARE): 4.88,
    (HingePost.START, SwingSide.LEFT, LeafShape.RAKED): 2.80,
    (HingePost.END, SwingSide.LEFT, LeafShape.RAKED): 9.68,
    (HingePost.START, SwingSide.RIGHT, LeafShape.SQUARE): 6.80,
    (HingePost.END, SwingSide.RIGHT, LeafShape.SQUARE): 2.00,
    (HingePost.START, SwingSide.RIGHT, LeafShape.RAKED): 2.00,
    (HingePost.END, SwingSide.RIGHT, LeafShape.RAKED): 3.92,
}


def _fits() -> dict[tuple[HingePost, SwingSide, LeafShape], LeafFit]:
    return {(f.hinge, f.swing, f.shape): f for f in leaf_fits(48, 0.10, 0.06, 2)}


@pytest.mark.parametrize("case", HEIGHTS)
def test_height_at_the_hinge(case: tuple[HingePost, SwingSide, LeafShape]) -> None:
    assert _fits()[case].hinge_height == pytest.approx(HEIGHTS[case], abs=0.005)


def test_heights_against_sampling_the_whole_swing() -> None:
    rho, phi = np.meshgrid(np.linspace(0, 48, 97), np.linspace(0, math.pi / 2, 721))
    for (hinge, swing, shape), fit in _fits().items():
        along = 0.10 if hinge is HingePost.START else -0.10
        across = 0.06 if swing is SwingSide.LEFT else -0.06
        ground = rho * (along * np.cos(phi) + across * np.sin(phi))
        bottom = fit.hinge_height + (along * rho if shape is LeafShape.RAKED else 0)
        assert (bottom - ground).min() == pytest.approx(2, abs=1e-4)


def test_the_worst_rise_and_where_it_is() -> None:
    fit = _fits()[HingePost.START, SwingSide.LEFT, LeafShape.SQUARE]
    assert fit.hinge_height - 2 == pytest.approx(5.598, abs=0.0005)
    assert math.degrees(fit.tightest) == pytest.approx(30.96, abs=0.005)


def test_a_square_leaf_hinged_high_stands_open_at_the_latch() -> None:
    fit = _fits()[HingePost.END, SwingSide.RIGHT, LeafShape.SQUARE]
    assert fit.latch_height == pytest.approx(fit.hinge_height + 4.8)


def test_the_best_is_raked_hinged_low_and_opens_downhill() -> None:
    best = leaf_fits(48, 0.10, 0.06, 2)[0]
    assert describe(best) == "a raked leaf hinged nearer the start, opening to the right"


def test_a_wider_swing_never_lowers_the_leaf() -> None:
    for narrow, wide in zip(
        sorted(leaf_fits(48, 0.1, 0.06, 2, 1.0), key=describe),
        sorted(leaf_fits(48, 0.1, 0.06, 2, 3.0), key=describe),
        strict=True,
    ):
        assert wide.hinge_height >= narrow.hinge_height


def test_any_reach_and_any_angle_up_to_half_a_turn() -> None:
    """Level ground: every leaf hangs at its clearance, its tightest place where it stands shut."""
    for fit in [*leaf_fits(0.5, 0.0, 0.0, 2, 0.5), *leaf_fits(48, 0.0, 0.0, 2, math.pi)]:
        assert (fit.hinge_height, fit.latch_height, fit.tightest) == (2.0, 2.0, 0.0)


@pytest.mark.parametrize("arguments", [(0, 0.1, 0.1, 2), (48, 0.1, 0.1, 2, 0.0), (48, 0.1, 0.1, 2, 4.0)])
def test_reach_and_angle_out_of_range(arguments: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="half a turn"):
        leaf_fits(*arguments)


def test_three_readings_give_back_the_plane() -> None:
    shut, half, wide = (48 * (0.1 * math.cos(a) + 0.06 * math.sin(a)) for a in (0, math.pi / 4, math.pi / 2))
    along, across, over = plane_of_readings(48, (shut, half, wide), math.pi / 2)
    assert (along, across, over) == pytest.approx((0.1, 0.06, 0.0), abs=1e-12)


def test_a_lump_in_the_swing_lifts_the_leaf() -> None:
    flat = plane_of_readings(48, (0.0, 2.0, 0.0), math.pi / 2)
    assert flat[2] > 0
    along, across, over = flat
    fit = next(
        f
        for f in leaf_fits(48, along, across, 2, over=over)
        if (f.hinge, f.swing, f.shape) == (HingePost.START, SwingSide.LEFT, LeafShape.SQUARE)
    )
    assert fit.hinge_height >= 4 - 1e-9


def test_a_gate_of_the_job(make: SimpleNamespace) -> None:
    gate = Gate(station=100.0, width=48.0, slope_across=0.06)
    plan, _ = plan_gate("herb garden, gate 1", gate, make.ground(300, 0.1), 2.0, make.say)
    assert plan.along == pytest.approx((0.1,))
    assert len(plan.fits[0]) == 8
    assert plan.chosen[0].hinge_height == pytest.approx(2.0)
    assert plan.leaf_width == pytest.approx(47.25)


def test_wishes_of_the_job_are_kept_and_the_better_way_is_named(make: SimpleNamespace) -> None:
    gate = Gate(
        station=100.0,
        width=48.0,
        slope_across=0.06,
        hinge=HingePost.END,
        swing=SwingSide.LEFT,
        leaf=LeafShape.RAKED,
    )
    plan, problems = plan_gate("herb garden, gate 1", gate, make.ground(300, 0.1), 2.0, make.say)
    assert plan.chosen[0].hinge_height == pytest.approx(9.68)
    assert any(
        "a raked leaf hinged nearer the start, opening to the right leaves 2 in" in p.found for p in problems
    )


def test_two_leaves_hang_on_their_own_posts(make: SimpleNamespace) -> None:
    gate = Gate(station=100.0, width=120.0, leaves=2)
    plan, problems = plan_gate("herb garden, gate 1", gate, make.ground(300, 0.1), 2.0, make.say)
    assert [f.hinge for f in plan.chosen] == [HingePost.START, HingePost.END]
    assert plan.chosen[0].swing is plan.chosen[1].swing
    assert plan.leaf_width == pytest.approx(59.5)
    assert not any("wider than" in p.found for p in problems)


def test_a_wide_leaf_is_told_of_two_leaves_unless_there_are_two(make: SimpleNamespace) -> None:
    one = Gate(station=100.0, width=120.0)
    assert "hang two leaves" in plan_gate("g", one, make.ground(400), 2.0, make.say)[1][0].remedy
    two = Gate(station=100.0, width=144.0, leaves=2)
    (wide,) = plan_gate("g", two, make.ground(400), 2.0, make.say)[1]
    assert wide.remedy == "make the opening narrower, or let a wheel carry each leaf at the latch"


def test_more_than_the_largest_gap_under_a_shut_leaf_is_flagged(make: SimpleNamespace) -> None:
    gate = Gate(station=100.0, width=48.0, hinge=HingePost.END, swing=SwingSide.LEFT, leaf=LeafShape.SQUARE)
    _, problems = plan_gate("g", gate, make.ground(300, 0.1), 2.0, make.say, 3.0)
    (told,) = [p for p in problems if "over the largest gap of 3 in" in p.found]
    assert "leaves up to 6-3/4 in open" in told.found
    level = plan_gate("g", gate, make.ground(300), 2.0, make.say, 3.0)[1]
    assert not any("largest gap" in p.found for p in level)


def test_pickets_of_a_raked_leaf(make: SimpleNamespace) -> None:
    gate = Gate(station=100.0, width=48.0, hinge=HingePost.START, leaf=LeafShape.RAKED, swing=SwingSide.RIGHT)
    line = make.ground(300, 0.1)
    plan, _ = plan_gate("g", gate, line, 2.0, make.say)
    top = np.array([82.0, 86.8])
    pickets = leaf_pickets(plan, 0, line, top, 5.5, 0.25, Fit.EVEN_GAPS, 1 / 8)
    assert pickets.slots.left[0] == pytest.approx(100.25)
    assert pickets.slots.right[-1] == pytest.approx(147.5)
    # 70 in at their middles, cut along one in ten: 70.275 at the lower side of a whole one, 70.169 if ripped
    assert pickets.kept.tolist() == [561, *[562] * 7, 561]
    assert pickets.top - pickets.bottoms()[0] == pytest.approx(pickets.kept / 8)
    assert pickets.top - pickets.bottoms()[1] == pytest.approx(pickets.kept / 8 - pickets.slots.width / 10)


def test_the_second_of_two_leaves_ends_at_its_hinge(make: SimpleNamespace) -> None:
    gate = Gate(station=100.0, width=120.0, leaves=2, leaf=LeafShape.SQUARE)
    line = make.ground(300)
    plan, _ = plan_gate("g", gate, line, 2.0, make.say)
    pickets = leaf_pickets(plan, 1, line, np.array([72.0, 72.0]), 5.5, 0.25, Fit.EVEN_GAPS, 1 / 8)
    assert pickets.slots.right[-1] == pytest.approx(219.75)
    assert pickets.slots.left[0] == pytest.approx(219.75 - 59.5)


@pytest.mark.parametrize("slope", [0.0, 0.1])
def test_a_lump_in_the_opening_lifts_the_leaf(make: SimpleNamespace, slope: float) -> None:
    x = np.array([0.0, 100, 124, 148, 248])
    line = ground_line(x, slope * x + [0, 0, 3, 0, 0])
    gate = Gate(station=100.0, width=48.0)
    plan, _ = plan_gate("g", gate, line, 2.0, make.say)
    # on the slope the ground between the readings comes a little higher over the chord than at the lump's
    assert plan.chosen[0].hinge_height == pytest.approx(5.0, abs=0.15 if slope else 1e-9)


@pytest.mark.parametrize(
    ("hinge", "leaf", "bottom"),
    [
        # the ground at 100 in stands at 10 and at 148 in at 14.8: 2 in over the higher end, level
        (HingePost.START, LeafShape.SQUARE, (16.8, 16.8)),
        (HingePost.END, LeafShape.SQUARE, (16.8, 16.8)),
        # parallel to the ground, 2 in over it; hinged at the end it swings over ground 4.8 in above its latch
        (HingePost.START, LeafShape.RAKED, (12.0, 16.8)),
        (HingePost.END, LeafShape.RAKED, (16.8, 21.6)),
    ],
)
def test_pickets_hang_from_the_leaf_s_own_hinge(
    make: SimpleNamespace, hinge: HingePost, leaf: LeafShape, bottom: tuple[float, float]
) -> None:
    gate = Gate(station=100.0, width=48.0, hinge=hinge, leaf=leaf, swing=SwingSide.RIGHT)
    line = make.ground(300, 0.1)
    plan, _ = plan_gate("g", gate, line, 2.0, make.say)
    found = leaf_pickets(plan, 0, line, np.array([84.0, 90.0]), 5.5, 0.25, Fit.EVEN_GAPS, 1 / 1024)
    share = (found.slots.centre - 100) / 48
    assert found.top == pytest.approx(84 + 6 * share)
    rise = bottom[1] - bottom[0]
    lengths = found.top - (bottom[0] + rise * share) + rise / 48 * found.slots.width / 2
    assert found.kept / 1024 == pytest.approx(lengths, abs=1 / 1024)
    assert (found.kept / 1024 <= lengths + 1e-5).all()
    assert found.slots.left[0] == pytest.approx(100.25 if hinge is HingePost.START else 100.5)


@pytest.mark.parametrize(
    ("stations", "elevations", "hinge", "under"),
    [
        ([0, 100, 100, 300], [-12, -12, 0, 0], HingePost.START, 0.0),
        ([0, 148, 148, 300], [0, 0, -12, -12], HingePost.END, 0.0),
        ([0, 100, 100, 300], [12, 12, 0, 0], HingePost.START, 0.0),
        ([0, 148, 148, 300], [0, 0, 12, 12], HingePost.END, 0.0),
    ],
)
def test_a_face_at_the_edge_of_an_opening_is_outside_it(
    make: SimpleNamespace, stations: list[float], elevations: list[float], hinge: HingePost, under: float
) -> None:
    """A wall in the line of the gate post: the leaf hangs over the ground it swings across, level here."""
    line = ground_line(stations, elevations)
    gate = Gate(station=100.0, width=48.0, hinge=hinge, leaf=LeafShape.SQUARE)
    plan, _ = plan_gate("herb garden, gate 1", gate, line, 2.0, make.say)
    assert plan.along == (0.0,)
    assert plan.chosen[0].hinge_height == pytest.approx(2.0)
    leaf = leaf_pickets(plan, 0, line, np.array([50.0, 50.0]), 3.5, 1.0, Fit.EVEN_GAPS, 0.125)
    assert leaf.bottom == pytest.approx(under + 2.0)


def test_a_leaf_swings_an_inch_over_the_ground_at_least(make: SimpleNamespace) -> None:
    plan, _ = plan_gate("g", Gate(station=100.0, width=48.0), make.ground(300), 0.0, make.say)
    assert plan.chosen[0].hinge_height == pytest.approx(1.0)


@pytest.mark.parametrize(("rise", "shape"), [(0.5, LeafShape.SQUARE), (0.5625, LeafShape.RAKED)])
def test_a_leaf_is_square_while_it_leaves_no_more_than_half_an_inch(
    make: SimpleNamespace, rise: float, shape: LeafShape
) -> None:
    plan, _ = plan_gate("g", Gate(station=100.0, width=48.0), make.ground(300, rise / 48), 2.0, make.say)
    assert plan.chosen[0].shape is shape


def test_two_leaves_are_of_one_shape_and_meet(make: SimpleNamespace) -> None:
    """Up a slope of 3 % the leaf hinged above swings down onto ground as high as its hinge, and hangs 1.44 in
    over it: the other, which could lie along the ground, is lifted to meet it. Square they would leave 1.44
    in more; on a slope of 1 % 0.48 in, and there they are square."""
    gate = Gate(station=100.0, width=96.0, leaves=2)
    plan, told = plan_gate("g", gate, make.ground(300, 0.03), 2.0, make.say)
    assert [f.shape for f in plan.chosen] == [LeafShape.RAKED] * 2
    assert len({f.swing for f in plan.chosen}) == 1
    assert [f.lifted for f in plan.chosen] == pytest.approx([1.44, 0.0])
    (lifted,) = [p for p in told if "lower edges meet" in p.found]
    assert lifted.severity is Severity.NOTE
    assert "nearer the start hangs 1-7/16 in higher" in lifted.found
    assert not any("as wished" in p.found for p in told)
    wished, told = plan_gate("g", replace(gate, leaf=LeafShape.SQUARE), make.ground(300, 0.03), 2.0, make.say)
    assert max(f.open_height for f in wished.chosen) == pytest.approx(2 + 2 * 1.44)
    raked = "two raked ones opening to the left leave 3-1/2 in"
    assert f"as wished the shut leaves leave 4-7/8 in open; {raked}" in [p.found for p in told]
    flatter, told = plan_gate("g", gate, make.ground(300, 0.01), 2.0, make.say)
    assert [f.shape for f in flatter.chosen] == [LeafShape.SQUARE] * 2


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("shape", LeafShape)
def test_each_leaf_hangs_over_the_ground_under_it(
    make: SimpleNamespace, shape: LeafShape, sign: float
) -> None:
    """An opening over a crown or a dip of 3 in at its middle: worked out by the height of the ground at the
    hinge and the latch of each leaf alone."""
    x = np.array([0.0, 99.9, 100, 148, 196, 196.1, 300])
    line = ground_line(x, sign * np.interp(x, [100, 148, 196], [0, 3, 0]))
    gate = Gate(station=100.0, width=96.0, leaves=2, leaf=shape)
    plan, told = plan_gate("g", gate, line, 2.0, make.say, 3.0)
    square, crown = shape is LeafShape.SQUARE, sign > 0
    # square it clears the crown at its latch, or in a dip the hinge; raked it swings up to its hinge's ground
    hinge = 5.0 if square and crown else 2.0 if square or crown else 5.0
    latch = (2.0 if crown else 5.0) if square else hinge
    bulge = 0.3 if crown and not square else 0.02  # of the curve between the readings over its chord
    for fit in plan.chosen:
        assert (fit.hinge_height, fit.latch_height) == pytest.approx((hinge, latch), abs=bulge)
        assert fit.open_height == pytest.approx(max(hinge, latch), abs=0.7), "the ground is curved between"
    assert any("over the largest gap" in p.found for p in told) == (square or not crown)


def test_two_leaves_open_to_the_side_where_the_worse_hangs_lower(make: SimpleNamespace) -> None:
    """Each side by itself: none leaves less open under its worse leaf than what is chosen."""
    rng = np.random.default_rng(1)
    differ = 0
    for _ in range(8):
        across = round(rng.uniform(-2, 2), 2) / 100
        line = ground_line([0, 100, 130, 150, 196, 300], [0, 0, *rng.uniform(-6, 6, 3), 0])
        gate = Gate(station=100.0, width=96.0, leaves=2, slope_across=across)
        opened = {
            side: [
                f.open_height
                for f in plan_gate("g", replace(gate, swing=side), line, 2.0, make.say)[0].chosen
            ]
            for side in (None, SwingSide.LEFT, SwingSide.RIGHT)
        }
        chosen, left, right = opened.values()
        assert max(chosen) == min(max(left), max(right))
        differ += max(left) != max(right)
    assert differ >= 4


@pytest.mark.parametrize("leaves", [1, 2])
@pytest.mark.parametrize("hinge", [None, *HingePost])
@pytest.mark.parametrize("swing", [None, *SwingSide])
def test_the_ground_read_in_a_swing_is_seen_from_the_hinge_named(
    make: SimpleNamespace, leaves: int, hinge: HingePost | None, swing: SwingSide | None
) -> None:
    """Rises of 10 % toward the latch and 6 % to the side it opens to, as in the table above."""
    rises = (4.8, 48 * 0.16 * math.cos(math.pi / 4), 2.88)
    gate = Gate(
        station=100.0,
        width=48.0 * leaves,
        leaves=leaves,
        swing_rise=rises,
        hinge=hinge,
        swing=swing,
        leaf=LeafShape.SQUARE,
    )
    plan, _ = plan_gate("g", gate, make.ground(300), 2.0, make.say)
    assert plan.along == pytest.approx((-0.1 if hinge is HingePost.END else 0.1,) * leaves)
    read = next(
        f
        for f in plan.fits[-1 if hinge is HingePost.END else 0]
        if f.shape is LeafShape.SQUARE
        and f.hinge is (hinge or HingePost.START)
        and f.swing is (swing or SwingSide.LEFT)
    )
    assert read.hinge_height - read.lifted == pytest.approx(7.598, abs=0.0005)


def test_a_square_leaf_keeps_the_hinge_and_the_side_of_the_best(make: SimpleNamespace) -> None:
    """The ground falls by 0.24 in along the opening and rises to the left: a raked leaf hinged at the end and
    opening to the right hangs lowest; square it leaves as much open as one hinged at the start."""
    gate = Gate(station=100.0, width=48.0, slope_across=0.004)
    plan, _ = plan_gate("g", gate, make.ground(300, -0.005), 2.0, make.say)
    assert describe(plan.fits[0][0]) == "a raked leaf hinged nearer the end, opening to the right"
    assert describe(plan.chosen[0]) == "a square leaf hinged nearer the end, opening to the right"


def test_two_leaves_on_level_ground_are_square_and_nothing_is_said(make: SimpleNamespace) -> None:
    plan, told = plan_gate(
        "g", Gate(station=100.0, width=96.0, leaves=2), make.ground(300), 2.0, make.say, 2.0
    )
    assert {f.shape for f in plan.chosen} == {LeafShape.SQUARE}
    assert told == ()


def test_the_leaf_that_hangs_higher_is_held_against_the_largest_gap(make: SimpleNamespace) -> None:
    """Both raked on a slope of 10 %: the one hinged above hangs 4.8 in higher, and the other to meet it."""
    gate = Gate(station=100.0, width=96.0, leaves=2, leaf=LeafShape.RAKED)
    plan, told = plan_gate("g", gate, make.ground(300, 0.1), 2.0, make.say, 6.0)
    assert [f.open_height for f in plan.chosen] == pytest.approx([6.8, 6.8])
    assert [p.found.split(" open, ")[0] for p in told if "largest gap" in p.found] == [
        "the shut leaf leaves up to 6-3/4 in"
    ]


@pytest.mark.parametrize(("rise", "told"), [(0.5625, False), (0.625, True)])
def test_a_wish_is_remarked_on_where_it_leaves_over_9_16_in_more(
    make: SimpleNamespace, rise: float, told: bool
) -> None:
    line = make.ground(300, rise / 48)
    gate = Gate(station=100.0, width=48.0, leaf=LeafShape.SQUARE, hinge=HingePost.START, swing=SwingSide.LEFT)
    plan, problems = plan_gate("g", gate, line, 2.0, make.say)
    assert plan.chosen[0].open_height == 2 + rise
    best = "a raked leaf hinged nearer the start, opening to the left leaves 2 in"
    expected = note(
        "g", f"as wished the shut leaf leaves 2-5/8 in open; {best}", "hang it so if it may open that way"
    )
    assert problems == ((expected,) if told else ())


def test_where_in_the_swing_the_ground_comes_nearest_is_told(make: SimpleNamespace) -> None:
    gate = Gate(
        station=100.0,
        width=72.0,
        slope_across=0.06,
        hinge=HingePost.START,
        swing=SwingSide.LEFT,
        leaf=LeafShape.SQUARE,
    )
    _, told = plan_gate("g", gate, make.ground(300, 0.1), 2.0, make.say)
    wide = "a leaf of 71-1/4 in is wider than 60 in: it sags"
    assert told[0] == warning("g", wide, "hang two leaves, or let a wheel carry it at the latch")
    assert told[-1] == note(
        "g",
        "the ground comes nearest at 31 deg of the swing",
        "read the ground there before the posts are set",
    )


@pytest.mark.parametrize(
    ("width", "spacing", "fit", "widths", "space"),
    [
        # two whole pickets of 5-1/2 in a leaf of 12 in stand 1 in apart
        (12.75, 0.875, Fit.EVEN_GAPS, [5.5, 5.5], 1.0),
        (12.75, 1.125, Fit.EVEN_GAPS, [5.5, 5.5], 1.0),
        # at 3/4 in they would leave its end open by a quarter, and no rip fills that
        (12.75, 0.75, Fit.EVEN_GAPS, [5.5, 5.5], 1.0),
        (12.75, 0.75, Fit.RIP_LAST, [5.5, 5.5], 1.0),
        (12.75, 1.25, Fit.EVEN_GAPS, [5.5, 5.25], 1.25),
        # a leaf of 14 in: the rest of 1-1/2 in is the last one's where the job rips the last
        (14.75, 0.75, Fit.RIP_LAST, [5.5, 5.5, 1.5], 0.75),
        (14.75, 0.75, Fit.EVEN_GAPS, [3.5, 5.5, 3.5], 0.75),
        # one picket alone has no space
        (7.0, 0.25, Fit.EVEN_GAPS, [5.5], None),
    ],
)
def test_pickets_of_a_leaf_are_ripped_for_over_an_eighth_of_space(
    make: SimpleNamespace, width: float, spacing: float, fit: Fit, widths: list[float], space: float | None
) -> None:
    line = make.ground(300)
    plan, _ = plan_gate("g", Gate(station=100.0, width=width), line, 2.0, make.say)
    slots = leaf_pickets(plan, 0, line, np.array([72.0, 72.0]), 5.5, spacing, fit, 1 / 8).slots
    assert slots.width == pytest.approx(widths)
    assert slots.left[1:] - slots.right[:-1] == pytest.approx([space] * (len(widths) - 1))


def test_the_lower_edges_of_two_leaves_meet_on_any_ground(make: SimpleNamespace) -> None:
    """In elevation, over a rise that ends at their middle, over a lump under one of them and over a vertical
    face at the very middle; the leaf that the ground holds up is not lifted."""
    pair = Gate(station=100.0, width=96.0, leaves=2)
    for stations, knots in (
        ([0, 148, 300], [0, 14.8, 14.8]),
        ([0, 100, 124, 148, 300], [0, 0, 4, 0, 0]),
        ([0, 148, 148, 300], [0, 2, 7, 9]),
        ([0, 148, 148, 300], [0, 2, -4, -9]),
    ):
        line = ground_line(stations, knots)
        for shape in (None, *LeafShape):
            plan, _ = plan_gate("g", replace(pair, leaf=shape), line, 2.0, make.say)
            top = np.array([90.0, 90.0])
            low, high = (leaf_pickets(plan, k, line, top, 5.5, 0.25, Fit.EVEN_GAPS, 1 / 1024) for k in (0, 1))
            gap = high.slopes[0] * (high.slots.left[0] - low.slots.right[-1])
            assert high.bottoms()[0][0] - low.bottoms()[1][-1] == pytest.approx(gap, abs=0.05)
            assert min(f.lifted for f in plan.chosen) == 0.0


def test_two_leaves_over_a_face_at_their_middle_meet_and_what_that_leaves_open_is_told(
    make: SimpleNamespace,
) -> None:
    """Ground that steps up 6 in where they meet: the leaf over the lower side hangs 6 in higher."""
    line = ground_line([0, 148, 148, 300], [0, 0, 6, 6])
    plan, told = plan_gate(
        "lane, gate 1", Gate(station=100.0, width=96.0, leaves=2), line, 2.0, make.say, 3.0
    )
    assert [f.hinge_height for f in plan.chosen] == pytest.approx([8.0, 2.0])
    assert [(p.severity, p.place) for p in told] == [
        (Severity.WARNING, "lane, gate 1"),
        (Severity.NOTE, "lane, gate 1"),
    ]
    assert told[0].found.startswith("the shut leaf leaves up to 8 in open, over the largest gap of 3 in")
    assert "nearer the start hangs 6 in higher than the ground under it asks" in told[1].found
    assert "level the ground" in told[0].remedy
    assert "level the ground" in told[1].remedy
