"""Spreading a lean over the next pickets."""

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from fencegrade.building.lean import (
    Lean,
    LeanQuestion,
    LeanTold,
    Toward,
    fewest_boards,
    fewest_clear,
    lean_problems,
    read_lean_question,
    spread_over_next,
    spread_over_slots,
    suggested_boards,
)
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.job.choices import Fit
from fencegrade.problems import JobMistakesError, Severity
from fencegrade.units import UnitSystem

START = Lean(amount=0.375, over=48.0, toward=Toward.START)


def question(**changes: Any) -> LeanQuestion:
    given: dict[str, Any] = {
        "lean": START,
        "width": 5.5,
        "spacing": 0.25,
        "height": 48.0,
        "limit": 0.125,
        "boards": None,
        "system": UnitSystem.IMPERIAL,
    }
    return LeanQuestion(**(given | changes))


def test_three_eighths_over_six_boards_is_a_sixteenth_each() -> None:
    """Common practice, no source: 3/8 in over 6 boards."""
    spread = spread_over_next(question(boards=6))
    assert spread.taper == 0.0625
    assert spread.gap_top - spread.gap_bottom == pytest.approx([0.0625] * 6)
    assert spread.leans == pytest.approx([0.3125, 0.25, 0.1875, 0.125, 0.0625, 0.0])
    assert spread.hidden
    assert spread.moved == 0


def test_lean_is_scaled_to_the_whole_board() -> None:
    spread = spread_over_next(question(height=72.0))
    assert spread.question.whole == 0.5625
    assert spread.least == 5
    assert spread.boards == 5
    assert spread.taper == pytest.approx(0.1125)


def test_the_gap_opens_at_the_end_the_board_leans_away_from() -> None:
    back = spread_over_next(question(boards=3))
    ahead = spread_over_next(question(boards=3, lean=Lean(amount=0.375, over=48.0, toward=Toward.END)))
    assert np.all(back.gap_top > back.gap_bottom)
    assert np.all(ahead.gap_top < ahead.gap_bottom)


def test_edges_worked_by_hand() -> None:
    """Leading edge of the leaning board: 0 at the bottom, -3/8 at the top; gaps 5/16 and 3/16."""
    spread = spread_over_next(question(boards=3))
    assert spread.bottom.left[0] == pytest.approx(0.1875)
    assert spread.top.left[0] == pytest.approx(-0.375 + 0.3125)
    assert spread.bottom.right[0] == pytest.approx(5.6875)
    assert spread.top.left[2] == spread.bottom.left[2]


def test_too_few_boards_leave_some_of_the_lean() -> None:
    spread = spread_over_next(question(boards=2))
    assert not spread.hidden
    assert spread.taper == 0.125
    assert spread.left_over == pytest.approx(0.125)
    assert spread.leans[-1] == pytest.approx(0.125)
    assert spread.least == 3


def test_boards_that_touch_open_at_one_end_and_move_along() -> None:
    spread = spread_over_next(question(boards=3, spacing=0.0))
    assert spread.gap_bottom == pytest.approx([0.0] * 3)
    assert spread.gap_top == pytest.approx([0.125] * 3)
    assert spread.moved == pytest.approx(3 * 0.125 / 2)
    assert spread.clear == 0


def test_a_narrow_gap_closes_and_the_rest_moves_along() -> None:
    spread = spread_over_next(question(boards=3, spacing=1 / 32))
    assert spread.gap_bottom == pytest.approx([0.0] * 3)
    assert spread.moved == pytest.approx(3 * (1 / 16 - 1 / 32))
    assert spread.clear == 6
    assert spread_over_next(question(spacing=1 / 32)).moved == 0


@pytest.mark.parametrize(
    ("whole", "limit", "spacing", "least", "clear"),
    [
        (0.375, 0.125, 0.25, 3, 3),
        (0.376, 0.125, 0.25, 4, 4),
        (0.375, 0.125, 0.03125, 3, 6),
        (0.375, 0.125, 0.0, 3, 0),
        (0.01, 0.125, 0.25, 1, 1),
    ],
)
def test_fewest_boards(whole: float, limit: float, spacing: float, least: int, clear: int) -> None:
    assert fewest_boards(whole, limit) == least
    assert fewest_clear(whole, limit, spacing) == clear
    assert suggested_boards(whole, limit, spacing) == (clear or least)


def test_planned_slots_keep_their_middles() -> None:
    slots = fill_stretch(0.0, 96.0, 5.5, 0.25, Fit.EVEN_GAPS)
    spread = spread_over_slots(slots, 4, question(height=72.0))
    middles = (spread.top.left + spread.top.right + spread.bottom.left + spread.bottom.right) / 4
    assert middles == pytest.approx(slots.centre[5 : 5 + spread.boards])
    assert spread.top.right - spread.top.left == pytest.approx([5.5] * spread.boards)


def test_fewer_boards_left_than_needed() -> None:
    slots = fill_stretch(0.0, 96.0, 5.5, 0.25, Fit.EVEN_GAPS)
    last = len(slots) - 3
    spread = spread_over_slots(slots, last, question(height=72.0))
    assert spread.boards == 2
    assert spread.left_over == pytest.approx(0.5625 - 0.25)


def test_no_board_left_at_all() -> None:
    slots = fill_stretch(0.0, 96.0, 5.5, 0.25, Fit.EVEN_GAPS)
    spread = spread_over_slots(slots, len(slots) - 1, question(height=72.0))
    assert spread.boards == 0
    assert spread.left_over == spread.question.whole
    assert not spread.hidden


def test_unequal_gaps_move_boards_only_by_what_they_lack() -> None:
    slots = Slots(left=np.array([0.0, 6.0, 11.5, 18.0]), right=np.array([5.5, 11.5, 17.0, 23.5]))
    spread = spread_over_slots(slots, 0, question(height=48.0, boards=3))
    assert spread.moved == pytest.approx(0.0625)
    assert spread.gap_bottom == pytest.approx([0.4375, 0.0, 0.9375])


def test_last_beyond_the_slots_is_refused() -> None:
    slots = fill_stretch(0.0, 24.0, 5.5, 0.25, Fit.EVEN_GAPS)
    with pytest.raises(ValueError, match="leaning picket"):
        spread_over_slots(slots, len(slots), question(height=48.0))


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        (
            {"lean": Lean(amount=6.0, over=48.0, toward=Toward.END)},
            "lean",
            "more than a board's width of 5-1/2 in",
        ),
        ({"lean": Lean(amount=0.0, over=48.0, toward=Toward.END)}, "lean", "not more than zero"),
        ({"lean": Lean(amount=0.1, over=0.5, toward=Toward.END)}, "over", "too short"),
        ({"boards": 0}, "boards", "0 boards"),
        ({"boards": 1001}, "boards", "1001 boards"),
        ({"limit": 0.0001}, "limit", "more than 1000 boards"),
        ({"limit": 0.0}, "limit", "not more than zero"),
        ({"spacing": -0.25}, "spacing", "below zero"),
        ({"height": -72.0}, "height", "not more than zero"),
    ],
)
def test_mistakes(changes: dict[str, object], place: str, words: str) -> None:
    found = [p for p in lean_problems(question(**changes)) if p.severity is Severity.MISTAKE]
    assert [p.place for p in found] == [place]
    assert words in found[0].message
    assert found[0].remedy


def test_a_lean_measured_low_down_is_doubted() -> None:
    short = question(lean=Lean(amount=0.1, over=24.0, toward=Toward.END), height=72.0)
    (doubt,) = lean_problems(short)
    assert doubt.severity is Severity.WARNING
    assert "3.0 times" in doubt.message
    assert not list(lean_problems(question()))


def test_a_lean_measured_over_more_than_the_board_is_noted() -> None:
    (found,) = lean_problems(question(height=36.0))
    assert found.severity is Severity.NOTE


def told(**changes: str | None) -> LeanTold:
    given = {"lean": "9 mm", "over": "1.2 m"} | dict.fromkeys(("height", "limit", "spacing", "width"))
    return LeanTold(sizes=given | changes, toward=Toward.START, boards=None)


def test_what_is_not_given_is_assumed_and_said() -> None:
    read = read_lean_question(told(), UnitSystem.METRIC)
    assert read.height == read.lean.over
    assert read.limit * 25.4 == pytest.approx(3.0)
    assert read.lean.toward is Toward.START
    assert [option for option, _ in read.assumed] == [
        "height",
        "limit",
        "spacing",
        "width",
    ]
    unsaid = read_lean_question(replace(told(), toward=None), UnitSystem.METRIC)
    assert (unsaid.lean.toward, unsaid.assumed[0][0]) == (Toward.START, "toward")
    (doubt,) = lean_problems(unsaid)
    assert doubt.severity is Severity.WARNING
    assert "by the wrong one the lean is doubled" in str(doubt)


def test_every_option_that_cannot_be_read_is_listed() -> None:
    with pytest.raises(JobMistakesError) as caught:
        read_lean_question(told(lean="9", over="tall", width="wide"), UnitSystem.METRIC)
    assert [p.place for p in caught.value.problems] == ["lean", "over", "width"]


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        # a lean as wide as the board may be; a hair more is a slip
        ({"lean": Lean(amount=5.5, over=48.0, toward=Toward.END)}, None),
        (
            {"lean": Lean(amount=5.5625, over=48.0, toward=Toward.END)},
            "mistake, lean: the lean is 5-9/16 in over a board of 4' 0\", more than a board's width of 5-1/2 "
            "in; check the number; if it is right, take the boards down and set them plumb",
        ),
        ({"limit": 0.000375}, None),
        (
            {"limit": 0.00037},
            "mistake, limit: with 0.00037 in a board it would take more than 1000 boards; allow more a board",
        ),
        ({"height": 96.0}, None),
        (
            {"height": 96.5},
            "warning, over: the lean was measured over 4' 0\" of a board of 8' 0-1/2\", so an error of "
            "reading grows 2.0 times; measure it again with a longer level or a plumb line",
        ),
        ({"height": 47.0}, "note, over: the lean was measured over 4' 0\", more than the board's 3' 11\""),
        ({"lean": Lean(amount=0.1, over=1.0, toward=Toward.END), "height": 2.0}, None),
        (
            {"lean": Lean(amount=0.01, over=0.875, toward=Toward.END)},
            "mistake, over: 7/8 in is too short to judge a lean by; measure over the length of a level or "
            "more",
        ),
        ({"boards": 1}, None),
        ({"boards": 1000}, None),
        ({"boards": 1001}, "mistake, boards: 1001 boards cannot be; write 1 to 1000"),
        ({"spacing": 0.0}, None),
        ({"spacing": -0.25}, "mistake, spacing: -1/4 in is below zero; write 0 in where boards touch"),
        ({"width": 0.0}, "mistake, width: 0 in is not more than zero; check number and sign"),
    ],
)
def test_sizes_at_their_limits(changes: dict[str, Any], told: str | None) -> None:
    found = [f"{p.severity}, {p}" for p in lean_problems(question(**changes))]
    assert found == ([told] if told else [])


@pytest.mark.parametrize(
    ("whole", "limit", "spacing", "boards"),
    [
        (124.0, 0.125, 0.0625, 992),
        (125.0, 0.125, 0.0625, 1000),
        (125.1, 0.125, 0.0625, 1001),
        (100.0, 0.25, 0.04, 400),
    ],
)
def test_no_more_than_a_thousand_boards_are_asked_to_stay_in_place(
    whole: float, limit: float, spacing: float, boards: int
) -> None:
    assert suggested_boards(whole, limit, spacing) == boards


@pytest.mark.parametrize(
    "changes",
    [
        {"lean": Lean(amount=0.0, over=48.0, toward=Toward.END)},
        {"lean": Lean(amount=0.1, over=0.0, toward=Toward.END)},
        {"height": 0.0},
    ],
)
def test_what_is_no_lean_is_refused(changes: dict[str, Any]) -> None:
    slots = fill_stretch(0.0, 24.0, 5.5, 0.25, Fit.EVEN_GAPS)
    with pytest.raises(ValueError, match="must be real ones"):
        spread_over_slots(slots, 0, question(**changes))
    with pytest.raises(ValueError, match="must be real ones"):
        spread_over_slots(slots, -1, question())
    with pytest.raises(ValueError, match="over zero"):
        fewest_boards(1.0, 0.0)


def test_the_bottom_goes_the_other_way_about_the_same_middle() -> None:
    """Three boards of 5-1/2 in from 6 on, leaning 1/4, 1/8 and nothing toward the end."""
    slots = Slots(left=np.array([0.0, 6.0, 12.0, 18.0]), right=np.array([5.5, 11.5, 17.5, 23.5]))
    spread = spread_over_slots(slots, 0, question(lean=replace(START, toward=Toward.END)))
    assert spread.leans.tolist() == [0.25, 0.125, 0]
    assert spread.top.left.tolist() == [6.125, 12.0625, 18]
    assert spread.top.right.tolist() == [11.625, 17.5625, 23.5]
    assert spread.bottom.left.tolist() == [5.875, 11.9375, 18]
    assert spread.bottom.right.tolist() == [11.375, 17.4375, 23.5]
    assert spread.gap_top.tolist() == [0.4375] * 3
    assert spread.gap_bottom.tolist() == [0.5625] * 3
