"""Laying again what is left of a stretch."""

from typing import Any

import numpy as np
import pytest

from fencegrade.fence.pickets.relay import Relay, RelayKind, Rest, lay_again
from fencegrade.fence.slots import LEAST_BOARD, LEAST_OFF, Slots, fill_stretch
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
    (best,) = lay_again(rest(at=479.8))  # and no board over the limit is the next best
    assert best.kind is RelayKind.NOTHING
    assert best.end_gap == pytest.approx(0.2)
    assert len(best) == len(best.gaps) == 0
    assert (best.departure, best.change, best.ripped, best.shortest_rip) == (0, 0, (), 1)


def test_stepped_bays_keep_half_a_gap_at_the_post() -> None:
    (best, *_) = lay_again(rest(at=92 - 5 * 5.5 - 5.5 * 0.3, end=92.0, close=0.5, width=5.5))
    assert best.end_gap == pytest.approx(best.gaps[-1] / 2)
    assert 5.5 * len(best) + float(best.gaps.sum()) + best.end_gap == pytest.approx(29.15)
    assert best.gaps == pytest.approx(np.full(5, 0.3))


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
    with pytest.raises(ValueError, match=r"^width and limit must be over zero, gap and room not below it$"):
        lay_again(rest(**keys))


WORD = {
    RelayKind.FULL_BOARDS: "whole",
    RelayKind.ONE_RIP: "rip",
    RelayKind.TWO_RIPS: "two rips",
    RelayKind.NOTHING: "none",
}


def shown(way: Relay) -> str:
    """Boards, kind, rips, first and last gap, the space after, departure, largest change, the limit."""
    rips = " ".join(f"{r:g}" for r in way.ripped)
    gaps = f"{way.gaps[0]:.3f} {way.gaps[-1]:.3f}" if len(way) else "- -"
    kept = "kept" if way.within else "past"
    eased = f"{way.departure:+.3f} {way.change:.3f} {kept}"
    return f"{len(way)} {WORD[way.kind]} [{rips}] {gaps} {way.end_gap:.3f} {eased}"


@pytest.mark.parametrize(
    ("keys", "ways"),
    [
        (
            {"end": 28.75},
            [
                "5 whole [] 0.250 0.250 0.000 +0.000 0.000 kept",
                "4 whole [] 0.825 2.550 0.000 +2.300 0.575 past",
                "3 whole [] 2.167 6.000 0.000 +5.750 1.917 past",
            ],
        ),
        (
            {"end": 31.0},
            [
                "6 two rips [3.75 3.75] 0.250 0.250 0.000 +0.000 0.000 kept",
                "6 rip [2] 0.250 0.250 0.000 +0.000 0.000 kept",
                "5 whole [] 0.400 1.000 0.000 +0.750 0.150 past",
                "4 whole [] 1.050 3.450 0.000 +3.200 0.800 past",
                "3 whole [] 2.542 7.125 0.000 +6.875 2.292 past",
            ],
        ),
        (
            {"end": 34.0},
            [
                "6 whole [] 0.167 0.167 0.000 -0.083 0.083 kept",
                "6 rip [5] 0.250 0.250 0.000 +0.000 0.000 kept",
                "5 whole [] 0.600 2.000 0.000 +1.750 0.350 past",
                "4 whole [] 1.350 4.650 0.000 +4.400 1.100 past",
                "3 whole [] 3.042 8.625 0.000 +8.375 2.792 past",
            ],
        ),
        (
            {"end": 28.75, "fit": Fit.RIP_LAST},
            [
                "5 whole [] 0.250 0.250 0.000 +0.000 0.000 kept",
                "5 rip [2.75] 0.433 1.167 0.000 +0.917 0.183 past",
                "4 whole [] 0.825 2.550 0.000 +2.300 0.575 past",
                "4 rip [2.75] 1.100 3.650 0.000 +3.400 0.850 past",
                "3 whole [] 2.167 6.000 0.000 +5.750 1.917 past",
            ],
        ),
        (
            {"end": 29.0, "fit": Fit.RIP_LAST},
            [
                "5 whole [] 0.250 0.250 0.250 +0.000 0.000 kept",
                "5 whole [] 0.300 0.300 0.000 +0.050 0.050 kept",
                "5 rip [2.75] 0.450 1.250 0.000 +1.000 0.200 past",
                "4 whole [] 0.850 2.650 0.000 +2.400 0.600 past",
                "4 rip [2.75] 1.125 3.750 0.000 +3.500 0.875 past",
                "3 whole [] 2.208 6.125 0.000 +5.875 1.958 past",
            ],
        ),
        (
            {"end": 31.0, "fit": Fit.RIP_LAST},
            [
                "6 rip [2.75] 0.125 0.125 0.000 -0.125 0.125 kept",
                "6 two rips [3.75 3.75] 0.250 0.250 0.000 +0.000 0.000 kept",
                "6 rip [2] 0.250 0.250 0.000 +0.000 0.000 kept",
                "5 whole [] 0.400 1.000 0.000 +0.750 0.150 past",
                "5 rip [2.75] 0.583 1.917 0.000 +1.667 0.333 past",
                "4 whole [] 1.050 3.450 0.000 +3.200 0.800 past",
                "4 rip [2.75] 1.325 4.550 0.000 +4.300 1.075 past",
                "3 whole [] 2.542 7.125 0.000 +6.875 2.292 past",
            ],
        ),
        (
            {"end": 31.75, "fit": Fit.RIP_LAST},
            [
                "6 rip [2.75] 0.250 0.250 0.000 +0.000 0.000 kept",
                "5 whole [] 0.450 1.250 0.000 +1.000 0.200 past",
                "5 rip [2.75] 0.633 2.167 0.000 +1.917 0.383 past",
                "4 whole [] 1.125 3.750 0.000 +3.500 0.875 past",
                "4 rip [2.75] 1.400 4.850 0.000 +4.600 1.150 past",
                "3 whole [] 2.667 7.500 0.000 +7.250 2.417 past",
            ],
        ),
        (
            {"end": 34.25, "fit": Fit.RIP_LAST},
            [
                "6 rip [5.25] 0.250 0.250 0.000 +0.000 0.000 kept",
                "6 whole [] 0.208 0.208 0.000 -0.042 0.042 kept",
                "6 rip [2.75] 0.375 0.875 0.000 +0.625 0.125 kept",
                "5 whole [] 0.617 2.083 0.000 +1.833 0.367 past",
                "5 rip [2.75] 0.800 3.000 0.000 +2.750 0.550 past",
                "4 whole [] 1.375 4.750 0.000 +4.500 1.125 past",
                "4 rip [2.75] 1.650 5.850 0.000 +5.600 1.400 past",
                "3 whole [] 3.083 8.750 0.000 +8.500 2.833 past",
            ],
        ),
        (
            {"end": 32.0, "fit": Fit.RIP_BOTH_ENDS, "match": 3.0},
            [
                "6 rip [3] 0.250 0.250 0.000 +0.000 0.000 kept",
                "6 rip [2.75] 0.292 0.292 0.000 +0.042 0.042 kept",
                "5 rip [3] 0.633 2.167 0.000 +1.917 0.383 past",
                "4 rip [3] 1.400 4.850 0.000 +4.600 1.150 past",
                "5 whole [] 0.467 1.333 0.000 +1.083 0.217 past",
                "5 rip [2.75] 0.650 2.250 0.000 +2.000 0.400 past",
                "4 whole [] 1.150 3.850 0.000 +3.600 0.900 past",
                "4 rip [2.75] 1.425 4.950 0.000 +4.700 1.175 past",
                "3 whole [] 2.708 7.625 0.000 +7.375 2.458 past",
            ],
        ),
        (
            {"end": 32.125, "fit": Fit.RIP_BOTH_ENDS, "match": 3.0},
            [
                "6 rip [3.125] 0.250 0.250 0.000 +0.000 0.000 kept",
                "6 rip [3] 0.271 0.271 0.000 +0.021 0.021 kept",
                "6 rip [2.75] 0.312 0.312 0.000 +0.062 0.062 kept",
                "5 rip [3] 0.642 2.208 0.000 +1.958 0.392 past",
                "4 rip [3] 1.413 4.900 0.000 +4.650 1.163 past",
                "5 whole [] 0.475 1.375 0.000 +1.125 0.225 past",
                "5 rip [2.75] 0.658 2.292 0.000 +2.042 0.408 past",
                "4 whole [] 1.163 3.900 0.000 +3.650 0.913 past",
                "4 rip [2.75] 1.438 5.000 0.000 +4.750 1.188 past",
                "3 whole [] 2.729 7.688 0.000 +7.438 2.479 past",
            ],
        ),
        (
            {"end": 5.0, "fit": Fit.RIP_LAST},
            [
                "1 rip [4.75] 0.250 0.250 0.000 +0.000 0.000 kept",
                "1 rip [2.75] 2.250 2.250 0.000 +2.000 2.000 past",
            ],
        ),
        (
            {"end": 0.5},
            [
                "1 rip [0.5] 0.000 0.000 0.000 -0.250 0.250 past",
            ],
        ),
        (
            {"end": 0.6},
            [
                "1 rip [0.6] 0.000 0.000 0.000 -0.250 0.250 past",
            ],
        ),
        (
            {"end": 0.75, "fit": Fit.RIP_LAST},
            [
                "1 rip [0.5] 0.250 0.250 0.000 +0.000 0.000 kept",
            ],
        ),
        (
            {"end": 0.375, "fit": Fit.RIP_LAST},
            [
                "0 none [] - - 0.375 +0.000 0.000 kept",
            ],
        ),
        (
            {"end": 0.49},
            [
                "0 none [] - - 0.490 +0.000 0.000 kept",
            ],
        ),
        (
            {"end": 5.75},
            [
                "1 whole [] 0.250 0.250 0.000 +0.000 0.000 kept",
            ],
        ),
        (
            {"end": 5.5},
            [
                "1 rip [5.25] 0.250 0.250 0.000 +0.000 0.000 kept",
                "1 whole [] 0.000 0.000 0.000 -0.250 0.250 past",
            ],
        ),
        (
            {"end": 11.375, "limit": 0.02},
            [
                "2 rip [5.375] 0.250 0.250 0.000 +0.000 0.000 kept",
                "2 whole [] 0.208 0.167 0.000 -0.250 0.042 past",
                "1 whole [] 5.875 5.875 0.000 +5.625 5.625 past",
            ],
        ),
        (
            {"end": 11.0, "gap": 0.0},
            [
                "2 whole [] 0.000 0.000 0.000 +0.000 0.000 kept",
                "1 whole [] 5.500 5.500 0.000 +5.500 5.500 past",
            ],
        ),
    ],
)
def test_every_way_in_its_order(keys: dict[str, Any], ways: list[str]) -> None:
    """Boards of 5-1/2 in at 1/4 in from 0 on: every way was read, each a sum done by hand."""
    usual = {"at": 0.0, "width": 5.5, "gap": 0.25, "limit": 0.125}
    assert [shown(w) for w in lay_again(rest(**{**usual, **keys}))] == ways


@pytest.mark.parametrize(
    ("end", "close", "fit", "planned"),
    [
        (28.5, 0.0, Fit.EVEN_GAPS, True),
        (28.625, 0.5, Fit.EVEN_GAPS, True),
        (28.625, 0.0, Fit.EVEN_GAPS, False),
        (28.5, 0.5, Fit.EVEN_GAPS, False),
        (28.75, 0.0, Fit.RIP_LAST, True),
        (28.8, 0.0, Fit.RIP_LAST, False),
        (28.4, 0.0, Fit.RIP_LAST, False),
    ],
)
@pytest.mark.parametrize("shift", [0.0, 0.01, -0.01])
def test_the_plan_holds_while_it_ends_where_the_stretch_does(
    end: float, close: float, fit: Fit, planned: bool, shift: float
) -> None:
    """Five boards 1/4 in apart end at 28.5 in; with a rip the last may leave a gap open behind it."""
    left = np.array([5.75 * k for k in range(5)])
    row = Slots(left=left, right=left + 5.5)
    keys = {"at": 0.0, "width": 5.5, "gap": 0.25, "planned": row}
    ways = lay_again(rest(end=end, close=close, fit=fit, shift=shift, **keys))
    assert (ways[0].kind is RelayKind.AS_PLANNED) == (planned and shift == 0)
    assert RelayKind.AS_PLANNED not in {
        w.kind for w in lay_again(rest(end=0.0, shift=0.0, **keys | {"planned": NONE}))
    }


def test_an_outer_pair_of_rips_of_the_plan_is_told() -> None:
    left, right = np.array([0.0, 3.25, 9.0]), np.array([3.0, 8.75, 11.0])
    keys = {"at": 0.0, "end": 11.0, "width": 5.5, "gap": 0.25, "shift": 0.0}
    (way,) = lay_again(rest(planned=Slots(left=left, right=right), **keys))
    assert (way.ripped, way.shortest_rip, way.sliver) == ((3.0, 2.0), 2 / 5.5, True)


@pytest.mark.parametrize("fit", [Fit.RIP_LAST, Fit.RIP_BOTH_ENDS, Fit.EVEN_GAPS])
def test_no_way_rips_a_strip_too_narrow_for_a_board(fit: Fit) -> None:
    """Four boards and gaps of 1/4 in leave 0.3 in after the next gap."""
    ways = lay_again(rest(at=480 - 4 * 5.78 - 0.25 - 0.3, fit=fit, limit=0.02))
    assert all(width >= LEAST_BOARD for way in ways for width in way.ripped)


@pytest.mark.parametrize("fit", list(Fit))
@pytest.mark.parametrize("lack", [0.03125, 0.124])
def test_no_way_rips_less_than_a_saw_takes_off(fit: Fit, lack: float) -> None:
    """59 boards of 6 in with their spaces end past the stretch by so little: the spaces take it up."""
    ways = lay_again(rest(at=0.0, end=59 * 6.40625 - lack, width=6.0, gap=0.40625, limit=0.5, fit=fit))
    assert ways[0].kind is RelayKind.FULL_BOARDS
    assert len(ways[0]) == 59
    assert all(w <= 6.0 - LEAST_OFF for way in ways for w in way.slots.width if w < 6.0 - 1e-9)
