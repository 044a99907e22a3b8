"""Laws every top line keeps, on random ground."""

from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

import numpy as np
import pytest
import top_wishes
from examples import few
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace
from top_wishes import stepped_slots

from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import Slots, closed_stretches
from fencegrade.fence.tops.asked import TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.contour import _corners, _following
from fencegrade.fence.tops.contour import choose as choose_contour
from fencegrade.fence.tops.level import choose as choose_level
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ground_alone
from fencegrade.fence.tops.racked import choose as choose_racked
from fencegrade.fence.tops.sloped import choose as choose_sloped
from fencegrade.fence.tops.stepped import choose as choose_stepped
from fencegrade.fence.tops.string_heights import string_heights
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.choices import BottomCut
from fencegrade.units.arrays import Floats

FEW = few(8)
Choose = Callable[[TopWish], TopChoice]
CHOOSERS: dict[TopStyle, Choose] = {
    style: import_module(f"fencegrade.fence.tops.{style}").choose for style in TopStyle
}
EVERY = tuple(CHOOSERS.values())
BY_BAY = {choose for style, choose in CHOOSERS.items() if style.by_bay}
STOCK = ((72, 3.6), (84, 4.9), (96, 6.1))
build = partial(top_wishes.build, stock=STOCK)


@st.composite
def grounds(draw: st.DrawFn, faces: bool = True) -> GroundLine:
    """Readings 3 to 6 ft apart, up to a foot up or down from one to the next, now and then a face."""
    count = draw(st.integers(4, 9))
    apart = draw(st.lists(st.integers(36, 72), min_size=count - 1, max_size=count - 1))
    rises = draw(st.lists(st.integers(-48, 48), min_size=count - 1, max_size=count - 1))
    x = np.concatenate([[0.0], np.cumsum(apart)])
    z = np.concatenate([[0.0], np.cumsum(rises) / 4.0])
    if faces and draw(st.booleans()):
        k = draw(st.integers(1, count - 2))
        x, z = np.insert(x, k + 1, x[k]), np.insert(z, k + 1, z[k])
        z[k + 1 :] -= draw(st.integers(4, 30))
    return ground_line(x, z)


def posts_of(line: GroundLine) -> Floats:
    return np.linspace(line.start, line.end, 2 + int((line.end - line.start) // 96))


def stepped_wish(line: GroundLine, width: float = 5.5, **others: Any) -> TopWish:
    posts = posts_of(line)
    stretches = tuple(closed_stretches(line.start, line.end, (), line.faces))
    return build(line, slots=stepped_slots(posts, width, 0.25, stretches), posts=posts, **others)


def wish_for(choose: Choose, line: GroundLine, **others: Any) -> TopWish:
    if choose in BY_BAY:
        return stepped_wish(line, **others)
    return build(line, posts=posts_of(line), **others)


@pytest.mark.parametrize("choose", EVERY)
@FEW
@given(line=grounds())
def test_least_height_is_kept_everywhere(choose: Choose, line: GroundLine) -> None:
    choice = choose(wish_for(choose, line))
    x = np.union1d(np.linspace(line.start, line.end, 3001), line.stations)
    before, after = choice.top.sides(x)
    inner = (x > line.start) & (x < line.end)
    assert np.all((after - line.elevation(x))[:-1] >= 72 - 1e-6)
    assert np.all((before - line.elevation(x, before=True))[inner] >= 72 - 1e-6)
    assert choice.least_height >= 72 - 1e-6


@pytest.mark.parametrize("choose", EVERY)
@FEW
@given(line=grounds(), width=st.sampled_from([1.5, 3.5, 5.5, 9.25]))
def test_every_board_keeps_the_least_height_over_the_highest_ground_under_it(
    choose: Choose, line: GroundLine, width: float
) -> None:
    """A board's top is square, at the height of the line over its middle."""
    wish = wish_for(choose, line, width=width)
    choice = choose(wish)
    high = line.highest(wish.slots.left, wish.slots.right)
    assert np.all(choice.top.at(wish.slots.centre) - high >= 72 - 1e-6)
    assert choice.least_height <= (choice.top.at(wish.slots.centre) - high).min() + 1e-9


@FEW
@given(line=grounds(), most=st.sampled_from([0.125, 1.0, 4.0, 12.0]))
def test_steps_keep_their_limit_but_at_faces(line: GroundLine, most: float) -> None:
    choice = choose_stepped(stepped_wish(line, limits=TopLimits(most_step=most)))
    at = choice.top.stations[:-1][np.diff(choice.top.stations) == 0]
    steps = np.abs(choice.top.steps)[~np.isin(at, line.faces)]
    assert np.all(steps <= most + 1e-9)


@FEW
@given(line=grounds(faces=False), slope=st.sampled_from([0.0, 0.01, 0.05, 0.2]))
def test_slopes_keep_their_limit(line: GroundLine, slope: float) -> None:
    limits = TopLimits(most_slope=slope)
    assert choose_sloped(build(line, limits=limits)).steepest <= slope + 1e-12
    posts = posts_of(line)
    assert choose_racked(build(line, posts=posts, limits=limits)).steepest <= slope + 1e-6


@given(line=grounds(), slope=st.sampled_from([None, 0.0, 0.03]))
def test_sloped_top_never_costs_more_than_a_level_one(line: GroundLine, slope: float | None) -> None:
    wish = build(line, limits=TopLimits(most_slope=slope))
    assert choose_sloped(wish).counted <= choose_level(wish).counted + 1e-6


def following(wish: TopWish) -> TopLine:
    """A top that follows the ground itself, lifted where ground between the pickets pierces it."""
    x = _corners(wish.line, wish.slots, wish.start, wish.end)
    z = _following(ground_alone(wish.line), x, wish.least_height)
    return TopLine(style=TopStyle.CONTOUR, stations=x, elevations=z)


@FEW
@given(line=grounds())
def test_contour_top_never_costs_more_than_following_the_ground(line: GroundLine) -> None:
    wish = build(line)
    follows = following(wish)
    choice = choose_contour(wish)
    assert choice.counted <= wish.cost.total(follows.at(wish.slots.centre)) + 1e-9
    assert choice.counted <= choose_level(wish).counted + 1e-9
    assert choice.top.largest_bend <= follows.largest_bend + 1e-6


@FEW
@given(line=grounds(), equal=st.booleans())
def test_finer_marks_for_heights_never_cost_more(line: GroundLine, equal: bool) -> None:
    """The pickets' costs held fixed: every height on the coarse tape is on the fine one."""
    coarse = stepped_wish(line, mark=1.0, limits=TopLimits(equal_steps=equal))
    fine = replace(coarse, mark=0.25)
    assert choose_stepped(fine).counted <= choose_stepped(coarse).counted + 0.01


@FEW
@given(line=grounds())
def test_another_stock_length_never_costs_more(line: GroundLine) -> None:
    few, more = ((72, 3.6), (96, 6.1)), ((72, 3.6), (80, 4.4), (96, 6.1), (120, 8.0))
    for choose in (choose_level, choose_sloped, choose_stepped):
        one, two = (choose(wish_for(choose, line, stock=stock)) for stock in (few, more))
        if not one.unserved.any():
            assert two.counted <= one.counted + 0.01


@pytest.mark.parametrize("choose", EVERY)
def test_level_ground_gives_every_top_the_same_cuts(choose: Choose) -> None:
    line = ground_line(np.arange(9) * 48.0, np.full(9, 5.0))
    posts = np.arange(5) * 96.0
    slots = stepped_slots(posts, 5.5, 0.25)
    wish = build(line, slots=slots, posts=posts)
    n = len(slots)
    tops = [f(wish).top for f in (choose, choose_level)]
    cuts = [cut_pickets(line, slots, t, np.full(n, 2.0), BottomCut.SQUARE, wish.mark) for t in tops]
    assert cuts[0].kept.tolist() == cuts[1].kept.tolist()
    assert cuts[0].top == pytest.approx(77.0, abs=1e-6)


def mirrored(wish: TopWish) -> TopWish:
    """The same wish walked from the other end."""
    line, end = wish.line, wish.line.end
    back = ground_line(end - line.stations[::-1], line.elevations[::-1])
    slots = Slots(left=end - wish.slots.right[::-1], right=end - wish.slots.left[::-1])
    return build(back, slots=slots, posts=end - wish.posts[::-1], limits=wish.limits)


SEVERAL_LEAST = ground_line([0, 69, 123, 160, 214, 258], [0, 9.25, 15.25, 8.25, 6.75, 16])
"""Ground over which several racked lines take the least timber."""
ONE_HUMP = ground_line([0, 50, 122, 183, 243, 296], [0, 0, 0, 8.5, -0.75, -1])
"""Ground over which several racked lines cost and take alike on the way to the cheapest."""

LEVEL_CHEAPER = ground_line([0, 47, 96, 168], [0, 4.5, -1.75, 4.25])
"""Ground over which heights near one level cost less than those near the least timber."""
LEVEL_ALIKE = ground_line([0, 43, 86, 153], [0, 1.25, -5, 0.5])
"""Ground over which heights near one level cost as much as those near the least timber, and take more."""


@pytest.mark.parametrize("choose", EVERY)
@FEW
@given(line=grounds())
@example(line=SEVERAL_LEAST)
@example(line=ONE_HUMP)
@example(line=LEVEL_CHEAPER)
@example(line=LEVEL_ALIKE)
def test_walking_from_the_other_end_mirrors_the_top(choose: Choose, line: GroundLine) -> None:
    wish = wish_for(choose, line)
    there, back = choose(wish), choose(mirrored(wish))
    assert back.counted == pytest.approx(there.counted)
    if choose is choose_contour:  # made smooth; the others are made cheap and low, however they bend
        assert back.top.largest_bend == pytest.approx(there.top.largest_bend, abs=1e-3)
        return
    assert back.timber == pytest.approx(there.timber, abs=1e-2 + wish.mark * len(wish.slots) / 100)
    if choose is not choose_racked:  # its two heights at a face move apart at the same cost and timber
        assert back.largest_step == pytest.approx(there.largest_step, abs=1e-2)


@pytest.mark.parametrize("choose", EVERY)
@FEW
@given(line=grounds(), shift=st.sampled_from([-1000.0, 0.3, 57.0]))
def test_moving_the_datum_moves_the_top_alone(choose: Choose, line: GroundLine, shift: float) -> None:
    moved = ground_line(line.stations, line.elevations + shift)
    here, there = (choose(wish_for(choose, ground)) for ground in (line, moved))
    assert there.counted == pytest.approx(here.counted)
    if choose in (choose_level, choose_stepped):
        assert there.top.elevations - shift == pytest.approx(here.top.elevations, abs=1e-6)


@FEW
@given(line=grounds())
def test_cost_never_falls_as_the_string_rises(line: GroundLine) -> None:
    wish = build(line)
    heights = string_heights(line, wish.slots, choose_level(wish).top, wish.cost)
    assert np.all(np.diff(heights.offset) > 0)
    assert np.all(heights.boards.sum(axis=1) + heights.unserved == len(wish.slots))
    if not heights.unserved.any():
        assert np.all(np.diff(heights.cost) > 0)
