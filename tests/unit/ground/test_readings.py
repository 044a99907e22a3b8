"""Readings put in order: repeats, faces, and what is wrong among them."""

from typing import Any

import numpy as np
import pytest

from fencegrade.ground.readings import _skipped, along, exchanged, line_place, span_place, worst_of
from fencegrade.ground.survey import ground_from_survey
from fencegrade.problems import mistake
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.IMPERIAL, mark=0.125)


def test_repeats_are_averaged_and_teach_the_reading_error(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 24), (4, 25), (8, 26), (0, 24.25), (4, 25.25), (8, 26.25)]
    ground = ground_of(under_string([*rows[:3], *rows[3:]]))
    assert ground.elevations == pytest.approx([-24.125, -25.125, -26.125])
    assert ground.levels.lines == ((2, 5), (3, 6), (4, 7))
    assert ground.levels.repeat_freedom == 3
    expected = np.sqrt((6 * 0.1875**2 + 3 * 2 * 0.125**2) / 9)
    assert ground.reading_error == pytest.approx(expected)
    assert ground_of(under_string(rows), reading_error="1/2 in").reading_error == 0.5


def test_stations_less_than_a_hair_apart_are_one(under_string: Any, ground_of: Any, mistakes_of: Any) -> None:
    rows = [(0, 24), (1e-300, 24.5), (4, 25), (4 + 1e-9, 25.5), (8, 26)]
    ground = ground_of(under_string(rows))
    assert ground.levels.stations.tolist() == [0, 48, 96]
    assert ground.elevations == pytest.approx([-24.25, -25.25, -26])
    (found,) = mistakes_of(under_string([(0, 24), (1e-300, 27), *rows[2:]]))
    assert "disagree by 3 in" in found.found


def test_repeats_that_disagree_name_both_lines(under_string: Any, mistakes_of: Any) -> None:
    (found,) = mistakes_of(under_string([(0, 24), (4, 25), (4, 25.75), (8, 26)]))
    assert found.place == "north.csv lines 3 and 4"
    assert "3/4 in" in found.found
    assert not mistakes_of(under_string([(0, 24), (4, 25), (4, 25.5), (8, 26)]))


def test_of_many_that_disagree_the_worst_are_named_and_the_rest_counted(
    under_string: Any, mistakes_of: Any
) -> None:
    rows = [(k, drop) for k in range(30) for drop in (24, 25 + k / 8)]
    *named, rest = mistakes_of(under_string(rows))
    assert [p.place for p in named] == [f"north.csv lines {2 * k + 2} and {2 * k + 3}" for k in range(22, 30)]
    assert rest.place == "north.csv"
    assert rest.found == "22 more stations have readings that disagree, by 1 in to 3-5/8 in"


@pytest.mark.parametrize(
    ("system", "unit", "right", "wrong"),
    [(UnitSystem.IMPERIAL, 1.0, 0.5, 0.5625), (UnitSystem.METRIC, 1 / 25.4, 11.9, 12.1)],
)
def test_repeats_may_differ_by_half_an_inch_or_twelve_millimetres(
    under_string: Any, a_run: Any, system: UnitSystem, unit: float, right: float, wrong: float
) -> None:
    for apart, refused in ((right, False), (wrong, True)):
        survey = under_string([(0, 24), (4, 25), (4, 25 + apart * unit), (8, 26)])
        ground, _ = ground_from_survey(a_run(), survey, system, 0.125)
        assert (ground is None) is refused


def test_repeats_just_at_the_limit_are_one_reading_whatever_the_rounding(
    under_string: Any, a_run: Any
) -> None:
    """Of two whole millimetres 12 apart many pairs differ, in inches, by a hair more than 12 mm."""
    for drop in range(300, 1500, 7):
        rows = [(0, 24), (4, drop / 25.4), (4, (drop + 12) / 25.4), (8, 26)]
        ground, _ = ground_from_survey(a_run(), under_string(rows), UnitSystem.METRIC, 0.125)
        assert ground is not None, drop


def test_both_ends_of_a_survey_may_be_faces_and_both_are_told(under_string: Any, mistakes_of: Any) -> None:
    first = [(0, 24, None, "before"), (0, 20, None, "after")]
    last = [(8, 25, None, "before"), (8, 29, None, "after")]
    found = mistakes_of(under_string([*first, (4, 22), *last]))
    assert [p.place for p in found] == ["north.csv lines 2 and 3", "north.csv lines 5 and 6"]


def test_a_station_typed_twice_names_the_one_that_is_missing(under_string: Any, mistakes_of: Any) -> None:
    (found,) = mistakes_of(under_string([(0, 24), (4, 25), (8, 26), (8, 30), (16, 26), (20, 26)]))
    assert "12' 0\" is missing" in found.remedy


def test_a_page_written_from_the_far_end_is_taken_with_a_warning(under_string: Any, ground_of: Any) -> None:
    ground = ground_of(under_string([(8, 26), (4, 25), (0, 24)]))
    assert ground.elevations == pytest.approx([-24, -25, -26])
    assert any("backwards" in p.found for p in ground.notes)


def test_terrace_wall(under_string: Any, ground_of: Any) -> None:
    """Two readings at 16 ft: no curve crosses; 36 in of wall (a worked example of our own)."""
    rows = [(0, 12), (8, 13), (16, 14, None, "before"), (16, 48, None, "after"), (24, 49), (32, 50)]
    profile = ground_of(under_string(rows)).profile
    assert list(profile.faces) == [192.0]
    assert profile.elevation(192.0, before=True) == -14
    assert profile.elevation(192.0) == -48
    high, low = profile.extremes([186.0, 192.0, 187.0], [192.0, 197.0, 197.0])
    assert high == pytest.approx([float(profile.elevation(186.0)), -48, float(profile.elevation(187.0))])
    assert low[0] == -14
    assert low[2] == pytest.approx(profile.elevation(197.0))
    left, right = profile.elevation(np.linspace(0, 191.99, 50)), profile.elevation(np.linspace(192, 384, 50))
    assert left.min() >= -14
    assert right.max() <= -48


def test_sides_may_be_written_in_either_order(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 12), (4, 48, None, "after"), (4, 14, None, "before"), (8, 49)]
    assert ground_of(under_string(rows)).elevations == pytest.approx([-12, -14, -48, -49])


BACK = (
    'warning, a.csv line 2: the readings run backwards, from {} to 0"; they were taken in order of station; '
    "check that stations count from the run's start"
)
LATER = (
    "note, a.csv {}: {} stands at the end of the file, taken in place along the run; move the row there, if "
    "you like"
)
LATER_ALL = LATER.replace("stands", "stand").replace("the row ", "the rows ")
AFTER = (
    "mistake, a.csv line {}: station {} comes after {} (line {}); check both stations, and write the rows in "
    "order along the run"
)


@pytest.mark.parametrize(
    ("feet", "told"),
    [
        ([], []),
        ([0, 4, 8], []),
        ([0, 4, 4, 8], []),
        ([8, 4, 0], [BACK.format("8' 0\"")]),
        ([8, 8, 0], [BACK.format("8' 0\"")]),
        ([8, 8, 8], []),
        ([4, 0], [AFTER.format(3, '0"', "4' 0\"", 2)]),
        # one row later than four others, two than six, within them and in order
        ([0, 4, 8, 12, 6], [LATER.format("line 6", "6' 0\"")]),
        ([0, 4, 12, 6], [AFTER.format(5, "6' 0\"", "12' 0\"", 4)]),
        ([0, 4, 8, 12, 16, 20, 2, 6], [LATER_ALL.format("lines 8 and 9", "2' 0\" and 6' 0\"")]),
        ([0, 4, 8, 12, 16, 2, 6], [AFTER.format(7, "2' 0\"", "16' 0\"", 6)]),
        ([0, 4, 8, 12, 16, 20, 6, 2], [LATER_ALL.format("lines 8 and 9", "6' 0\" and 2' 0\"")]),
        ([0, 4, 8, 12, 16, 20, 6, 0, 4], [LATER.format("line 8", "6' 0\"")]),
        (
            [28, 24, 20, 16, 12, 8, 4, 0, 6, 10],
            [BACK.format("28' 0\""), LATER_ALL.format("lines 10 and 11", "6' 0\" and 10' 0\"")],
        ),
        # the far end's page, its start read again before it, or a station written wrong
        ([0, 20, 16, 12, 8, 4, 0], [BACK.format("20' 0\"")]),
        ([20, 16, 12, 80, 4, 0], [BACK.format("80' 0\""), AFTER.format(4, "12' 0\"", "80' 0\"", 5)]),
        ([12, 8, 16, 4], [AFTER.format(3, "8' 0\"", "12' 0\"", 2), AFTER.format(5, "4' 0\"", "16' 0\"", 4)]),
        ([4, 8, 12, 16, 0], [AFTER.format(6, '0"', "16' 0\"", 5)]),
        ([0, 4, 8, 12, 4, 6], [LATER.format("line 7", "6' 0\"")]),
        (
            [*range(0, 48, 4), 2, 6, 10, 14],
            [LATER_ALL.format("lines 14, 15 and 16", "2' 0\" and 6' 0\" and 10' 0\" and more")],
        ),
        ([0, 4, 2, 8, 6], [AFTER.format(4, "2' 0\"", "4' 0\"", 3), AFTER.format(6, "6' 0\"", "8' 0\"", 5)]),
    ],
)
def test_the_order_of_rows(feet: list[int], told: list[str]) -> None:
    found = along([(k + 2, 12.0 * x) for k, x in enumerate(feet)], "a.csv", SAY)
    assert [f"{p.severity}, {p}" for p in found] == told


@pytest.mark.parametrize(
    ("stations", "drops", "swapped"),
    [
        ([24, 26, 25, 27], [0, 4, 8, 12], True),
        ([24, 26, 25], [0, 4, 8], False),
        ([24, 26, 25, 27], [1, 4, 8, 12], False),
        ([24, 26, 25, 27], [0, 4, 4, 12], False),
        ([24, 25, 26, 27], [0, 4, 8, 12], False),
        ([24, 25, 25, 27], [0, 4, 8, 12], False),
    ],
)
def test_columns_that_look_exchanged(stations: list[float], drops: list[float], swapped: bool) -> None:
    assert exchanged(stations, drops) == swapped


@pytest.mark.parametrize(
    ("off", "named", "rest"),
    [
        ([1.0] * 8, list(range(8)), None),
        ([*[2.0] * 8, 1.0], list(range(8)), "1 more rows, by 1 in"),
        ([1.0, *[2.0] * 8], list(range(1, 9)), "1 more rows, by 1 in"),
        ([1.0, 1.5, *[2.0] * 8], list(range(2, 10)), "2 more rows, by 1 in to 1-1/2 in"),
        ([1.0, 1.0, *[2.0] * 8], list(range(2, 10)), "2 more rows, by 1 in"),
        ([0.0] * 9, list(range(8)), "1 more rows"),
    ],
)
def test_of_many_problems_the_eight_worst_are_told(
    off: list[float], named: list[int], rest: str | None
) -> None:
    found = [(x, mistake(f"row {k}", "it is off", "mend it")) for k, x in enumerate(off)]
    *first, last = worst_of(found, "a.csv", "more rows", SAY)
    told = [*first, last] if rest is None else first
    assert [p.place for p in told] == [f"row {k}" for k in named]
    if rest is not None:
        assert str(last) == (
            f"a.csv: {rest}; look for what they share, such as two surveys in one file, a set-up or a unit"
        )


@pytest.mark.parametrize(
    ("stations", "at", "missing"),
    [
        ([0, 4, 12, 16], 4, "8' 0\""),
        ([0, 4, 12, 16], 12, "8' 0\""),
        ([0, 4, 12, 16], 16, None),
        ([0, 4, 12, 16], 0, None),
        ([0, 4, 12], 4, None),
        # a tenth of the usual space nearer or farther is no missing station
        ([0, 4, 12.375, 16.375], 4, "8' 0\""),
        ([0, 4, 12.4, 16.4], 4, None),
        ([0, 8, 12, 16, 20], 0, "4' 0\""),
        ([0, 4, 8, 12, 20], 20, "16' 0\""),
    ],
)
def test_a_station_that_an_even_spacing_would_have(
    stations: list[float], at: float, missing: str | None
) -> None:
    inches = [12.0 * x for x in stations]
    told = f", or its station: {missing} is missing" if missing else ""
    assert _skipped(12.0 * at, inches, SAY) == told


def test_lines_of_a_file() -> None:
    assert line_place("a.csv", 3) == "a.csv line 3"
    assert line_place("a.csv", 3, 5) == "a.csv lines 3 and 5"
    assert line_place("a.csv", 3, 5, 9) == "a.csv lines 3, 5 and 9"
    spans = [span_place("a.csv", *ends) for ends in ((3, 3), (4, 3), (3, 5), (9, 3))]
    assert spans == ["a.csv line 3", "a.csv lines 3 and 4", "a.csv lines 3 to 5", "a.csv lines 3 to 9"]
