"""Doubts about readings while they are taken."""

import pytest

from fencegrade.ground.taking import Taken, disagrees, doubt_of_last, left_out
from fencegrade.units import UnitSystem, parse_length

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


def test_a_stake_that_seems_left_out_is_told() -> None:
    """Among steps of 48 in one of 84 in or less is none; four stations are too few to tell."""
    even = [0.0, 48.0, 96.0, 144.0, 192.0]
    assert left_out(even) is None
    assert left_out([*even, 276.0]) is None
    assert left_out([276.1, *even, 48.0]) == (192.0, 276.1)
    assert left_out([0.0, 48.0, 96.0, 192.0]) is None
