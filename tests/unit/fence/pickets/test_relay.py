"""Laying again what is left of a stretch."""

from typing import Any

import numpy as np
import pytest

from fencegrade.fence.pickets.relay import Relay, RelayKind, Rest, lay_again
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.job.choices import Fit

NONE = Slots(left=np.empty(0), right=np.empty(0))


def rest(**keys: Any) -> Rest:
    """A run of 480 in whose last edge stands at 231.5 in, of boards 5.53 in wide at 1/4 in."""
    usual: dict[str, Any] = {
        "at": 231.5,
        "end": 480.0,
        "width": 5.53,
        "gap": 0.25,
        "limit": 0.125,
        "fit": Fit.EVEN_GAPS,
        "planned": NONE,
        "shift": 1.0,
    }
    return Rest(**{**usual, **keys})


def by_count(ways: tuple[Relay, ...], boards: int) -> Relay:
    return next(w for w in ways if len(w) == boards and w.kind is RelayKind.FULL_BOARDS)


def test_two_counts_of_a_run_measured_at_its_middle() -> None:
    """Worked by hand: 248.5 / 43 - 5.53 = 0.24907 and 248.5 / 44 - 5.53 = 0.11773."""
    ways = lay_again(rest(limit=0.1875))
    assert len(ways[0]) == 43
    assert ways[0].gaps == pytest.approx(np.full(43, 248.5 / 43 - 5.53))
    assert by_count(ways, 44).gaps == pytest.approx(np.full(44, 0.11773), abs=5e-6)


def test_a_change_past_the_limit_is_eased_in_steps() -> None:
    """44 boards close each gap by 0.1323; with 1/8 a board the second gap takes the rest."""
    eased = by_count(lay_again(rest()), 44)
    assert eased.gaps[0] == pytest.approx(0.125)
    assert eased.gaps[1:] == pytest.approx(np.full(43, eased.gaps[-1]))
    assert eased.departure == pytest.approx(-(0.1322727 * 44 - 0.125) / 43, abs=1e-6)
    assert eased.within


def test_few_boards_left_rip_two_alike_rather_than_open_wide_gaps() -> None:
    best, *others = lay_again(rest(at=460.0))
    assert best.kind is RelayKind.TWO_RIPS
    assert best.ripped == pytest.approx((3.97, 3.97))
    full = next(w for w in others if w.kind is RelayKind.FULL_BOARDS)
    assert not full.within
    assert full.change == pytest.approx((20 - 3 * 5.53 - 3 * 0.25) / 6)


def test_the_best_that_can_be_done_is_said_to_pass_the_limit() -> None:
    (best, *_) = lay_again(rest(at=474.0))
    assert not best.within
    assert best.gaps == pytest.approx([0.47])
    assert best.change == pytest.approx(0.22)


def test_closing_gaps_stop_at_touching_boards() -> None:
    """Seven boards and gaps of 1/4 in are 2 in too long for the room: all that the gaps have is 1-3/4 in."""
    crowded = lay_again(rest(at=480 - 7 * 5.53 - 0.2, limit=0.02))
    tight = by_count(crowded, 7)
    assert tight.gaps.min() >= 0
    assert float(tight.gaps.sum()) == pytest.approx(0.2)
    assert not tight.within
    assert tight.change == pytest.approx(np.abs(np.diff(np.append(0.25, tight.gaps))).max())


def test_rip_last_keeps_the_gap_and_rips() -> None:
    (best, *_) = lay_again(rest(at=440.0, fit=Fit.RIP_LAST))
    assert best.kind is RelayKind.ONE_RIP
    assert best.ripped == pytest.approx((40 - 6 * 5.78 - 0.25,))
    assert best.gaps == pytest.approx(np.full(7, 0.25))


def test_rip_last_widens_a_sliver_within_the_limit() -> None:
    """Three boards leave 2.41 in, under half of 5.53: the gaps close until it is half a board."""
    (best, second, *_) = lay_again(rest(at=460.0, fit=Fit.RIP_LAST))
    assert best.ripped == pytest.approx((5.53 / 2,))
    assert best.within
    assert second.kind is RelayKind.TWO_RIPS


def test_rip_both_ends_matches_the_first_rip() -> None:
    (best, *_) = lay_again(rest(fit=Fit.RIP_BOTH_ENDS, match=4.0))
    assert best.ripped == pytest.approx((4.0,))
    assert best.within


def test_a_difference_nobody_sees_saves_a_rip() -> None:
    """At 1/4 in a rip of 5.49 in would be left, which 43 full boards at 0.249 in save."""
    (best, *_) = lay_again(rest(fit=Fit.RIP_LAST))
    assert best.kind is RelayKind.FULL_BOARDS
    assert len(best) == 43


def test_room_for_no_board_is_left_open() -> None:
    (best, *_) = lay_again(rest(at=479.8))
    assert best.kind is RelayKind.NOTHING
    assert best.end_gap == pytest.approx(0.2)
    assert len(best) == len(best.gaps) == 0
    assert (best.departure, best.change, best.ripped, best.shortest_rip) == (0, 0, (), 1)


def test_a_board_alone_in_its_stretch_stands_in_the_middle() -> None:
    (best, *_) = lay_again(rest(at=20.0, end=28.0, width=5.5, lead=0.0, started=False))
    assert best.kind is RelayKind.FULL_BOARDS
    assert best.slots.left == pytest.approx([21.25])
    assert best.slots.right == pytest.approx([26.75])
    assert (best.gaps[0], best.end_gap, best.departure) == pytest.approx((1.25, 1.25, 1.0))


def test_several_boards_come_before_one_with_much_space_about_it() -> None:
    """17-1/4 in hold three boards 3/8 in apart; one alone would have 5-7/8 in on each side."""
    planned = fill_stretch(0.0, 17.0, 5.5, 0.25, Fit.EVEN_GAPS)
    begun = rest(at=0.0, end=17.25, width=5.5, gap=0.25, lead=0.0, started=False, planned=planned)
    best, *others = lay_again(begun)
    assert len(best) == 3
    assert best.gaps[1:] == pytest.approx([0.375] * 2)
    assert next(r for r in others if len(r) == 1).departure == pytest.approx(5.875 - 0.25)


def test_two_boards_alone_in_their_stretch_stand_at_its_ends() -> None:
    two = by_count(lay_again(rest(at=20.0, end=31.375, width=5.5, lead=0.0, started=False)), 2)
    assert two.slots.left == pytest.approx([20, 25.875])
    assert two.slots.right == pytest.approx([25.5, 31.375])
    assert two.gaps == pytest.approx([0, 0.375])
    assert two.end_gap == pytest.approx(0)


def test_stepped_bays_keep_half_a_gap_at_the_post() -> None:
    (best, *_) = lay_again(rest(at=92 - 5 * 5.5 - 5.5 * 0.3, end=92.0, close=0.5, width=5.5))
    assert best.end_gap == pytest.approx(best.gaps[-1] / 2)
    assert 5.5 * len(best) + float(best.gaps.sum()) + best.end_gap == pytest.approx(29.15)
    assert best.gaps == pytest.approx(np.full(5, 0.3))


def test_the_first_boards_of_a_stretch_stand_flush_and_know_no_limit() -> None:
    (best, *_) = lay_again(rest(at=3.0, started=False, lead=0.0))
    assert best.slots.left[0] == pytest.approx(3.0)
    assert best.slots.right[-1] == 480.0
    assert best.within


def test_as_planned_stays_as_planned() -> None:
    slots = fill_stretch(0, 480, 5.5, 0.25, Fit.RIP_LAST)
    later = Slots(left=slots.left[40:], right=slots.right[40:])
    (only,) = lay_again(
        rest(at=float(slots.right[39]), planned=later, shift=0.0, width=5.5, fit=Fit.RIP_LAST)
    )
    assert only.kind is RelayKind.AS_PLANNED
    assert only.slots is later
    assert (only.departure, only.change, only.within) == (0, 0, True)
    assert only.gaps == pytest.approx(np.full(len(later), 0.25))
    assert only.end_gap == pytest.approx(0)
    assert only.ripped == pytest.approx((float(slots.width[-1]),))


def test_a_post_set_elsewhere_ends_the_plan() -> None:
    slots = fill_stretch(0, 480, 5.5, 0.25, Fit.EVEN_GAPS)
    later = Slots(left=slots.left[40:], right=slots.right[40:])
    gap = float(slots.left[1] - slots.right[0])
    (best, *_) = lay_again(
        rest(at=float(slots.right[39]), end=481.0, planned=later, shift=0.0, width=5.5, gap=gap)
    )
    assert best.kind is RelayKind.FULL_BOARDS
    assert best.slots.right[-1] == 481.0


@pytest.mark.parametrize("keys", [{"width": 0.0}, {"limit": 0.0}, {"gap": -0.1}, {"at": 490.0}])
def test_sizes_that_cannot_be(keys: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="must be over zero"):
        lay_again(rest(**keys))
