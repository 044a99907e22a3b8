"""Stepped tops: slots and limits."""

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from straight_ground import straight_ground
from top_wishes import build, stepped_slots

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.asked import Proof, TopChoice, TopLimits, TopWish
from fencegrade.fence.tops.stepped import _within_steps
from fencegrade.fence.tops.stepped import choose as choose_stepped
from fencegrade.ground.profile import GroundLine

POSTS = np.arange(7) * 96.0


@pytest.fixture
def wish(swale: GroundLine) -> TopWish:
    return build(swale, slots=stepped_slots(POSTS, 5.5, 0.25), posts=POSTS)


def with_limits(wish: TopWish, **limits: Any) -> TopChoice:
    return choose_stepped(replace(wish, limits=TopLimits(**limits)))


def test_no_charge_leaves_every_bay_at_its_lowest(wish: TopWish) -> None:
    choice = choose_stepped(wish)
    assert choice.top.elevations[::2] == pytest.approx([48, 46, 38, 37, 46, 48])
    assert choice.least_height == pytest.approx(72)
    assert choice.proof is Proof.COST_ON_TAPE


def test_step_limit_is_kept_and_said(wish: TopWish) -> None:
    choice = with_limits(wish, most_step=4.0)
    assert choice.largest_step <= 4.0
    assert choice.least_height == pytest.approx(72)
    assert choice.top.elevations[::2] == pytest.approx([48, 46, 42, 42, 46, 48])
    (said,) = choice.problems
    assert said.found.startswith("2 bays stand higher than the ground asks")
    assert "no step is over 4 in; bay 4 by 5 in" in said.found


def test_equal_steps_are_of_one_size(wish: TopWish) -> None:
    steps = np.abs(with_limits(wish, equal_steps=True).top.steps)
    sizes = np.unique(np.round(steps[steps > 0], 6))
    assert len(sizes) <= 1


@pytest.mark.parametrize("equal", [False, True])
def test_a_single_bay_has_no_step(equal: bool) -> None:
    line = straight_ground([0, 40, 96], [-12, -9, -20])
    choice = choose_stepped(build(line, posts=(0, 96), limits=TopLimits(equal_steps=equal)))
    assert choice.top.elevations == pytest.approx([63, 63])
    assert choice.top.stations.tolist() == [0, 96]


def test_face_is_free_of_the_limit() -> None:
    line = straight_ground([0, 192, 192, 384], [-12, -12, -48, -48])
    wish = build(line, posts=(0, 96, 193, 288, 384), limits=TopLimits(most_step=2.0))
    choice = choose_stepped(wish)
    assert choice.top.steps == pytest.approx([0, -36, 0])
    assert 192.0 in choice.top.stations
    equal = choose_stepped(replace(wish, limits=TopLimits(equal_steps=True, most_step=2.0)))
    assert equal.top.steps == pytest.approx([0, -36, 0])


def test_the_step_at_a_face_is_told_where_it_is() -> None:
    line = straight_ground([0, 192, 192, 384, 384, 480], [-12, -12, -48, -48, -24, -24])
    told = choose_stepped(build(line, posts=np.arange(6) * 96.0)).problems
    assert [(p.place, p.found) for p in told] == [
        ("paddock lane, at 16' 0\"", "the top steps 36 in at a face of the ground"),
        ("paddock lane, at 32' 0\"", "the top steps 24 in at a face of the ground"),
    ]


def test_equal_steps_hold_bays_up_and_say_so(wish: TopWish) -> None:
    (said,) = with_limits(wish, equal_steps=True).problems
    assert "higher than the ground asks, so that all steps are of one size" in said.found


def test_a_bay_without_pickets_is_no_trouble() -> None:
    line = straight_ground([0, 90, 102, 186, 198, 288], [0, 0, -40, -40, 0, 0])
    slots = Slots(left=np.array([40.0, 240.0]), right=np.array([45.5, 245.5]))
    wish = build(line, slots=slots, posts=np.arange(4) * 96.0)
    for limits in (TopLimits(), TopLimits(equal_steps=True)):
        choice = choose_stepped(replace(wish, limits=limits))
        assert choice.top.at(slots.centre) == pytest.approx([72, 72])
        assert choice.least_height >= 72 - 1e-9


def test_equal_steps_are_proven_only_where_every_size_was_tried(
    wish: TopWish, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert with_limits(wish, equal_steps=True).proof is Proof.COST_ON_TAPE
    monkeypatch.setattr("fencegrade.fence.tops.stepped._TRIED", 1)
    assert with_limits(wish, equal_steps=True).proof is Proof.NONE


@pytest.mark.parametrize(
    ("least", "limit", "free", "heights"),
    [
        ([0, -9, -20, -3], None, [], [0, -9, -20, -3]),
        ([0, -9, -20, -3], 4, [], [0, -4, -7, -3]),
        ([0, -9, -20, -3], 0, [], [0, 0, 0, 0]),
        ([-20, -9, 0, -3], 4, [], [-8, -4, 0, -3]),
        # a face after the second bay, and after the first
        ([0, -9, -20, -3], 4, [1], [0, -4, -7, -3]),
        ([0, -9, -30, -13], 4, [1], [0, -4, -17, -13]),
        ([0, -9, -20, -3], 4, [0], [0, -9, -7, -3]),
        ([-30, -9, 0, -3], 4, [0], [-30, -4, 0, -3]),
    ],
)
def test_bays_as_low_as_their_steps_let_them(
    least: list[int], limit: int | None, free: list[int], heights: list[int]
) -> None:
    at_faces = np.array([b in free for b in range(3)])
    assert _within_steps(np.array(least), limit, at_faces).tolist() == heights


def test_one_bay_held_up_is_told_as_one() -> None:
    line = straight_ground([0, 90, 102, 186, 198, 288], [0, 0, -10, -10, 0, 0])
    posts = np.arange(4) * 96.0
    wish = build(line, slots=stepped_slots(posts, 5.5, 0.25), posts=posts)
    (said,) = with_limits(wish, most_step=4.0, equal_steps=True).problems
    assert said.found.startswith(
        "a bay stands higher than the ground asks, so that all steps are of one size and no step is over 4 "
        "in; bay 2 by "
    )
    assert said.remedy == "allow a larger step, or set posts closer there"
