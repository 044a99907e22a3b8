"""Level books: turning points, misread pages, closing and spreading."""

from typing import Any

import pytest
from msgspec.structs import replace

from fencegrade.ground.levelbook import level_page
from fencegrade.ground.survey import ground_from_survey
from fencegrade.job.survey import LevelBook, LevelRow
from fencegrade.problems import Severity
from fencegrade.sheets.reduction import level_check_line
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.IMPERIAL, mark=0.125)


def book(rows: list[tuple[Any, ...]]) -> LevelBook:
    """Rows (station ft or None, backsight, intermediate, foresight, known), inches; line 2 is the first."""
    full = [(*row, None, None, None, None)[:5] for row in rows]
    return LevelBook(
        source="book.csv",
        rows=tuple(
            LevelRow(
                line=i + 2,
                station=None if x is None else 12.0 * x,
                backsight=bs,
                intermediate=is_,
                foresight=fs,
                known=known,
            )
            for i, (x, bs, is_, fs, known) in enumerate(full)
        ),
    )


GOOD = [
    (None, 50, None, None, 100.0),
    (0, None, 60),
    (10, None, 62),
    (None, 40, None, 70),
    (20, None, 55),
    (30, None, 50),
    (None, None, None, 20, 100.1),
]


def test_turning_points_off_the_line_are_no_ground(a_run: Any) -> None:
    ground, problems = ground_from_survey(a_run(), book(GOOD), UnitSystem.IMPERIAL, 0.125)
    assert ground is not None, problems
    assert ground.stations == pytest.approx([0, 120, 240, 360])
    assert ground.elevations == pytest.approx([90.05, 88.05, 65.1, 70.1])
    assert ground.reduction.closures[0].misclosure == pytest.approx(-0.1)
    assert ground.reduction.page is not None
    assert ground.reduction.page.checks
    assert (ground.reduction.page.backsights, ground.reduction.page.foresights) == (90, 90)


def test_misclosure_by_distance_where_turning_points_have_stations() -> None:
    rows = [
        (0, 50, None, None, 100.0),
        (10, None, 60),
        (30, 40, None, 70),
        (40, None, None, 20, 100.4),
    ]
    page, _ = level_page(book(rows), SAY, most_misclosure=1.0)
    assert page is not None
    assert [r.adjusted - r.elevation for r in page.rows] == pytest.approx([0, 0.1, 0.3, 0.4])


def test_a_loop_back_to_its_start_is_spread_along_the_way() -> None:
    rows = [(0, 50, None, None, 100.0), (30, 40, None, 60), (0, None, None, 30.4, 100.0)]
    page, _ = level_page(book(rows), SAY, most_misclosure=1.0)
    assert page is not None
    assert [r.adjusted for r in page.rows] == pytest.approx([100, 90.2, 100])


@pytest.mark.parametrize(
    ("change", "line", "words"),
    [
        ({3: (None, 40)}, 5, "no foresight before it"),
        ({3: (None, None, None, 70)}, 6, "no backsight opened another"),
        ({3: (None, None, None, 70), 4: (20, 40, 55)}, 6, "one row or one column off"),
        ({3: (None, None, None, 70), 4: (20, 40)}, 6, "another point"),
        ({2: (10, None, 62, 70)}, 4, "intermediate sight and a foresight"),
        ({0: (None, None, 50)}, 2, "begin with a backsight"),
        ({1: (0,)}, 3, "no sight"),
        ({6: (None, 20, None, None, None)}, 8, "no foresight before it"),
        ({6: (None, 33, None, 20, 100.1)}, 8, "nothing read from it"),
        ({6: (None, None, None, 22, 100.1)}, 8, "misclosure of -2-1/8 in"),
    ],
)
def test_a_misread_page_is_named(change: dict[int, tuple[Any, ...]], line: int, words: str) -> None:
    rows = [change.get(i, row) for i, row in enumerate(GOOD)]
    page, problems = level_page(book(rows), SAY)
    assert page is None
    found = [p for p in problems if p.severity is Severity.MISTAKE]
    assert any(p.place == f"book.csv line {line}" and words in p.found for p in found), [
        str(p) for p in found
    ]
    assert all(p.remedy for p in found)


def test_foresight_and_backsight_of_one_point_may_stand_in_two_rows() -> None:
    split = [*GOOD[:3], (None, None, None, 70), (None, 40), *GOOD[4:]]
    one, _ = level_page(book(GOOD), SAY)
    two, problems = level_page(book(split), SAY)
    assert one is not None
    assert two is not None, problems
    assert two.rows[-1].elevation == one.rows[-1].elevation
    assert two.checks


def test_closing_on_nothing_is_a_warning() -> None:
    rows = [*GOOD[:6], (None, None, None, 20)]
    page, problems = level_page(book(rows), SAY)
    assert page is not None
    (told,) = [p for p in problems if p.severity is Severity.WARNING]
    assert "close on no known elevation" in told.found
    assert "read the first mark again" in told.remedy
    assert told.remedy.endswith("and write its height, 100 in, in the column known")


@pytest.mark.parametrize(
    ("known", "where"),
    [(100.0, "100 in, in the column known"), (None, "0 in, in the column known there and in the first row")],
)
def test_a_first_mark_read_again_is_seen(known: float | None, where: str) -> None:
    rows = [(0, 50, None, None, known), (10, 40, None, 70), (20, None, 55), (0, None, 20)]
    _, problems = level_page(book(rows), SAY)
    (told,) = [p for p in problems if p.severity is Severity.WARNING]
    assert told.remedy.startswith("line 5 reads the first mark's station again")
    assert told.remedy.endswith(f"write its height, {where}")


def test_one_set_up_needs_no_closing_and_may_end_on_an_intermediate_sight() -> None:
    page, problems = level_page(book([(0, 50), (10, None, 60), (20, None, 70)]), SAY)
    assert page is not None
    assert [r.elevation for r in page.rows] == [0, -10, -20]
    assert all(p.severity is Severity.NOTE for p in problems)
    assert page.checks


def test_a_fresh_start_on_a_known_height() -> None:
    rows = [*GOOD[:3], (None, None, None, 70), (None, 40, None, None, 79.0), *GOOD[4:6]]
    page, problems = level_page(book(rows), SAY)
    assert page is not None, problems
    assert page.rows[5].elevation == pytest.approx(79 + 40 - 55)
    assert page.checks


def test_one_station_read_from_two_set_ups(a_run: Any) -> None:
    for again, wrong in ((32.4, 0), (36, 1)):
        rows = [*GOOD[:4], (10, None, again), *GOOD[4:]]
        ground, problems = ground_from_survey(a_run(), book(rows), UnitSystem.IMPERIAL, 0.125)
        found = [p for p in problems if p.severity is Severity.MISTAKE]
        assert len(found) == wrong
        assert (ground is None) == bool(wrong)
    assert found[0].place == "book.csv lines 4 and 6"
    assert "before and after in a side column" in found[0].remedy


def test_a_page_whose_sums_do_not_agree_says_so() -> None:
    page, _ = level_page(book(GOOD), SAY)
    assert page is not None
    assert level_check_line(page, SAY).endswith(": they agree")
    *rows, last = page.rows
    wrong_rows = (*rows, replace(last, elevation=last.elevation + 1))
    for wrong in (replace(page, rise=page.rise + 1), replace(page, rows=wrong_rows)):
        assert not wrong.checks
        assert level_check_line(wrong, SAY).endswith(": they do not agree")


def test_rows_of_a_set_up_stand_in_order_unless_read_on_the_way_back(a_run: Any) -> None:
    def found(stations: dict[int, float]) -> list[str]:
        rows = [(stations.get(i, row[0]), *row[1:]) for i, row in enumerate(GOOD)]
        return [
            p.found
            for p in ground_from_survey(a_run(), book(rows), UnitSystem.IMPERIAL, 0.125)[1]
            if p.remedy
        ]

    assert any("comes after 8" in t for t in found({1: 8000.0})), found({1: 8000.0})
    assert not found({4: 8.0, 5: 5.0})


def test_the_first_mark_read_again_to_close_is_no_station_out_of_order(a_run: Any) -> None:
    """Its station written, from a second set-up that read on outward."""
    rows = [
        (0, 60, None, None, 0.0),
        (8, None, 61),
        (16, 55, None, 62),
        (24, None, 57),
        (32, None, 58),
        (0, None, None, 53, 0.0),
    ]
    ground, problems = ground_from_survey(a_run(), book(rows), UnitSystem.IMPERIAL, 0.125)
    assert ground is not None
    assert not any("comes after" in p.found for p in problems)


COLUMNS = "; a turning point has a foresight and a backsight and no intermediate sight; compare with the page"
OPENED = (
    "the set-up was closed by the foresight of line 5, and no backsight opened another; write the backsight "
    "of the new set-up in the row of the turning point"
)
MISREAD = (
    "; look for a sight misread or written in the wrong column, above all at the turning points; or set "
    "most_misclosure"
)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({1: (0,)}, ["line 3: the row has no sight at all; fill in a sight, or take the row out"]),
        (
            {2: (10, None, 62, 70)},
            [
                "line 4: the row has an intermediate sight and a foresight, so a sight stands one row or one "
                f"column off{COLUMNS}"
            ],
        ),
        (
            {2: (10, 5, 62)},
            [
                "line 4: the row has an intermediate sight and a backsight, so a sight stands one row or one "
                f"column off{COLUMNS}"
            ],
        ),
        *(
            (
                {0: first},
                ["line 2: the page does not begin with a backsight alone; begin with one on a known height"],
            )
            for first in ((None, None, 50), (None, 50, None, 3))
        ),
        (
            {2: (10, 20)},
            [
                "line 4: a second backsight with no foresight before it: the last set-up was never closed; "
                "add the foresight on this turning point from the set-up before"
            ],
        ),
        (
            {3: (None, None, None, 70), 4: (20, 40)},
            [
                "line 6: this backsight is on another point than the foresight of line 5 before it; write "
                "foresight and backsight of a turning point in one row; the sights may stand one row off",
                f"line 7: {OPENED}",
                f"line 8: {OPENED}",
            ],
        ),
        (
            {3: (None, None, None, 70), 4: (20, 40, None, 60), 5: (30, 5), 6: (None, None, None, 20)},
            [
                "line 6: a foresight before any backsight of its set-up; compare the rows with the page",
                "line 7: this backsight is on another point than the foresight of line 5 before it; write "
                "foresight and backsight of a turning point in one row; the sights may stand one row off",
                f"line 8: {OPENED}",
            ],
        ),
        (
            {6: (None, 33, None, 20, 100.1)},
            [
                "line 8: the page ends with a backsight and nothing read from it; add the last sights, or "
                "take the backsight off"
            ],
        ),
        (
            {6: (None, None, None, 22, 100.1)},
            [
                "line 8: the page carries 98 in to a mark known as 100-1/8 in: a misclosure of -2-1/8 in, "
                f"more than 1/4 in (5 mm times the root of 2 set-ups, a construction rule of thumb){MISREAD}"
            ],
        ),
        # 5 mm times the root of two is 0.2784 in
        ({6: (None, None, None, 20, 100.278)}, []),
        (
            {6: (None, None, None, 20, 100.279)},
            [
                "line 8: the page carries 100 in to a mark known as 100-1/4 in: a misclosure of just over "
                f"-1/4 in, more than 1/4 in (5 mm times the root of 2 set-ups, a construction rule of "
                f"thumb){MISREAD}"
            ],
        ),
    ],
)
def test_a_page_that_cannot_be_told_whole(change: dict[int, tuple[Any, ...]], said: list[str]) -> None:
    page, problems = level_page(book([change.get(i, row) for i, row in enumerate(GOOD)]), SAY)
    found = [str(p) for p in problems if p.severity is Severity.MISTAKE]
    assert found == [f"book.csv {line}" for line in said]
    assert (page is None) == bool(said)


def test_what_is_said_of_pages_that_are_right() -> None:
    def told(rows: list[tuple[Any, ...]]) -> list[str]:
        return [f"{p.severity}, {p}" for p in level_page(book(rows), SAY)[1]]

    assert told(GOOD) == [
        "note, book.csv line 8: the page closes to -1/8 in; 1/4 in is allowed (5 mm times the root of 2 "
        "set-ups, a construction rule of thumb); third order levelling would allow 1.1 mm over this way, "
        "finer than a tape reads"
    ]
    unseen = "2 set-ups close on no known elevation, so a sight misread at a turning point cannot be seen"
    again = "read the first mark again from the last set-up, as a row of its own, and write its height"
    assert told([*GOOD[:6], (None, None, None, 20)]) == [
        f"warning, book.csv line 8: {unseen}; {again}, 100 in, in the column known"
    ]
    assert told([(None, 50), *GOOD[1:6], (None, None, None, 20)]) == [
        "note, book.csv line 2: the first row has no known elevation and is taken as 0 in",
        f"warning, book.csv line 8: {unseen}; {again}, 0 in, in the column known there and in the first row",
    ]
    assert told([(0, 50, None, None, 100.0), (10, None, 60)]) == []


def test_a_page_of_turning_points_alone_gives_no_ground(mistakes_of: Any) -> None:
    page = book([(None, 50, None, None, 100.0), (None, 40, None, 55), (None, None, None, 60)])
    (told,) = mistakes_of(page)
    assert str(told) == "book.csv: the survey holds no reading on the run; write at least two rows"
