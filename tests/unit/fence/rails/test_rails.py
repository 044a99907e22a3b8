from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
from rail_bays import bays_of
from small_job import mistakes_of

from fencegrade.fence.bays.bays import Bays, lay_bays
from fencegrade.fence.closed import NOTHING_CLOSED, Closed
from fencegrade.fence.rails import rails as rails_module
from fencegrade.fence.rails.pieces import long_pieces
from fencegrade.fence.rails.rails import (
    _Range,
    _where_lines_end,
    bay_tops,
    rail_rows,
    rows_for,
    rows_wanted,
    top_at_posts,
)
from fencegrade.fence.tops.level import level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import GroundLine, ground_line


def _racked(line: GroundLine, bays: Bays, height: float) -> TopLine:
    return TopLine(style=TopStyle.RACKED, stations=bays.posts, elevations=line.elevation(bays.posts) + height)


@pytest.mark.parametrize(
    ("height", "rows"), [(36, 2), (48, 2), (49, 3), (70, 3), (84, 3), (85, 4), (100, 4), (140, 5)]
)
def test_rows_by_height(make: SimpleNamespace, height: float, rows: int) -> None:
    """Two rows to 4 ft, three to 7 ft, four above, none over 3 ft apart: common practice, no source."""
    assert rows_for(height, make.rails()) == rows
    assert rows_for(height, make.rails(count=2)) == 2


@pytest.mark.parametrize(
    ("height", "rows"), [(44.5, 2), (44.625, 3), (80.5, 3), (80.625, 4), (116.5, 4), (116.625, 5)]
)
def test_rows_are_no_more_than_3_ft_apart(make: SimpleNamespace, height: float, rows: int) -> None:
    """Reveals of 2 and 3 in and a rail of 3-1/2 in leave 8-1/2 in less than the height between the rows."""
    rails = make.rails(top_reveal="2 in", bottom_reveal="3 in", height="3-1/2 in")
    assert rows_for(height, rails) == rows


def test_rows_are_those_of_the_tallest_picket_wherever_it_stands(make: SimpleNamespace) -> None:
    """84 in of picket at the far post make three rows, 85 in mid-bay four, and no sum of the two counts."""
    line = make.ground(96)
    bays = bays_of(make, line, 96)
    bent = TopLine(
        style=TopStyle.CONTOUR, stations=np.array([0.0, 48.0, 96.0]), elevations=np.array([66.0, 79.0, 86.0])
    )
    rows, _ = rail_rows(make.run(), bays, bent, line, make.rails("10 ft"), 2.0, make.say)
    assert set(rows.row.tolist()) == {0, 1, 2}
    humped = TopLine(
        style=TopStyle.CONTOUR, stations=np.array([0.0, 48.0, 96.0]), elevations=np.array([66.0, 87.0, 66.0])
    )
    rows, _ = rail_rows(make.run(), bays, humped, line, make.rails("10 ft"), 2.0, make.say)
    assert set(rows.row.tolist()) == {0, 1, 2, 3}


def test_rows_on_level_ground(make: SimpleNamespace) -> None:
    line = make.ground(384)
    bays = bays_of(make, line, 384)
    rows, problems = rail_rows(
        make.run(), bays, level_top(line, 0, 384, 72), line, make.rails("10 ft"), 2.0, make.say
    )
    assert not problems
    assert len(rows) == 12
    assert rows.drop[:3] == pytest.approx([6, 33.25, 60.5])
    assert rows.left_mark[:3] == pytest.approx([66, 38.75, 11.5])
    assert rows.right_mark == pytest.approx(rows.left_mark)
    # lower edge of the lowest rail: 11.5 - 3.5 = 8 in, that is clearance 2 and 6 in of picket below it
    assert rows.length[:3] == pytest.approx([97.75] * 3)
    assert rows.angle == pytest.approx(np.zeros(12))


def test_racked_rails_run_parallel_to_the_ground(make: SimpleNamespace) -> None:
    line = make.ground(384, 0.1)
    bays = bays_of(make, line, 384)
    rows, problems = rail_rows(
        make.run(), bays, _racked(line, bays, 72), line, make.rails("10 ft"), 2.0, make.say
    )
    assert not problems
    assert rows.left_mark == pytest.approx(rows.right_mark)
    assert rows.length == pytest.approx(np.repeat(bays.rail, 3))
    assert rows.angle == pytest.approx(np.full(12, np.arctan(0.1)))


def test_level_rails_on_a_slope_are_shorter(make: SimpleNamespace) -> None:
    line = make.ground(384, 0.1)
    bays = bays_of(make, line, 384)
    rows, _ = rail_rows(
        make.run(), bays, level_top(line, 0, 384, 72), line, make.rails("10 ft"), 2.0, make.say
    )
    assert rows.length[rows.bay == 1] == pytest.approx(bays.width[1])
    first = rows.bay == 0
    assert rows.left_mark[first] - rows.right_mark[first] == pytest.approx(9.6)


def test_a_hump_raises_the_lowest_rail_and_is_said(make: SimpleNamespace) -> None:
    line = ground_line([0, 40, 48, 56, 96], [0, 0, 10, 0, 0])
    bays = bays_of(make, line, 96)
    rails = make.rails("10 ft")
    rows, problems = rail_rows(make.run(), bays, _racked(line, bays, 72), line, rails, 2.0, make.say)
    assert "raised to clear it, by 4 in in bay 1" in problems[0].found
    assert rows.drop[-1] == pytest.approx(72 - 10 - 2 - 3.5), "hump, clearance, rail"
    flat = ground_line([0, 40, 48, 56, 96], [0, 0, 5, 0, 0])
    assert not rail_rows(make.run(), bays, _racked(flat, bays, 72), flat, rails, 2.0, make.say)[1]


@pytest.mark.parametrize(
    ("closed", "remedies"),
    [
        (NOTHING_CLOSED, ["dig the hump off, set a post on it, or raise the top there"]),
        (
            Closed(no_post=((40, 60),)),
            ["dig the hump off, or raise the top there", "dig the hump off, set a"],
        ),
        (
            Closed(no_post=((40, 60),), no_spade=((40, 60),)),
            ["raise the top there", "dig the hump off, set a"],
        ),
    ],
)
def test_no_post_or_spade_is_sent_to_a_hump_where_it_may_not_go(
    make: SimpleNamespace, closed: Closed, remedies: list[str]
) -> None:
    """Two bays of 8 ft, each with a hump half-way; the first one is closed, and told apart."""
    line = ground_line([0, 40, 48, 56, 136, 144, 152, 192], [0, 0, 10, 0, 0, 9, 0, 0])
    bays, rails = bays_of(make, line, 192), make.rails("10 ft")
    _, told = rail_rows(make.run(), bays, _racked(line, bays, 72), line, rails, 2.0, make.say, closed=closed)
    assert len(told) == len(remedies)
    assert all(p.remedy.startswith(r) for p, r in zip(told, remedies, strict=True))


def test_a_bay_too_low_for_its_rows_is_said(make: SimpleNamespace) -> None:
    line = make.ground(96)
    bays = bays_of(make, line, 96)
    _, problems = rail_rows(
        make.run(), bays, level_top(line, 0, 96, 20), line, make.rails("10 ft", count=3), 2.0, make.say
    )
    assert "3 rails of 3-1/2 in do not fit in the 6 in" in problems[0].found


def test_rails_on_a_steeper_top_than_the_bays_were_laid_for_are_flagged(make: SimpleNamespace) -> None:
    line = make.ground(384)
    bays = bays_of(make, line, 384, "98 in")
    top = TopLine(style=TopStyle.SLOPED, stations=np.array([0.0, 384]), elevations=np.array([72.0, 172]))
    _, problems = rail_rows(make.run(), bays, top, line, make.rails("98 in"), 2.0, make.say)
    assert any("more than the longest stock, 98 in" in p.found for p in problems)


def test_a_top_that_dips_between_posts_lowers_the_top_rail(make: SimpleNamespace) -> None:
    line = make.ground(96)
    bays = bays_of(make, line, 96)
    top = TopLine(
        style=TopStyle.CONTOUR, stations=np.array([0.0, 48, 96]), elevations=np.array([74.0, 72, 74])
    )
    rows, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say)
    assert rows.drop[0] == pytest.approx(8)


def test_a_dip_is_measured_from_the_sloping_line_between_the_posts(make: SimpleNamespace) -> None:
    """From 76.8 to 81.6 in the line is at 78 a quarter of the way: the top, at 75, dips by 3 in there."""
    line = make.ground(192)
    bays = bays_of(make, line, 192)
    top = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 96, 120, 192]),
        elevations=np.array([72.0, 76.8, 75.0, 81.6]),
    )
    rows, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say)
    upper = rows.row == 0
    assert rows.drop[upper] == pytest.approx([6, 9])
    assert rows.left_mark[upper] == pytest.approx([66, 67.8])
    assert rows.right_mark[upper] == pytest.approx([70.8, 72.6])


@pytest.mark.parametrize(("crest", "rows"), [(86.0, 3), (86.125, 4)])
def test_a_top_that_rises_between_posts_counts_for_the_rows(
    make: SimpleNamespace, crest: float, rows: int
) -> None:
    """Pickets up to 84 in, their 2 in of clearance off, have three rows."""
    line = make.ground(192)
    bays = bays_of(make, line, 192)
    top = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 96, 144, 192]),
        elevations=np.array([74.0, 74.0, crest, 74.0]),
    )
    found, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say)
    assert len(found) == 2 * rows
    assert found.drop[found.row == 0] == pytest.approx([6, 6])


def test_tops_at_a_step(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays = bays_of(make, line, 192)
    top = TopLine(
        style=TopStyle.STEPPED, stations=np.array([0.0, 96, 96, 192]), elevations=np.array([72.0, 72, 60, 60])
    )
    tops = bay_tops(top, bays)
    assert tops.left == pytest.approx([72, 60])
    assert tops.right == pytest.approx([72, 60])
    assert top_at_posts(top, bays.posts) == pytest.approx([72, 72, 60])


def _wavy(make: SimpleNamespace, depth: float) -> tuple[GroundLine, Bays, TopLine]:
    x = np.arange(0.0, 768.1, 48.0)
    line = ground_line(x, -depth / 2 + depth / 2 * np.sin(x / 90.0))
    return line, bays_of(make, line, 768.0), level_top(line, 0.0, 768.0, 72.0)


def test_rows_keep_one_line_while_the_overhang_allows(make: SimpleNamespace) -> None:
    """Ground that waves by 5 in: every row one level line, the lowest over all bottoms and meeting at
    posts."""
    line, bays, top = _wavy(make, 5.0)
    rails = make.rails("10 ft")
    rows, _ = rail_rows(make.run(), bays, top, line, rails, 2.0, make.say)
    assert all(np.ptp(rows.drop[rows.row == r]) < 1e-9 for r in range(3))
    bottom = rows.row == 2
    over = np.minimum(rows.left_mark, rows.right_mark)[bottom] - rails.height - 2.0
    assert over.min() == pytest.approx(rails.bottom_reveal)
    assert np.maximum(rows.left_mark, rows.right_mark)[bottom].max() - rails.height - 2.0 <= 12.0 + 1e-9
    assert (long_pieces(rows, bays, top).last_bay > 0).any()


@pytest.mark.parametrize("depth", [14.0, 30.0])
def test_rows_step_no_more_than_they_must(make: SimpleNamespace, depth: float) -> None:
    """The fewest steps, by trying every set of posts where the line may step."""
    line, bays, top = _wavy(make, depth)
    rails = make.rails("10 ft", top_reveal="6 in")
    rows, _ = rail_rows(make.run(), bays, top, line, rails, 2.0, make.say)
    drop = rows.drop[rows.row == rows.row.max()]
    ends = np.stack(
        [72 + line.elevation(line.stations).max() - line.elevation(x) for x in (bays.left, bays.right)]
    )
    low = np.minimum(ends.max(axis=0) - 2 - 12, ends.min(axis=0) - 2 - 6) - 3.5
    high = ends.min(axis=0) - 2 - 6 - 3.5
    assert (drop <= high + 1e-6).all()
    assert (drop >= np.minimum(low, high) - 1e-6).all()
    least = min(
        sum(where)
        for where in product((0, 1), repeat=len(bays) - 1)
        if all(
            low[list(g)].max() <= high[list(g)].min() + 1e-9
            for g in np.split(np.arange(len(bays)), np.flatnonzero(where) + 1)
        )
    )
    assert int((np.abs(np.diff(drop)) > 1e-6).sum()) == least > 0


def test_what_nobody_builds_is_a_slip(make: SimpleNamespace) -> None:
    line = make.ground(96)
    bays, rails = bays_of(make, line, 96), make.rails()

    def rows(height: float) -> object:
        return rail_rows(make.run(), bays, level_top(line, 0, 96, height), line, rails, 2.0, make.say, None)

    (said,) = mistakes_of(rows, 363.0)
    assert "pickets would stand up to 361 in over the ground; no fence is taller than 360 in" in said
    rows(362.0)


def test_a_line_of_rails_ends_where_no_one_drop_serves_it() -> None:
    """Of the first row the third bay begins above where the first ends, of the last one the fifth."""
    first = _Range(low=np.array([0.0, 1.0, 2.5, 2.0, 2.0]), high=np.array([2.0, 3.0, 4.0, 9.0, 9.0]))
    last = _Range(low=np.array([20.0, 20.0, 20.0, 22.0, 25.0]), high=np.array([30.0, 30.0, 24.0, 30.0, 30.0]))
    joined = np.ones(4, dtype=bool)
    assert list(_where_lines_end(joined, first, last)) == [2, 4]
    assert list(_where_lines_end(~joined, first, last)) == [1, 2, 3, 4]
    # ranges that touch in one drop
    touching = _Range(low=np.array([0.0, 2.0, 2.0]), high=np.array([2.0, 5.0, 5.0]))
    free = _Range(low=np.zeros(3), high=np.full(3, 9.0))
    for one, other in ((touching, free), (free, touching)):
        assert list(_where_lines_end(joined[:2], one, other)) == []


def _gated(make: SimpleNamespace, line: GroundLine) -> Bays:
    """Bays from 0 to 96 and from 148 to 244 in, a gate of 48 in between."""
    run = make.run(gate=[{"station": "97.75 in", "width": "48.5 in"}])
    bays, _ = lay_bays(run, make.posts(), make.rails("10 ft"), line, 0.0, 244.0)
    assert bays is not None
    assert (bays.left.tolist(), bays.right.tolist()) == ([0, 148], [96, 244])
    return bays


@pytest.mark.parametrize("over_gate", [-20.0, 40.0])
def test_what_the_top_does_over_a_gate_is_nothing_to_the_rails(
    make: SimpleNamespace, over_gate: float
) -> None:
    line = make.ground(244)
    bays, rails = _gated(make, line), make.rails("10 ft")
    top = TopLine(
        style=TopStyle.CONTOUR,
        stations=np.array([0.0, 96, 122, 148, 244]),
        elevations=np.array([72.0, 72, 72 + over_gate, 72, 72]),
    )
    rows, problems = rail_rows(make.run(), bays, top, line, rails, 2.0, make.say)
    assert not problems
    assert rows.drop.tolist() == [6, 33.25, 60.5] * 2
    assert rows_wanted(bays, top, line, rails, 2.0) == 3
    assert rows_wanted(bays, top, line, rails, 26.0) == 2


@pytest.mark.parametrize("top", [48.0, 96.0])
def test_rails_begin_anew_at_a_step_and_behind_a_gate(make: SimpleNamespace, top: float) -> None:
    """Both bays keep the reveals of their own top, though one drop would serve both."""
    line = make.ground(192)
    bays = bays_of(make, line, 192)
    step = TopLine(
        style=TopStyle.STEPPED,
        stations=np.array([0.0, 96, 96, 192]),
        elevations=np.array([72.0, 72, top, top]),
    )
    rows, _ = rail_rows(make.run(), bays, step, line, make.rails("10 ft", count=2), 2.0, make.say)
    assert rows.drop.tolist() == [6, 60.5, 6, top - 11.5]
    gated, behind = _gated(make, make.ground(244)), ground_line([0, 100, 140, 244], [0, 0, -8, -8])
    level = level_top(behind, 0, 244, 72)
    rows, _ = rail_rows(make.run(), gated, level, behind, make.rails("10 ft", count=2), 2.0, make.say)
    assert rows.drop.tolist() == [6, 60.5, 6, 68.5]


@pytest.mark.parametrize(("before", "after"), [(0.0, -12.0), (-12.0, 0.0)])
def test_marks_at_a_face_are_over_the_ground_of_the_bay(
    make: SimpleNamespace, before: float, after: float
) -> None:
    line = ground_line([0, 96, 96, 192], [before, before, after, after])
    bays = bays_of(make, line, 192)
    top = TopLine(style=TopStyle.LEVEL, stations=np.array([0.0, 192]), elevations=np.array([72.0, 72.0]))
    rows, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft", count=1), 2.0, make.say)
    assert rows.left_mark == pytest.approx(rows.right_mark)
    assert rows.left_mark + rows.drop == pytest.approx([72 - before, 72 - after])


def test_one_row_hangs_half_way_and_a_small_reveal_is_kept(make: SimpleNamespace) -> None:
    line = make.ground(192)
    bays = bays_of(make, line, 192)
    top = level_top(line, 0, 192, 72)
    one, _ = rail_rows(make.run(), bays, top, line, make.rails("10 ft", count=1), 2.0, make.say)
    assert one.drop.tolist() == [33.25, 33.25]
    rails = make.rails("10 ft", count=2, top_reveal="1/2 in")
    assert rail_rows(make.run(), bays, top, line, rails, 2.0, make.say)[0].drop.tolist() == [0.5, 60.5] * 2


def test_bays_told_of_are_the_worst_ones(make: SimpleNamespace) -> None:
    """Level, up 24 in and up 40 in: the third is the steepest; a dip leaves the first the least room."""
    line = make.ground(288)
    bays = bays_of(make, line, 288, "98 in")
    top = TopLine(
        style=TopStyle.RACKED,
        stations=np.array([0.0, 48, 96, 192, 288]),
        elevations=np.array([20.0, 18.0, 20.0, 44.0, 84.0]),
    )
    _, told = rail_rows(make.run(), bays, top, line, make.rails("98 in", count=3), 2.0, make.say)
    assert [str(p) for p in told] == [
        "herb garden, bays 1-2: 3 rails of 3-1/2 in do not fit in the 4 in between the top reveal and the "
        'lower edge of the lowest rail in bay 1, 0" to 8\' 0"; use fewer rails or smaller reveals, or raise '
        "the top there; their boards are listed all the same",
        "herb garden, bays 2-3: pickets hang up to 46 in below the lowest rail in bay 3, 16' 0\" to 24' 0\"; "
        "most_overhang under [rails] is 12 in; choose a top that dips less there, or fix a short rail across "
        "them lower down",
        "herb garden, bays 2-3: rails are up to 105-7/8 in long, in bay 3, 16' 0\" to 24' 0\", their "
        "slanted ends take 1-7/16 in more: 9-3/8 in more "
        "than the longest stock, 98 in; offer a longer rail, or lay the bays out for this top",
    ]


def test_more_rails_than_a_run_can_have_are_a_slip(
    make: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = make.ground(192)
    bays, top = bays_of(make, line, 192), level_top(line, 0, 192, 72)
    monkeypatch.setattr(rails_module, "MOST_RAILS", 6)
    rail_rows(make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say)
    monkeypatch.setattr(rails_module, "MOST_RAILS", 5)
    assert mistakes_of(rail_rows, make.run(), bays, top, line, make.rails("10 ft"), 2.0, make.say) == [
        "herb garden: pickets up to 70 in with 3 rows of rails in 2 bays are 6 rails; the most is 5; check "
        "the readings and [rails] count, or choose a top that follows the ground"
    ]
