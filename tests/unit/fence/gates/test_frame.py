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
from fencegrade.sheets.run_words import frame_words


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
    timber = sum(length for _, length in frame.pieces()) * 5.25 / 1728 * 0.47 * 62.4 * 1.7
    assert frame.weight == pytest.approx(boards + timber)
    assert frame.screws == 2 * 4 * 4
    rip = (47.25 - 8 * 0.25 - 7 * 5.5) / 2
    assert dict(frame.ripped) == pytest.approx({1: rip, 9: rip})


def test_a_low_leaf_has_two_rails_and_two_hinges(make: SimpleNamespace) -> None:
    frame = framed(make, 36.0, top=48.0)
    assert (len(frame.rails), frame.hinges) == (2, 2)
    assert [name for name, _ in frame.pieces()] == ["hinge stile", "latch stile", "rail 1", "rail 2", "brace"]


def test_the_brace_climbs_from_the_hinges_to_the_latch(make: SimpleNamespace) -> None:
    """Up a slope of one in ten a leaf hinged below has a steeper brace than one hinged above."""
    up, down = (framed(make, 48.0, slope=0.1, hinge=h, leaf=LeafShape.RAKED) for h in HingePost)
    assert up.angle > down.angle
    assert up.rails[0] == pytest.approx(40.375), "down to the tape's mark: 40.45 exactly"


def test_heavy_leaves_on_thin_posts_and_flat_braces_are_told(make: SimpleNamespace) -> None:
    line = make.ground(300)
    plan, _ = plan_gate("g", Gate(station=100.0, width=60.0), line, 2.0, make.say)
    frame = framed(make, 60.0, top=44.0)
    told = " ".join(p.found for p in frame_notes("g", plan, frame, make.posts(), "90 lb", make.say))
    assert "hangs on a post 3-1/2 in wide" in told
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
    """The frame of a leaf of whole 5-1/2 in pickets with these tops and bottoms."""
    plan, _ = plan_gate(
        "g", Gate(**{"station": 100.0, "width": 48.0, **keys}), make.ground(300), 2.0, make.say
    )
    left = np.array([12.0 * k for k in range(len(top))])
    slots = Slots(left=left, right=left + 5.5)
    high, low = np.array(top), np.array(bottom)
    kept = np.round((high - low) * 8).astype(np.int64)
    pickets = LeafPickets(slots=slots, board=5.5, row=0 * kept, top=high, bottom=low, kept=kept)
    return leaf_frame(plan, 0, pickets, Wood.SOFTWOOD, 0.625, make.rails(), 1 / 8)


@pytest.mark.parametrize("hinge", HingePost)
@pytest.mark.parametrize("down", [False, True])
def test_a_leaf_with_unlike_sides_by_hand(make: SimpleNamespace, hinge: HingePost, down: bool) -> None:
    """Tops rise from 60 to 72 and bottoms fall from 4 to 1, or the other way round; hinged at either side."""
    turn = -1 if down else 1
    top, bottom = [60.0, 64.0, 68.0, 72.0][::turn], [4.0, 3.0, 2.0, 1.0][::turn]
    frame = hung(make, top, bottom, hinge=hinge)
    assert (frame.low, frame.high) == ((11, 8)[::turn], (56.5, 68.5)[::turn])
    hinged_high = (hinge is HingePost.START) == down
    assert frame.stiles == ((60.5, 45.5) if hinged_high else (45.5, 60.5))
    # from the hinges' lower corner up to the latch's upper one: 56.5 - 8 - 7, or 68.5 - 11 - 7
    rise = 41.5 if hinged_high else 50.5
    assert math.tan(frame.angle) == pytest.approx(rise / 40.25)
    assert frame.brace == math.floor((math.hypot(40.25, rise) + 3.5) * 8) / 8
    assert frame.rails == (41.5,) * 3, "40.25 along a slope of 12 in 47.25 is 41.53"
    boards = 5.5 * (56 + 61 + 66 + 71) * 0.625 / 1728 * 0.51 * 62.4 * 1.12
    timber = sum(length for _, length in frame.pieces()) * 5.25 / 1728 * 0.47 * 62.4 * 1.7
    assert frame.weight == pytest.approx(boards + timber)
    assert (frame.hinges, frame.ripped) == (3, ())
    edges = [(14.5, 11.5)[::turn], ((14.5 + 56.5) / 2, (11.5 + 68.5) / 2)[::turn], (56.5, 68.5)[::turn]]
    assert frame.rail_edges() == [pytest.approx(e) for e in edges]


@pytest.mark.parametrize(
    ("tall", "other", "rails", "hinges"),
    [
        (52.5, 50.0, 2, 2),  # stiles of 42 in, and of 39-1/2
        (52.625, 50.0, 3, 2),
        (50.0, 52.625, 3, 2),
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
