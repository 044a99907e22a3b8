"""The frame of a leaf, its brace and its weight."""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.gates.frame import LeafFrame, frame_notes, leaf_frame
from fencegrade.fence.gates.gates import LeafPickets, leaf_pickets, plan_gate
from fencegrade.fence.slots import Slots
from fencegrade.figures.lumber import Wood
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import Fit, HingePost, LeafShape, Pattern
from fencegrade.job.records import Gate
from fencegrade.problems import Severity
from fencegrade.sheets.run_words import frame_words
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words


def framed(
    make: SimpleNamespace, width: float, top: float = 72.0, slope: float = 0.0, **keys: Any
) -> LeafFrame:
    line = make.ground(300, slope)
    plan, _ = plan_gate("g", Gate(station=100.0, width=width, **keys), line, 2.0, make.say)
    tops = line.elevation(np.array([100.0, 100.0 + plan.gate.width])) + top
    pickets = leaf_pickets(plan, 0, line, tops, 5.5, 0.25, Fit.EVEN_GAPS, 1 / 8)
    return leaf_frame(plan, 0, pickets, Wood.SOFTWOOD, 0.625, make.rails(), 1 / 8)


def test_a_level_leaf_by_hand(make: SimpleNamespace) -> None:
    """Pickets 70 in on a leaf 47-1/4 wide: stiles 70 less three 3-1/2, rails between, brace corner to
    corner."""
    frame = framed(make, 48.0, hinge=HingePost.START)
    assert frame.stiles == pytest.approx((59.5, 59.5))
    assert frame.rails == pytest.approx((40.25,) * 3)
    assert frame.brace == pytest.approx(69.625)
    assert 0 <= math.hypot(40.25, 52.5) + 3.5 - frame.brace < 1 / 8
    assert math.degrees(frame.angle) == pytest.approx(52.5, abs=0.1)
    assert frame.hinges == 3
    boards = (47.25 - 8 * 0.25) * 70 * 0.625 / 1728 * 0.51 * 62.4 * 1.12
    timber = sum(length for _, length, _ in frame.pieces()) * 5.25 / 1728 * 0.47 * 62.4 * 1.7
    assert frame.weight == pytest.approx(boards + timber)
    assert frame.screws == 2 * 4 * 4
    rip = (47.25 - 8 * 0.25 - 7 * 5.5) / 2
    assert dict(frame.ripped) == pytest.approx({1: rip, 9: rip})


def test_a_low_leaf_has_two_rails_and_two_hinges(make: SimpleNamespace) -> None:
    frame = framed(make, 36.0, top=48.0)
    assert (len(frame.rails), frame.hinges) == (2, 2)
    assert [name for name, *_ in frame.pieces()] == [
        "hinge stile",
        "latch stile",
        "rail 1",
        "rail 2",
        "brace",
    ]


def test_the_brace_climbs_from_the_hinges_to_the_latch(make: SimpleNamespace) -> None:
    """Up a slope of one in ten a leaf hinged below has a steeper brace than one hinged above."""
    up, down = (framed(make, 48.0, slope=0.1, hinge=h, leaf=LeafShape.RAKED) for h in HingePost)
    assert up.angle > down.angle
    assert up.rails == pytest.approx((40.375,) * 3), "down to the tape's mark: 40.45 exactly"


def test_heavy_leaves_on_thin_posts_and_flat_braces_are_told(make: SimpleNamespace) -> None:
    line = make.ground(300)
    plan, _ = plan_gate("g", Gate(station=100.0, width=60.0), line, 2.0, make.say)
    frame = framed(make, 60.0, top=44.0)
    told = " ".join(p.found for p in frame_notes("g", plan, frame, make.posts(), "90 lb", make.say))
    assert "hangs on a post 3-1/2 in wide" in told
    metric = Words(system=UnitSystem.METRIC, mark=1 / 25.4)
    (thin, _) = frame_notes("g", plan, frame, make.posts(), "40 kg", metric)
    assert thin.severity is Severity.WARNING, "posts are bought before the gate's page is read"
    assert "for a leaf over 1200 mm or so heavy" in thin.found
    assert "sags" in told
    stout = make.posts(gate_width="5-1/2 in", gate_stock=[{"length": "10 ft"}])
    assert not [p for p in frame_notes("g", plan, frame, stout, "90 lb", make.say) if "hangs on" in p.found]


@pytest.mark.parametrize(
    ("width", "ripped", "told"),
    [
        # 8 of 3-1/2 at 1.72 take 40.04 of a leaf of 41-1/4, which has no room for a ninth
        (42.0, {}, ""),
        # a rest of 1.49, under half a board, is of two; one of 2.49 is the last one's alone
        (44.0, {1: 2.495, 9: 2.495}, "pickets 1, 9 ripped to 2-1/2 in"),
        (45.0, {9: 2.49}, "picket 9 ripped to 2-1/2 in"),
    ],
)
def test_a_leaf_is_closed_from_edge_to_edge_and_tells_what_is_ripped(
    make: SimpleNamespace, width: float, ripped: dict[int, float], told: str
) -> None:
    """Whole 3-1/2 in pickets in these leaves would stand over an eighth off a fence at 1.72 in."""
    line = ground_line([0, 300], [0, 0])
    plan, _ = plan_gate("g", Gate(station=100.0, width=width), line, 2.0, make.say)
    leaf = leaf_pickets(plan, 0, line, np.array([48.0, 48.0]), 3.5, 1.72, Fit.EVEN_GAPS, 1 / 8)
    slots = leaf.slots
    assert slots.right[-1] - slots.left[0] == pytest.approx(plan.leaf_width)
    space = 1.72 if ripped else (41.25 - 8 * 3.5) / 7
    assert slots.left[1:] - slots.right[:-1] == pytest.approx(np.full(len(slots) - 1, space))
    assert slots.width.tolist() == pytest.approx([ripped.get(k + 1, 3.5) for k in range(len(slots))])
    frame = leaf_frame(plan, 0, leaf, Wood.SOFTWOOD, 0.625, make.rails(), 1 / 8)
    assert frame_words(frame, make.say).partition(" lb")[2] == (f"; {told}" if told else "")
    assert dict(frame.ripped) == pytest.approx(ripped)


def test_a_leaf_of_two_rows_has_both(make: SimpleNamespace) -> None:
    line = ground_line([0, 300], [0, 0])
    plan, _ = plan_gate("g", Gate(station=100.0, width=48.0), line, 2.0, make.say)
    slots = leaf_pickets(
        plan, 0, line, np.array([72.0, 72.0]), 5.5, 3.5, Fit.EVEN_GAPS, 1 / 8, Pattern.BOARD_ON_BOARD
    ).slots
    assert (slots.left[1:] < slots.right[:-1]).all()


def test_a_leaf_is_square_while_that_costs_no_more_than_half_an_inch(make: SimpleNamespace) -> None:
    for rise, shape in ((0.4, "square"), (0.9, "raked")):
        line = ground_line([0, 100, 148, 248], [0, 0, rise, rise])
        plan, _ = plan_gate("g", Gate(station=100.0, width=48.0), line, 2.0, make.say)
        assert plan.chosen[0].shape == shape
        assert plan.chosen[0].open_height <= plan.fits[0][0].open_height + 0.5 + 1e-9


def hung(make: SimpleNamespace, top: list[float], bottom: list[float], **keys: Any) -> LeafFrame:
    """The frame of a leaf of whole 5-1/2 in pickets, side to side, with these tops and bottoms."""
    plan, _ = plan_gate(
        "g", Gate(**{"station": 100.0, "width": 48.0, **keys}), make.ground(300), 2.0, make.say
    )
    left = 100.25 + np.linspace(0.0, max(plan.leaf_width - 5.5, 1.0), len(top))
    slots = Slots(left=left, right=left + 5.5)
    high, low = np.array(top), np.array(bottom)
    kept = np.round((high - low) * 8).astype(np.int64)
    lower, upper = ((v[-1] - v[0]) / (left[-1] - left[0]) for v in (bottom, top))
    pickets = LeafPickets(
        slots=slots, board=5.5, row=0 * kept, top=high, bottom=low, kept=kept, slopes=(lower, upper)
    )
    return leaf_frame(plan, 0, pickets, Wood.SOFTWOOD, 0.625, make.rails(), 1 / 8)


@pytest.mark.parametrize("hinge", HingePost)
@pytest.mark.parametrize("down", [False, True])
def test_a_leaf_with_unlike_sides_by_hand(make: SimpleNamespace, hinge: HingePost, down: bool) -> None:
    """Tops of four pickets rise one in four from 60, bottoms fall one in sixteen from 4, or the other way
    round; hinged at either side. The outer pickets' middles stand 2-3/4 in from the leaf's sides, 41-3/4
    apart."""
    turn = -1 if down else 1
    at = [41.75 * k / 3 for k in range(4)]
    top, bottom = [60 + x / 4 for x in at][::turn], [4 - x / 16 for x in at][::turn]
    frame = hung(make, top, bottom, hinge=hinge)
    low, high = (4 + 2.75 / 16 + 7, 4 - 44.5 / 16 + 7), (60 - 2.75 / 4 - 3.5, 60 + 44.5 / 4 - 3.5)
    assert (*frame.low, *frame.high) == pytest.approx((*low[::turn], *high[::turn]))
    hinged_high = (hinge is HingePost.START) == down
    # at the stiles' middles, 1-3/4 in from the sides: 45.1875 and 58.8594
    assert frame.stiles == ((58.75, 45.125) if hinged_high else (45.125, 58.75))
    # from the hinges' lower corner up to the latch's upper one, 3-1/2 in from the sides
    near, far = (high[0] + 3.5 / 4, low[0] - 3.5 / 16), (high[1] - 3.5 / 4, low[1] + 3.5 / 16)
    rise = (near[0] - far[1] if hinged_high else far[0] - near[1]) - 7
    assert math.tan(frame.angle) == pytest.approx(rise / 40.25)
    assert frame.brace == math.floor((math.hypot(40.25, rise) + 3.5) * 8) / 8
    # 40.25 along one in sixteen, three in thirty-two and one in four: 40.33, 40.43, 41.49
    assert frame.rails == (40.25, 40.375, 41.375)
    ends = [ends for name, _, ends in frame.pieces() if name.startswith("rail")]
    assert ends == pytest.approx([3.5 / 16, 3.5 * 3 / 32, 3.5 / 4]), "their ends slant as much as they lie"
    boards = 5.5 * sum(t - b for t, b in zip(top, bottom, strict=True)) * 0.625 / 1728 * 0.51 * 62.4 * 1.12
    timber = sum(length for _, length, _ in frame.pieces()) * 5.25 / 1728 * 0.47 * 62.4 * 1.7
    assert frame.weight == pytest.approx(boards + timber)
    assert (frame.hinges, frame.ripped) == (3, ())
    lowest, highest = (low[0] + 3.5, low[1] + 3.5), high
    middle = tuple((a + b) / 2 for a, b in zip(lowest, highest, strict=True))
    assert frame.rail_edges() == [pytest.approx(e[::turn]) for e in (lowest, middle, highest)]
    told = frame_words(frame, make.say)
    assert (
        "rails from the bottom up 40-1/4 in, 40-3/8 in and 41-3/8 in along the slope, their ends plumb"
        in told
    )
    assert f"rising 3/8 in toward the run's {'end' if down else 'start'} over a whole one" in told


@pytest.mark.parametrize("seed", range(12))
def test_rails_fill_the_leaf_between_its_stiles_and_pickets_clear_the_ground(
    make: SimpleNamespace, seed: int
) -> None:
    """Stiles, and every rail as it lies along its slope, make up the leaf to a mark; each picket stands over
    the ground under it by the clearance at least, all across, and is longer by no mark than it may be."""
    draw = np.random.default_rng(seed)
    slope, mark = float(draw.uniform(-0.25, 0.25)), float(draw.choice([1 / 16, 1 / 8, 5 / 25.4]))
    shape, width = (LeafShape.RAKED, LeafShape.SQUARE)[seed % 3 == 0], float(draw.uniform(33, 64))
    line = ground_line([0, 300], [0, 300 * slope])
    plan, _ = plan_gate("g", Gate(station=100.0, width=width, leaf=shape), line, 2.0, make.say)
    top = np.array([100.0, 100.0 + draw.uniform(-12, 12)])
    pattern, board = draw.choice(list(Pattern)), float(draw.choice([3.5, 5.5]))
    leaf = leaf_pickets(plan, 0, line, top, board, 0.5, Fit.EVEN_GAPS, mark, pattern)
    frame = leaf_frame(plan, 0, leaf, Wood.SOFTWOOD, 0.625, make.rails(), mark)
    edges = np.array(frame.rail_edges())
    run = np.array(frame.rails) * np.cos(np.arctan(np.diff(edges, axis=1)[:, 0] / leaf.span))
    assert ((rest := plan.leaf_width - 7 - run) > -1e-4).all()
    assert (rest < mark).all()
    assert np.diff(edges[[0, -1]], axis=1)[:, 0] / leaf.span == pytest.approx(leaf.slopes)
    open_below = np.array(leaf.bottoms()) - [
        line.elevation(leaf.slots.left),
        line.elevation(leaf.slots.right),
    ]
    assert open_below.min() > 2.0 - 1e-4
    assert open_below.min() < 2.0 + mark + (0.5 * abs(slope) if shape is LeafShape.RAKED else 64)
    assert leaf.kept * mark == pytest.approx(leaf.top - np.min(leaf.bottoms(), axis=0))


@pytest.mark.parametrize(
    ("tall", "other", "rails", "hinges"),
    [
        (52.5, 52.5, 2, 2),  # stiles of 42 in
        (
            52.375,
            50.0,
            2,
            2,
        ),  # of 41.975 and of 39.4: their middles are an inch farther out than the pickets'
        (52.5, 50.0, 3, 2),  # of 42.1
        (50.0, 52.5, 3, 2),
        (60.0, 50.0, 3, 2),
        (60.125, 50.0, 3, 3),
        (50.0, 60.125, 3, 3),
    ],
)
def test_a_middle_rail_over_42_in_of_stile_and_a_third_hinge_over_5_ft(
    make: SimpleNamespace, tall: float, other: float, rails: int, hinges: int
) -> None:
    frame = hung(make, [tall, (tall + other) / 2, other], [0.0] * 3, width=30.0)
    assert (len(frame.rails), frame.hinges) == (rails, hinges)


def test_a_leaf_lower_than_its_frame_and_narrower_than_its_stiles_keeps_a_frame(
    make: SimpleNamespace,
) -> None:
    """10 in tall: the lower edge a rail's height under the upper one; 6 in wide: rails of 3-1/2."""
    frame = hung(make, [10.0, 10.0], [0.0, 0.0], width=6.75)
    assert (frame.low, frame.high) == ((3, 3), (6.5, 6.5))
    assert frame.rails == (3.5, 3.5)
    assert math.degrees(frame.angle) == pytest.approx(45.0)


@pytest.mark.parametrize(
    ("width", "height", "section", "told"),
    [
        (48.75, 44.0, (3.5, 3.5), False),  # a leaf of 48 in, 66 lb
        (48.875, 44.0, (3.5, 3.5), True),
        (48.875, 44.0, (5.0, 5.0), False),
        (48.875, 44.0, (5.5, 3.5), True),
        (48.0, 70.0, (3.5, 3.5), True),  # 47-1/4 in wide, 88 lb
        (36.0, 70.0, (3.5, 3.5), False),
    ],
)
def test_posts_under_5_in_are_light_for_a_leaf_over_4_ft_or_80_lb(
    make: SimpleNamespace, width: float, height: float, section: tuple[float, float], told: bool
) -> None:
    count = int(width // 6)
    frame = hung(make, [height] * count, [0.0] * count, width=width)
    plan, _ = plan_gate("g", Gate(station=100.0, width=width), make.ground(300), 2.0, make.say)
    posts = make.posts(width=f"{section[0]} in", thickness=f"{section[1]} in")
    found = [
        p.found for p in frame_notes("g", plan, frame, posts, "so much", make.say) if "hangs on" in p.found
    ]
    assert bool(found) == told
    if told:
        assert found[0].startswith("a leaf of so much, ")
        assert found[0].endswith("wide; common practice is 5-1/2 in for a leaf over 48 in or so heavy")


@pytest.mark.parametrize(
    ("height", "leaves", "remedy"), [(57.75, 1, None), (57.625, 1, "hang two"), (57.0, 2, "add a")]
)
def test_a_brace_flatter_than_45_degrees_is_told(
    make: SimpleNamespace, height: float, leaves: int, remedy: str | None
) -> None:
    """A leaf of 47-1/4 in has 40-1/4 between its stiles; 57-3/4 tall its brace climbs as much."""
    width = 48.0 if leaves == 1 else 95.5
    frame = hung(make, [height] * 8, [0.0] * 8, width=width, leaves=leaves)
    plan, _ = plan_gate("g", Gate(station=100.0, width=width, leaves=leaves), make.ground(300), 2.0, make.say)
    told = list(frame_notes("g", plan, frame, make.posts(width="5-1/2 in"), "", make.say))
    assert [p.remedy[: len(remedy)] for p in told if remedy] == ([remedy] if remedy else [])
    assert bool(told) == bool(remedy)
