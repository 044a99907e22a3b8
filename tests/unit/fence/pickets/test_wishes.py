"""Which picket lies in which stretch."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.fence.pickets.wishes import Zones, aimed, picket_zones
from fencegrade.fence.slots import Slots
from fencegrade.ground.profile import ground_line
from fencegrade.job.records import Pickets, Run

ROW = Slots(left=np.arange(0, 60, 6.0), right=np.arange(0, 60, 6.0) + 5)


Stretches = list[dict[str, str]]


def zones(
    *,
    clearance: Stretches | None = None,
    keep_open: Stretches | None = None,
    least_clearance: str | None = None,
) -> Zones:
    run = written(Run, name="lane", survey="a.csv", clearance=clearance or [], keep_open=keep_open or [])
    return picket_zones(ROW, run, wanted(least_clearance=least_clearance))


def wanted(**keys: Any) -> Pickets:
    return written(
        Pickets,
        width="5 in",
        spacing="1 in",
        pattern="side by side",
        fit="even gaps",
        top_end="flat",
        clearance="2 in",
        most_gap="3 in",
        stock=[{"length": "6 ft"}],
        **{"bottom_cut": "square", **keys},
    )


def test_without_stretches_the_job_holds_everywhere() -> None:
    plain = zones()
    assert plain.clearance.tolist() == [2.0] * 10
    assert plain.most_gap.tolist() == [3.0] * 10
    assert not plain.open.any()


def test_a_picket_astride_a_border_keeps_the_larger_clearance() -> None:
    # pickets 0-5, 6-11, 12-17: the stretch from 3 to 15 holds the second whole, the others in part
    less = zones(clearance=[{"start": "3 in", "end": "15 in", "height": "1 in"}])
    assert less.clearance.tolist() == [2, 1, 2, 2, 2, 2, 2, 2, 2, 2]
    more = zones(clearance=[{"start": "3 in", "end": "15 in", "height": "4 in"}])
    assert more.clearance.tolist() == [4, 4, 4, 2, 2, 2, 2, 2, 2, 2]


def test_the_least_clearance_is_the_same_share_of_what_is_wanted_everywhere() -> None:
    stretch = [{"start": "6 in", "end": "12 in", "height": "1 in"}]
    assert zones(clearance=stretch).least.tolist() == [1, 0.5, *[1] * 8], "half where the job names none"
    named = zones(clearance=stretch, least_clearance="1-1/2 in").least
    assert named == pytest.approx(np.array([1.5, 0.75, *[1.5] * 8]))


def test_a_picket_astride_two_stretches_keeps_the_larger_of_theirs() -> None:
    there = zones(
        clearance=[
            {"start": "0 in", "end": "9 in", "height": "1 in"},
            {"start": "9 in", "end": "60 in", "height": "1/2 in"},
        ]
    )
    assert there.clearance.tolist() == [1, 1, *[0.5] * 8]


def test_the_gap_keeps_its_margin_over_the_clearance() -> None:
    there = zones(clearance=[{"start": "0 in", "end": "60 in", "height": "1/2 in"}])
    assert there.most_gap == pytest.approx(1.5)


def test_a_stretch_kept_open_takes_every_picket_over_it() -> None:
    # from 5 to 12.5: touches the first picket's edge at 5, covers the second, cuts the third from 12
    there = zones(keep_open=[{"start": "5 in", "end": "12.5 in", "height": "4 in"}])
    assert there.open.tolist() == [False, True, True, *[False] * 7]
    assert there.clearance.tolist() == [2, 4, 4, *[2] * 7]


def test_what_is_open_for_water_falls_short_by_no_more_than_elsewhere() -> None:
    water = [{"start": "6 in", "end": "11 in", "height": "6 in"}]
    assert zones(keep_open=water).least.tolist() == [1, 5, *[1] * 8], "an inch, as the job's 2 in may"
    assert zones(keep_open=water, least_clearance="1-1/2 in").least.tolist() == [1.5, 5.5, *[1.5] * 8]
    low = [{"start": "6 in", "end": "11 in", "height": "1 in"}]
    assert zones(keep_open=low).least.tolist() == [1.0] * 10
    paved = [{"start": "6 in", "end": "11 in", "height": "12 in"}]
    assert zones(keep_open=water, clearance=paved).least.tolist() == [1, 6, *[1] * 8]


def test_a_stretch_kept_open_never_lowers_the_clearance() -> None:
    there = zones(keep_open=[{"start": "0 in", "end": "60 in", "height": "1 in"}])
    assert there.clearance.tolist() == [2.0] * 10
    assert there.open.all()


def test_the_larger_wish_holds_where_stretches_meet() -> None:
    there = zones(
        clearance=[{"start": "0 in", "end": "60 in", "height": "5 in"}],
        keep_open=[{"start": "0 in", "end": "60 in", "height": "4 in"}],
    )
    assert there.clearance.tolist() == [5.0] * 10


@pytest.mark.parametrize(
    ("rise", "clearance"),
    [(0.0, 2.0), (0.1, 1.75), (0.2, 1.5), (-0.2, 1.5), (0.4, 1.0), (1.0, 1.0)],
    ids=lambda v: f"{v:g}",
)
def test_aimed_at_the_middle_as_much_is_left_above_as_below(rise: float, clearance: float) -> None:
    """Boards 5 in wide, 1 to 3 in all right: half the fall is taken off the 2 in, down to the least."""
    line = ground_line(np.array([0.0, 60.0]), np.array([0.0, 60.0 * rise]))
    plain = zones()
    middle = aimed(plain, wanted(aim="middle"), ROW, line)
    assert middle.clearance == pytest.approx(np.full(10, clearance))
    assert (middle.least, middle.most_gap) == (plain.least, plain.most_gap)
    assert aimed(plain, wanted(), ROW, line) is plain
    assert aimed(plain, wanted(aim="middle", bottom_cut="scribed"), ROW, line) is plain


def test_water_keeps_its_open_height_wherever_the_job_aims() -> None:
    line = ground_line(np.array([0.0, 60.0]), np.array([0.0, 12.0]))
    water = zones(keep_open=[{"start": "12 in", "end": "20 in", "height": "4 in"}])
    middle = aimed(water, wanted(aim="middle"), ROW, line)
    assert middle.clearance[water.open] == pytest.approx(water.clearance[water.open])
