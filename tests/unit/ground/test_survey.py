"""From a survey to the ground of a run: order, repeats, faces, ends, slope-taped stations."""

import warnings
from dataclasses import replace
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.slope import slope_doubt
from fencegrade.ground.survey import ground_from_survey
from fencegrade.job.records import Run, StringLine
from fencegrade.job.survey import KINDS, ElevationReading, ElevationSurvey, SurveyKind
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SWALE = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]


def test_one_level_string_without_a_set_up(under_string: Any, ground_of: Any) -> None:
    ground = ground_of(under_string(zip(range(0, 49, 4), SWALE, strict=True)))
    assert ground.elevations == pytest.approx([-d for d in SWALE])
    assert (ground.start, ground.end) == (0.0, 576.0)
    (string,) = ground.strings
    assert (string.start, string.end, string.start_height, string.end_height, string.sag) == (0, 576, 0, 0, 0)
    assert ground.profile.elevation(288.0) == -43.0


def test_plain_elevations(heights: Any, ground_of: Any) -> None:
    ground = ground_of(heights([(0, 3), (8, 5), (16, 4)]), start="1 ft", end="10 ft")
    assert ground.elevations == pytest.approx([3, 5, 4])
    assert (ground.start, ground.end) == (12.0, 120.0)
    assert ground.strings == ()


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


@pytest.mark.parametrize(
    ("rows", "place", "words"),
    [
        ([(0, 24), (8, 25), (4, 26)], "north.csv line 4", "comes after"),
        ([(4, 24), (4, 24.25)], "north.csv", "one station"),
        ([(0, 24), (4, -3), (8, 25)], "north.csv line 3", "above a tight string"),
        ([(0, 24), (4, 20, None, "before"), (8, 25)], "north.csv line 3", "once only"),
        ([(0, 24), (8, 25, None, "before"), (8, 29, None, "after")], "north.csv lines 3 and 4", "end"),
        ([(0, 24), (4, 20, None, "before"), (4, 40), (8, 25)], "north.csv line 4", "has none"),
        ([(0, 24, None, "before"), (0, 20, None, "after"), (8, 25)], "north.csv lines 2 and 3", "end"),
        ([(0, 24, "B"), (4, 25)], "job.toml run 1, string", "not declared"),
    ],
)
def test_mistakes_name_their_place(
    under_string: Any, mistakes_of: Any, rows: Any, place: str, words: str
) -> None:
    found = mistakes_of(under_string(rows))
    assert any(p.place == place and words in p.message for p in found), [str(p) for p in found]
    assert all(p.remedy for p in found)


def test_every_mistake_is_reported_at_once(under_string: Any, mistakes_of: Any) -> None:
    found = mistakes_of(under_string([(0, 24), (8, -1), (4, 26), (12, -2)]))
    assert [p.place for p in found] == ["north.csv line 3", "north.csv line 5", "north.csv line 4"]


def test_a_run_longer_than_its_survey_names_the_missing_stretch(under_string: Any, mistakes_of: Any) -> None:
    first, last = mistakes_of(under_string([(4, 24), (8, 25)]), start="0 ft", end="12 ft")
    assert first.place == "job.toml run 1, start"
    assert '0" to 4\' 0"' in first.found
    assert last.place == "job.toml run 1, end"
    assert "8' 0\" to 12' 0\"" in last.found


def test_a_page_written_from_the_far_end_is_taken_with_a_warning(under_string: Any, ground_of: Any) -> None:
    ground = ground_of(under_string([(8, 26), (4, 25), (0, 24)]))
    assert ground.elevations == pytest.approx([-24, -25, -26])
    assert any("backwards" in p.found for p in ground.notes)


def test_a_drop_of_nothing_is_a_warning(under_string: Any, ground_of: Any) -> None:
    notes = ground_of(under_string([(0, 24), (4, 0), (8, 20)])).notes
    assert any(p.severity is Severity.WARNING and "touches the ground" in p.found for p in notes)


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


def test_stations_taped_along_the_slope(heights: Any, ground_of: Any) -> None:
    """24.172 m along the ground, 2.880 m of rise: 24.000 m level (a worked example of our own)."""
    f = 1000 / 25.4
    rows = [(x * f / 12, x * f * 2.880 / 24.172) for x in np.linspace(0, 24.172, 7)]
    ground = ground_of(heights(rows), stations_taped="along the slope", end="24.172 m")
    assert ground.end / f == pytest.approx(24.0, abs=5e-4)
    assert ground.station(12.086 * f) / f == pytest.approx(12.0, abs=5e-4)
    assert not [p for p in ground.notes if "steep" in p.found]


def test_steep_ground_said_to_be_taped_level_is_doubted(heights: Any, ground_of: Any) -> None:
    f = 1000 / 25.4
    rows = [(x * f / 12, x * f * 0.12) for x in np.linspace(0, 24.172, 7)]
    (note,) = [p for p in ground_of(heights(rows)).notes if "steep" in p.found]
    assert "12%" in note.found
    assert "6-7/8 in" in note.found  # 24.172 m (1 - sqrt(1 - 0.12^2)) = 0.1746 m
    flat = ground_of(heights([(0, 0), (8, 4), (16, 8)]))
    assert not [p for p in flat.notes if "steep" in p.found]


def test_a_sloping_string_over_slope_taped_stations(under_string: Any, ground_of: Any) -> None:
    """Ground and string fall one in five; stations 13 in apart on the tape for 12.75 in level."""
    taped = np.hypot(5, 1) / 5
    rows = [(x * taped, 20.0) for x in (0, 10, 20, 30)]
    string = StringLine(id="A", start="0 ft", end=f"{30 * taped} ft", fall="72 in")
    ground = ground_of(under_string(rows), string=(string,), stations_taped="along the slope")
    assert ground.stations == pytest.approx(np.array([0, 120, 240, 360]), abs=0.01)
    assert ground.elevations == pytest.approx(-20 - np.array([0, 24, 48, 72]), abs=0.01)


def test_ground_steeper_than_its_tape_is_a_mistake(heights: Any, mistakes_of: Any) -> None:
    (found,) = mistakes_of(heights([(0, 0), (1, 13), (8, 14)]), stations_taped="along the slope")
    assert "cannot be" in found.found


def test_breaks_are_named_by_a_mark_in_the_note_and_never_guessed() -> None:
    rows = [
        ElevationReading(line=i + 2, station=12.0 * x, elevation=float(x % 3), note=note)
        for i, (x, note) in enumerate(
            [
                (0, ""),
                (8, ""),
                (12, "break, ditch lip"),
                (14, "brake"),
                (16, "no break here"),
                (24, ""),
                (32, ""),
            ]
        )
    ]
    survey = ElevationSurvey(source="north.csv", rows=tuple(rows))
    for keys, named in (
        ({}, [144.0]),
        ({"read_at_breaks": True}, [144.0, 168.0]),
        ({"read_at_breaks": False}, [144.0]),
    ):
        ground, _ = ground_from_survey(
            Run(name="a", survey="a.csv", **keys), survey, UnitSystem.IMPERIAL, 0.125
        )
        assert ground is not None
        assert list(ground.profile.breaks) == named


def test_a_slip_is_provisional_until_it_is_marked_or_read_again(under_string: Any, ground_of: Any) -> None:
    drops = [24, 24.5, 26, 25, 24, 36.5, 25, 26, 25.5, 24.5, 25]
    rows = list(zip(range(0, 44, 4), drops, strict=True))
    slipped = ground_of(under_string(rows))
    assert slipped.provisional
    (told,) = slipped.slips
    assert told in slipped.notes
    assert told.place == "north.csv line 7"
    survey = under_string(rows)
    marked = replace(
        survey, rows=tuple(replace(r, note="kerb, confirmed" if r.line == 7 else "") for r in survey.rows)
    )
    assert not ground_of(marked).provisional
    assert not ground_of(under_string([*rows[:6], (20, 36.25), *rows[6:]])).provisional
    assert not ground_of(survey, confirmed=True).provisional


def test_a_run_is_as_long_as_its_survey_to_the_last_hair(heights: Any, ground_of: Any) -> None:
    rows = [(0, 0), (8, 1), (16.003, 0)]
    ground = ground_of(heights(rows), start="-1/16 in", end="16 ft 0.1 in")
    assert (ground.start, ground.end) == (0.0, 192.036)


def test_level_ground_is_quiet() -> None:
    """At these stations the arithmetic leaves less than nothing of the slope of level ground."""
    x = np.array([121.1, 231.3, 353.5, 464.3, 577.6, 712.7, 818.7, 942.1])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert not list(slope_doubt(x, np.zeros(8), "a", Words(system=UnitSystem.IMPERIAL, mark=0.125)))


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.reduced_by)
def test_every_kind_of_survey_has_its_reduction(kind: SurveyKind) -> None:
    assert callable(import_module(f"fencegrade.ground.{kind.reduced_by}").reduce)
    assert {*kind.needs, *kind.tells, *kind.one_of, *kind.filled} <= {*kind.columns}
    assert "line" not in kind.columns
    assert [k for k in KINDS if k is not kind and {*kind.tells} & {*k.columns}] == []
