"""Doubts about readings while they are taken."""

import pytest
from msgspec.structs import replace

from fencegrade.ground.doubt import Doubt, doubt_problems
from fencegrade.ground.taking import Taken, disagrees, doubt_of_last, every_doubt
from fencegrade.job.survey import Side
from fencegrade.units import UnitSystem, parse_length
from fencegrade.units.words import Words

IMPERIAL = UnitSystem.IMPERIAL


def taken(*drops: float, spacing: float = 48.0) -> list[Taken]:
    return [Taken(station=i * spacing, drop=d) for i, d in enumerate(drops)]


def test_even_ground_is_never_doubted() -> None:
    drops = [20.0, 21.0, 23.5, 27.0, 30.0, 31.0, 30.5, 28.0]
    for n in range(1, len(drops) + 1):
        assert doubt_of_last(taken(*drops[:n]), IMPERIAL) is None


def test_a_steep_step_is_doubted_before_there_are_five_readings() -> None:
    doubt = doubt_of_last(taken(20.0, 60.0), IMPERIAL)
    assert doubt is not None
    assert doubt.index == 1
    assert 'from 0" to 4\' 0" the ground would fall by 40 in' in doubt.found


@pytest.mark.parametrize(("step", "doubted"), [(28.7, False), (28.9, True)])
def test_a_step_is_doubted_from_six_tenths_of_its_length(step: float, doubted: bool) -> None:
    assert (doubt_of_last(taken(20.0, 20.0 + step), IMPERIAL) is not None) is doubted


def test_an_early_slip_is_told_with_the_figure_it_would_have_hidden() -> None:
    """The second drop was read in feet (1.75 ft is 21 in) and written as inches."""
    doubt = doubt_of_last(taken(20.0, 1.75, spacing=24), IMPERIAL)
    assert doubt is not None
    assert doubt.would_fit == pytest.approx(21.0)


def test_a_slipped_foot_among_many_is_found_when_the_next_reading_is_in() -> None:
    drops = [20.0, 20.5, 21.0, 21.5, 34.0, 22.5]
    told = [doubt_of_last(taken(*drops[:n]), IMPERIAL) for n in range(1, 7)]
    found = [d for d in told if d is not None]
    assert found
    assert all(d.index == 4 for d in found)
    assert found[-1].would_fit == pytest.approx(22.0)


def test_of_a_steep_step_the_odd_reading_is_doubted() -> None:
    """2.2 ft (26.4 in) written as inches after 21-1/2 in; the next is right, and where it stands alone by the
    odd one nothing tells which of the two it is."""
    before, right = [17.0, 21.5, 2.2, 28.0], [17.0, 21.5, 26.4, 2.3]
    for drops, index, fits in ((before, 2, 26.4), (right, 3, 27.6), (before[2:], 1, 28 / 12)):
        doubt = doubt_of_last(taken(*drops, spacing=24), IMPERIAL)
        assert doubt is not None
        assert doubt.index == index
        assert doubt.would_fit == pytest.approx(fits)


def test_a_doubt_is_told_once() -> None:
    drops = [20.0, 60.0, 60.5, 61.0]
    told = [doubt_of_last(taken(*drops[:n]), IMPERIAL) for n in range(1, 5)]
    assert [d is not None for d in told] == [False, True, False, False]


def test_a_repeat_beside_a_step_raises_no_second_doubt() -> None:
    rows = [*taken(20.0, 60.0), Taken(station=0.0, drop=20.25)]
    assert doubt_of_last(rows, IMPERIAL) is None


def test_a_drop_out_of_reach_is_doubted() -> None:
    rows = [Taken(station=0, drop=parse_length("9.5 ft") * 12)]
    doubt = doubt_of_last(rows, IMPERIAL)
    assert doubt is not None
    assert "a long way down" in doubt.found


def test_a_repeat_may_differ_by_half_an_inch() -> None:
    rows = taken(20.0, 21.0)
    assert disagrees(rows, Taken(station=0, drop=20.5), IMPERIAL) is None
    other = disagrees(rows, Taken(station=0, drop=20.75), IMPERIAL)
    assert other == rows[0]


@pytest.mark.parametrize(
    ("drops", "sides", "told"),
    [
        # within a foot a step may be 8 in however near
        ((20.0, 28.0), (None, None), None),
        ((20.0, 28.125), (None, None), "the ground would fall by 8-1/8 in"),
        ((28.125, 20.0), (None, None), "the ground would rise by 8-1/8 in"),
    ],
)
def test_a_small_step_is_none_however_near(
    drops: tuple[float, float], sides: tuple[Side | None, Side | None], told: str | None
) -> None:
    rows = [Taken(station=4.0 * k, drop=d, side=s) for k, (d, s) in enumerate(zip(drops, sides, strict=True))]
    found = every_doubt(rows, IMPERIAL)
    assert [d.found for d in found] == ([f'from 0" to 4" {told}'] if told else [])
    assert [(d.index, d.stations) for d in found] == ([(1, (0.0, 4.0))] if told else [])


def test_a_face_is_no_step_and_two_rows_of_one_side_are() -> None:
    one, other = (
        [Taken(station=48.0, drop=20.0, side=Side.BEFORE), Taken(station=48.0, drop=50.0, side=side)]
        for side in (Side.AFTER, Side.BEFORE)
    )
    assert every_doubt(one, IMPERIAL) == []
    assert len(every_doubt(other, IMPERIAL)) == 1


def test_a_step_taken_backward_doubts_the_later_reading() -> None:
    """21 in at 4 ft after 1-3/4 at the start, which is 1.75 ft written as inches."""
    rows = [Taken(station=48.0, drop=45.0), Taken(station=0.0, drop=1.75)]
    (doubt,) = every_doubt(rows, IMPERIAL)
    assert (doubt.index, doubt.stations, doubt.would_fit) == (1, (0.0, 48.0), None)
    near = [Taken(station=24.0, drop=22.0), Taken(station=0.0, drop=1.75)]
    assert every_doubt(near, IMPERIAL)[0].would_fit == 21.0


def test_no_drop_below_nothing_is_said_to_fit() -> None:
    """A station mistyped on rising ground: far on it would lie above the string."""
    rows = [Taken(station=48.0 * k, drop=60.0 - 4.0 * k + (k % 2) / 2) for k in range(9)]
    (doubt,) = every_doubt([*rows, Taken(station=24000.0, drop=27.0)], IMPERIAL)
    assert (doubt.index, doubt.would_fit) == (len(rows), None)
    upward = Doubt(
        spot=0,
        line=1,
        station=0.0,
        raw=5.0,
        departure=9.0,
        looks_like="",
        would_fit=-4.0,
        downward=False,
    )
    assert upward.readable == -4.0, "elevations may be"
    (told,) = doubt_problems([replace(upward, downward=True)], "s.csv", Words.of_readings(IMPERIAL))
    assert told.remedy.startswith("check it on the page or on the ground, station and figure. If it is")


@pytest.mark.parametrize(("drop", "told"), [(150.0, False), (150.125, True)])
def test_what_a_tape_held_by_hand_does_not_reach(drop: float, told: bool) -> None:
    found = every_doubt([Taken(station=5.0, drop=drop)], IMPERIAL)
    assert [d.found for d in found] == ["150-1/8 in is a long way down from a string"] * told
    assert [(d.index, d.stations, d.would_fit) for d in found] == [(0, (5.0,), None)] * told


@pytest.mark.parametrize(
    ("again", "side", "told"), [(20.5, None, False), (20.5625, None, True), (30.0, Side.AFTER, False)]
)
def test_a_repeat_disagrees_with_one_of_its_own_side(again: float, side: Side | None, told: bool) -> None:
    rows = taken(20.0, 21.0)
    found = disagrees(rows, Taken(station=0, drop=again, side=side), IMPERIAL)
    assert found == (rows[0] if told else None)
