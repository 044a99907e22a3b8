"""Tops that meet at corners."""

import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build

from fencegrade.fence.tops.asked import TopLimits, TopWish
from fencegrade.fence.tops.corners import corner_remarks, corner_steps
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.styles import choose_top, choose_tops
from fencegrade.fence.tops.table import TopStyle


@pytest.fixture
def yard() -> list[TopWish]:
    """Three runs of one yard: the second falls away, the third is level and low."""
    grounds = [
        ([0, 100, 200], [0, 3, 1]),
        ([0, 100, 200], [1, -6, -12]),
        ([0, 100, 200], [-12, -12, -11]),
    ]
    wishes = [build(straight_ground(x, z), posts=(0, 67, 133, 200)) for x, z in grounds]
    return [replace(w, name=n) for w, n in zip(wishes, ("lane", "ditch", "orchard"), strict=True)]


CORNERS = [(0, 1), (1, 2)]


@pytest.mark.parametrize("style", [s for s in TopStyle if s.meets])
def test_tops_meet_exactly(yard: list[TopWish], style: TopStyle) -> None:
    choices = choose_tops([style] * 3, yard, CORNERS)
    assert [s.step for s in corner_steps([c.top for c in choices], CORNERS)] == pytest.approx(
        [0, 0], abs=1e-7
    )
    assert min(c.least_height for c in choices) >= 72 - 1e-9


def test_closed_yard(yard: list[TopWish]) -> None:
    ring = [*CORNERS, (2, 0)]
    choices = choose_tops([TopStyle.SLOPED] * 3, yard, ring)
    assert [s.step for s in corner_steps([c.top for c in choices], ring)] == pytest.approx([0] * 3, abs=1e-7)


def test_level_runs_share_the_highest(yard: list[TopWish]) -> None:
    alone = max(choose_level(w).top.elevations[0] for w in yard)
    assert [c.top.elevations[0] for c in choose_tops([TopStyle.LEVEL] * 3, yard, CORNERS)] == [alone] * 3


def test_joining_costs_timber(yard: list[TopWish]) -> None:
    joined = sum(c.timber for c in choose_tops([TopStyle.SLOPED] * 3, yard, CORNERS))
    dear = ((150.0, 9.0),)
    alone = sum(choose_sloped(build(w.line, stock=dear)).timber for w in yard)
    # with one stock for everything the cheapest line is that of least timber
    assert joined >= alone - 1e-3


@pytest.mark.parametrize("style", [TopStyle.SLOPED, TopStyle.RACKED])
def test_run_that_meets_none_has_its_own_best(yard: list[TopWish], style: TopStyle) -> None:
    choices = choose_tops([style] * 3, yard, [(0, 1)])
    own = choose_top(style, yard[2])
    assert choices[2].top.elevations == pytest.approx(own.top.elevations)
    assert choices[2].proof is own.proof


def test_limits_hold_over_all_runs(yard: list[TopWish]) -> None:
    tight = [replace(w, limits=TopLimits(most_slope=0.01)) for w in yard]
    choices = choose_tops([TopStyle.RACKED] * 3, tight, CORNERS)
    assert max(c.steepest for c in choices) <= 0.01 + 1e-7
    assert [s.step for s in corner_steps([c.top for c in choices], CORNERS)] == pytest.approx(
        [0, 0], abs=1e-7
    )


def test_steps_are_printed(yard: list[TopWish]) -> None:
    steps = corner_steps([choose_sloped(w).top for w in yard], CORNERS)
    said = corner_remarks(yard, steps)
    assert len(said) == sum(abs(s.step) > 1e-6 for s in steps) > 0
    assert said[0].place.startswith("corner of ")


@pytest.mark.parametrize("style", [s for s in TopStyle if not s.meets])
def test_styles_that_do_not_meet_have_the_best_of_their_own(yard: list[TopWish], style: TopStyle) -> None:
    for together, wish in zip(choose_tops([style] * 3, yard, CORNERS), yard, strict=True):
        assert together.top.elevations == pytest.approx(choose_top(style, wish).top.elevations)


def test_two_styles_meet_with_a_step_and_one_style_without(yard: list[TopWish]) -> None:
    styles = [TopStyle.SLOPED, TopStyle.SLOPED, TopStyle.LEVEL]
    choices = choose_tops(styles, yard, CORNERS)
    assert [c.top.style for c in choices] == styles
    steps = corner_steps([c.top for c in choices], CORNERS)
    assert steps[0].step == pytest.approx(0, abs=1e-7)
    assert abs(steps[1].step) > 0.5
