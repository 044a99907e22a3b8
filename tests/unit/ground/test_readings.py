"""Readings put in order: repeats, faces, and what is wrong among them."""

from typing import Any

import numpy as np
import pytest

from fencegrade.ground.survey import ground_from_survey
from fencegrade.units import UnitSystem


def test_repeats_are_averaged_and_teach_the_reading_error(under_string: Any, ground_of: Any) -> None:
    rows = [(0, 24), (4, 25), (8, 26), (0, 24.25), (4, 25.25), (8, 26.25)]
    ground = ground_of(under_string([*rows[:3], *rows[3:]]))
    assert ground.elevations == pytest.approx([-24.125, -25.125, -26.125])
    assert ground.levels.lines == ((2, 5), (3, 6), (4, 7))
    assert ground.levels.repeat_freedom == 3
    expected = np.sqrt((6 * 0.1875**2 + 3 * 2 * 0.125**2) / 9)
    assert ground.reading_error == pytest.approx(expected)
    assert ground_of(under_string(rows), reading_error="1/2 in").reading_error == 0.5


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
