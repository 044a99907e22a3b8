"""From a survey to the ground of a run: order, repeats, faces, ends, slope-taped stations."""

import warnings
from dataclasses import replace
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.ground.slope import slope_doubt
from fencegrade.ground.survey import ground_from_survey
from fencegrade.job.records import Run
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


def test_a_drop_of_nothing_is_a_warning(under_string: Any, ground_of: Any) -> None:
    notes = ground_of(under_string([(0, 24), (4, 0), (8, 20)])).notes
    assert any(p.severity is Severity.WARNING and "touches the ground" in p.found for p in notes)


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
            written(Run, name="a", survey="a.csv", **keys), survey, UnitSystem.IMPERIAL, 0.125
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
