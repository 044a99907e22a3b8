"""The row as it stands: edges taken one by one, each doubt and each mistake whole, all by hand."""

from typing import Any

import numpy as np
import pytest

from fencegrade.fence.slots import Slots
from fencegrade.job.as_built import PicketUp
from fencegrade.job.choices import Fit, Pattern
from fencegrade.planning.row import Laying, Row, Stretch, _gap_before, _reaching, row_as_it_stands
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Indices
from fencegrade.units.words import Words

SAY = Words.of_readings(UnitSystem.IMPERIAL)
PITCH = 5.75


def laid(start: float, count: int, width: float = 5.5) -> Slots:
    """Boards 1/4 in apart."""
    left = np.array([start + k * (width + 0.25) for k in range(count)])
    return Slots(left=left, right=left + width)


def stretch(start: float = 0.0, count: int = 20, **keys: Any) -> Stretch:
    slots = laid(start, count)
    return Stretch(
        start=start, end=float(slots.right[-1]), slots=slots, row=np.zeros(count, dtype=np.int8), **keys
    )


def lay(start: float, end: float, width: float) -> tuple[Slots, Indices]:
    """As many boards of a width as there is room for."""
    slots = laid(start, int((end - start + 0.25 + 1e-9) / (width + 0.25)), width)
    return slots, np.zeros(len(slots), dtype=np.int64)


def laying(**keys: Any) -> Laying:
    usual: dict[str, Any] = {
        "limit": 0.125,
        "fit": Fit.EVEN_GAPS,
        "stepped": False,
        "width": 5.5,
        "spacing": 0.25,
        "pattern": Pattern.SIDE_BY_SIDE,
    }
    return Laying(**{**usual, **keys})


def stood(*edges: tuple[int, float], parts: tuple[Stretch, ...] = (), how: Any = None, **keys: Any) -> Row:
    """The row with the far edges of some pickets measured; `keys` of the last of them."""
    pickets = [PicketUp(number=n, far_edge=at, place="built.toml") for n, at in edges[:-1]]
    pickets.append(PicketUp(number=edges[-1][0], far_edge=edges[-1][1], place="built.toml", **keys))
    return row_as_it_stands(parts or (stretch(),), pickets, how or laying(), lay, SAY)


def planned(number: int) -> float:
    return number * PITCH - 0.25


@pytest.mark.parametrize(
    ("edges", "told"),
    [
        ([(21, 100.0)], "number: the plan has no picket 21, only 20; check the number"),
        (
            [(20, planned(20) + 1 / 8)],
            "far_edge: 9' 6-7/8\" lies beyond 9' 6-3/4\", where the run ends; check the station, that of the "
            "last board's far edge, and the post as set",
        ),
        ([(20, planned(20) + 1 / 32)], None),
        (
            [(4, planned(4)), (5, planned(4))],
            "far_edge: 1' 10-3/4\" is not past 1' 10-3/4\", where the edge before it lies; check number and "
            "station",
        ),
        # ten boards reach eight of their widths at least
        (
            [(10, 43.9375)],
            "far_edge: 3' 7-15/16\" lies before picket 10 can end: the boards from 0\" on reach at least 3' "
            '8"; check '
            "the station, that of its far edge, and the count",
        ),
    ],
)
def test_edges_that_cannot_be(edges: list[tuple[int, float]], told: str | None) -> None:
    found = [str(p) for p in stood(*edges).problems]
    assert found == ([f"built.toml, {told}"] if told else [])


COUNT = "count again; if both are right, write the width of a board as well"


@pytest.mark.parametrize(
    ("number", "off", "told"),
    [
        (8, 0.9375, None),  # under an eighth a board
        (8, 1.0, "8 boards end at 3' 9-3/4\"; 3' 10-3/4\" is 1 in more, 1/8 in a board"),
        (8, -1.0, "8 boards end at 3' 9-3/4\"; 3' 8-3/4\" is 1 in less, 1/8 in a board"),
        (8, 5.75, "8 boards end at 3' 9-3/4\"; 4' 3-1/2\" is one board more"),
        (8, 11.8125, "8 boards end at 3' 9-3/4\"; 4' 9-9/16\" is 2 boards more, or a slipped foot"),
        (8, 11.75, "8 boards end at 3' 9-3/4\"; 4' 9-1/2\" is 2 boards more"),
        (16, -11.8125, "16 boards end at 7' 7-3/4\"; 6' 7-15/16\" is 2 boards less, or a slipped foot"),
        (16, -11.5, "16 boards end at 7' 7-3/4\"; 6' 8-1/4\" is 2 boards less"),
        (1, 2.0, '1 board ends at 5-1/2"; 7-1/2" is 2 in more, 2 in a board'),
        # half a board off over many boards, though not an eighth each
        (19, 2.3125, None),
    ],
)
def test_a_drift_is_doubted(number: int, off: float, told: str | None) -> None:
    row = stood((number, planned(number) + off))
    assert [str(p) for p in row.problems] == ([f"built.toml, far_edge: {told}; {COUNT}"] if told else [])
    assert row.width == (5.5 if told or number < 10 else pytest.approx(5.5 + off / number))


@pytest.mark.parametrize(("number", "width"), [(9, 5.5), (10, 5.6)])
def test_ten_boards_tell_their_width(number: int, width: float) -> None:
    assert stood((number, planned(number) + 0.1 * number)).width == pytest.approx(width)


def test_boards_and_their_drift_add_up_over_edges() -> None:
    """Six boards an inch over, then six more at the pitch they had: of twelve an inch, a twelfth each."""
    row = stood((6, planned(6) + 0.5), (12, planned(12) + 0.5))
    assert row.width == pytest.approx(5.5 + (0.5 + row_drift(6)) / 12)


def row_drift(number: int) -> float:
    """How far the second edge lies from the row as the first one left it."""
    first = stood((number, planned(number) + 0.5))
    return planned(2 * number) + 0.5 - float(first.stretches[0].slots.right[2 * number - 1])


@pytest.mark.parametrize(
    ("width", "taken"), [(5.625, 5.625), (6.05, 6.05), (6.06, 5.5), (4.95, 4.95), (4.94, 5.5)]
)
def test_a_width_a_tenth_off_is_a_rip(width: float, taken: float) -> None:
    assert stood((3, planned(3)), width=width).width == pytest.approx(taken)


def test_the_width_of_a_ripped_board_explains_its_own_edge() -> None:
    """Ripped to 4 in where the plan has 3-1/2: half an inch farther, and nothing is left to count again."""
    slots = Slots(left=np.array([0.0]), right=np.array([3.5]))
    parts = (Stretch(start=0.0, end=4.5, slots=slots, row=np.zeros(1, dtype=np.int8)), stretch(60.0))
    assert stood((1, 4.0), parts=parts).problems
    known = stood((1, 4.0), parts=parts, width=4.0)
    assert (known.problems, known.width) == ((), 5.5)
    assert stood((1, 4.0), parts=parts, width=3.5).problems
    # three whole boards before it are still as wide as the others
    assert not stood((4, planned(4) - 1.5), width=4.0).problems


def test_what_is_up_lies_evenly_and_the_rest_is_laid_again() -> None:
    """Four boards an inch farther on than planned: each edge by a share of it."""
    row = stood((4, planned(4) + 0.25))
    (part,) = row.stretches
    share = (planned(4) + 0.25) / planned(4)
    assert part.slots.right[:3] == pytest.approx(np.array([5.5, 11.25, 17.0]) * share)
    assert part.slots.left[:4] == pytest.approx(np.array([0, 5.75, 11.5, 17.25]) * share)
    assert part.slots.right[3] == planned(4) + 0.25
    assert part.slots.right[-1] == pytest.approx(part.end)
    again = row.again
    assert again is not None
    assert (again.after, again.at, again.planned, again.replaced) == (4, planned(4) + 0.25, planned(4), 16)
    assert (again.gap, again.width, again.end, again.limit) == pytest.approx((0.25, 5.5, part.end, 0.125))


@pytest.mark.parametrize(("off", "again"), [(0.0, False), (1 / 32, False), (1 / 16, True), (-1 / 32, False)])
def test_an_edge_within_the_mark_of_a_layout_agrees(off: float, again: bool) -> None:
    row = stood((5, planned(5) + off))
    assert (row.again is not None) == again
    assert (row.stretches[0].slots.right[4] == planned(5)) == (not again)


def test_gaps_said_to_be_wider_explain_a_drift() -> None:
    """Eight boards with seven gaps an eighth wider end 7/8 in farther on: no width is drawn from it."""
    row = stood((8, planned(8) + 7 / 8), gap=0.375)
    assert (row.problems, row.width) == ((), 5.5)
    later = stood((2, planned(2)), (10, planned(10) + 1.0), gap=0.375)
    assert (later.problems, later.width) == ((), 5.5)
    alone = stood((2, planned(2)), (3, planned(3) + 1 / 8), gap=0.375)
    assert (alone.problems, alone.width) == ((), 5.5)
    none = stood((8, planned(8)), gap=0.375)
    assert none.again is not None
    assert none.again.gap == 0.375


def test_another_width_lays_later_stretches_anew_and_a_moved_end_its_own() -> None:
    parts = (stretch(), stretch(200.0, 10), stretch(300.0, 4, moved=True))
    wide = stood((3, planned(3)), parts=parts, width=5.75)
    assert wide.stretches[1].slots.width == pytest.approx([5.75] * 9)
    assert wide.stretches[2].slots.width == pytest.approx([5.75] * 3)
    same = stood((3, planned(3)), parts=parts)
    assert same.stretches[1] is parts[1]
    assert not same.stretches[2].moved
    assert same.again is None
    moved = stood((2, planned(2)), parts=(stretch(moved=True),))
    assert moved.again is not None


def test_numbers_count_on_over_stretches_and_only_the_first_row_is_measured() -> None:
    parts = (stretch(0.0, 4), stretch(100.0, 4))
    assert stood((6, 100 + planned(2) + 0.125), parts=parts).stretches[1].slots.right[1] == pytest.approx(
        100 + planned(2) + 0.125
    )
    two = Stretch(
        start=0.0,
        end=23.0,
        slots=Slots(left=np.array([0.0, 3.0, 9.0]), right=np.array([5.5, 8.5, 14.5])),
        row=np.array([0, 1, 0], dtype=np.int8),
    )
    how = laying(pattern=Pattern.BOARD_ON_BOARD)
    (wrong,) = stood((2, 8.5), parts=(two,), how=how).problems
    assert str(wrong) == (
        "built.toml, number: picket 2 is of the front row, which follows the back row; measure one of the "
        "back row, 1 or 3"
    )


@pytest.mark.parametrize(
    ("edge", "last", "end"),
    [
        (115.0, True, 115.0),
        (115.75, True, 115.75),
        (115.8, True, 114.75),
        (115.0, False, 114.75),
        (114.0, True, 114.75),
    ],
)
def test_a_last_board_may_stand_a_little_past_its_end(edge: float, last: bool, end: float) -> None:
    assert _reaching(stretch(beyond=1.0), edge, last).end == end


def test_the_gap_before_a_board_or_behind_the_first() -> None:
    slots = Slots(left=np.array([0.0, 6.0, 13.0, 17.0]), right=np.array([5.5, 11.5, 18.0, 22.0]))
    row = Stretch(start=0.0, end=22.0, slots=slots, row=np.zeros(4, dtype=np.int8))
    assert [_gap_before(row, k, 9.0) for k in range(4)] == [0.5, 0.5, 1.5, 0.0]
    assert _gap_before(stretch(count=1), 0, 9.0) == 9.0
