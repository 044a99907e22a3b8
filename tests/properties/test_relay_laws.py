"""Laws of laying a stretch again: nothing changes where nothing moved, and what is laid always adds up."""

import numpy as np
import pytest
from examples import few
from hypothesis import assume, given
from hypothesis import strategies as st

from fencegrade.fence.pickets.relay import Relay, RelayKind, Rest, lay_again
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.job.choices import Fit

NONE = Slots(left=np.empty(0), right=np.empty(0))

rests = st.builds(
    lambda room, width, gap, limit, fit, close, match: Rest(
        at=100.0,
        end=100.0 + room,
        width=width,
        gap=gap,
        limit=limit,
        fit=fit,
        planned=NONE,
        shift=1.0,
        close=close if fit is Fit.EVEN_GAPS else 0.0,
        match=match * width if fit is Fit.RIP_BOTH_ENDS else 0.0,
    ),
    room=st.floats(0, 600),
    width=st.floats(2, 8),
    gap=st.sampled_from([0.0, 0.125, 0.25, 1.75]) | st.floats(0, 4),
    limit=st.floats(1 / 64, 0.5),
    fit=st.sampled_from(list(Fit)),
    close=st.sampled_from([0.0, 0.5]),
    match=st.floats(0.5, 0.99),
)


def total(relay: Relay) -> float:
    return float(relay.slots.width.sum() + relay.gaps.sum()) + relay.end_gap


@given(rest=rests)
@few(50, 200)
def test_boards_and_gaps_add_up_to_what_is_left(rest: Rest) -> None:
    for way in lay_again(rest):
        assert total(way) == pytest.approx(rest.room, abs=1e-6)
        assert (way.gaps >= -1e-9).all()
        assert way.end_gap >= -1e-6
        if len(way):
            assert way.slots.left[0] == pytest.approx(rest.at + way.gaps[0], abs=1e-6)
            assert way.slots.right[-1] + way.end_gap == pytest.approx(rest.end, abs=1e-6)
            assert way.slots.left[1:] - way.slots.right[:-1] == pytest.approx(way.gaps[1:], abs=1e-6)


@given(rest=rests)
@few(50, 300)
def test_no_gap_changes_by_more_than_is_said(rest: Rest) -> None:
    """From the gap that stands and from board to board; a way within the limit keeps it."""
    for way in lay_again(rest):
        if not len(way):
            continue
        steps = np.abs(np.diff(np.append(rest.gap, way.gaps)))
        assert float(steps.max()) <= way.change + 1e-6
        assert way.within == (way.change <= rest.limit + 1e-6)


@given(rest=rests)
@few(50, 200)
def test_the_first_way_keeps_the_limit_if_any_does(rest: Rest) -> None:
    best, *others = lay_again(rest)
    if not best.within:
        assert all(not w.within or w.kind is RelayKind.NOTHING for w in others)


@given(
    room=st.floats(200, 600),
    width=st.floats(3, 6),
    gap=st.floats(0.2, 1.0),
    close=st.sampled_from([0.0, 0.5]),
)
def test_full_boards_come_nearest_to_the_gap_that_stands(
    room: float, width: float, gap: float, close: float
) -> None:
    """Of every number of full boards, found one by one, none changes an even gap less."""
    rest = Rest(
        at=0.0,
        end=room,
        width=width,
        gap=gap,
        limit=0.5,
        fit=Fit.EVEN_GAPS,
        planned=NONE,
        shift=1.0,
        close=close,
    )
    best = lay_again(rest)[0]
    assert best.kind is RelayKind.FULL_BOARDS
    for count in range(1, int(room / width) + 1):
        even = (room - count * width) / (count + close)
        assert abs(even - gap) >= abs(best.departure) - 1e-6


@given(
    length=st.floats(60, 900),
    width=st.floats(2, 8),
    spacing=st.floats(0, 3),
    fit=st.sampled_from(list(Fit)),
    share=st.floats(0, 1),
)
def test_what_ends_as_planned_stays_as_planned(
    length: float, width: float, spacing: float, fit: Fit, share: float
) -> None:
    slots = fill_stretch(0.0, length, width, spacing, fit)
    assume(len(slots) > 1)
    up = min(len(slots) - 1, 1 + int(share * len(slots)))
    gap = max(0.0, float(slots.left[1] - slots.right[0]))
    found = lay_again(
        Rest(
            at=float(slots.right[up - 1]),
            end=length,
            width=width,
            gap=gap,
            limit=0.125,
            fit=fit,
            planned=Slots(left=slots.left[up:], right=slots.right[up:]),
            shift=0.0,
        )
    )
    assert found[0].slots.left == pytest.approx(slots.left[up:], abs=1e-6)
    assert found[0].slots.right == pytest.approx(slots.right[up:], abs=1e-6)
