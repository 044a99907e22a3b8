"""The frame of a leaf, its brace and its weight."""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.fence.gates.frame import LeafFrame, frame_notes, leaf_frame
from fencegrade.fence.gates.gates import leaf_pickets, plan_gate
from fencegrade.figures.lumber import Wood
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import Fit, HingePost, LeafShape, Pattern
from fencegrade.job.records import Gate


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
    assert frame.outer == pytest.approx((47.25 - 8 * 0.25 - 7 * 5.5) / 2)


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


def test_a_leaf_keeps_the_fence_s_spaces(make: SimpleNamespace) -> None:
    """Whole 3-1/2 in pickets in a leaf of 41-1/4 in would stand 1.89 apart beside a fence at 1.72: the outer
    two are ripped instead.
    """
    line = ground_line([0, 300], [0, 0])
    plan, _ = plan_gate("g", Gate(station=100.0, width=42.0), line, 2.0, make.say)
    tops = np.array([48.0, 48.0])
    slots = leaf_pickets(plan, 0, line, tops, 3.5, 1.72, Fit.EVEN_GAPS, 1 / 8).slots
    assert slots.left[1:] - slots.right[:-1] == pytest.approx(np.full(len(slots) - 1, 1.72))
    assert slots.width[0] == pytest.approx(slots.width[-1])
    assert slots.width[1:-1] == pytest.approx(np.full(len(slots) - 2, 3.5))


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
