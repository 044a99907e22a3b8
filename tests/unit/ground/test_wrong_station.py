"""A last station far past all others, and all stations in another unit than their heading says."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.wrong_station import station_doubts
from fencegrade.job.survey import Mark
from fencegrade.job.survey_csv import survey_of
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

STATIONS = range(0, 48, 4)
INCHES = np.array([24, 25.5, 24.75, 26.25, 29, 31.5, 33, 32.25, 30.5, 28, 27.125, 26])


def told(ground: Any) -> list[str]:
    return [p.found for p in ground.slips]


@pytest.mark.parametrize(("last", "doubted"), [(440.0, True), (44.0, False), (100.0, False)])
def test_a_last_station_alone_far_past_all_others(
    under_string: Any, heights: Any, ground_of: Any, last: float, doubted: bool
) -> None:
    stations = [*STATIONS[:-1], last]
    for survey in (
        under_string(zip(stations, INCHES, strict=True)),
        heights(zip(stations, INCHES, strict=True)),
    ):
        assert any("stands alone" in t for t in told(ground_of(survey))) is doubted


@pytest.mark.parametrize(
    ("stations", "marked", "told"),
    [
        # over eight of the widest steps before it
        ([0, 48, 96, 481], False, True),
        ([0, 48, 96, 480], False, False),
        # over three times the length of all the rest
        ([0, 48, 96, 144, 192, 769], False, True),
        ([0, 48, 96, 144, 192, 768], False, False),
        ([0, 48, 481], False, False),
        ([0, 48, 96, 481], True, False),
    ],
)
def test_a_last_station_far_off_is_doubted(stations: list[float], marked: bool, told: bool) -> None:
    marks = [
        frozenset({Mark.CONFIRMED} if marked and k == len(stations) - 1 else ()) for k in range(len(stations))
    ]
    levels: Any = SimpleNamespace(
        stations=np.array(stations, dtype=float), marks=marks, lines=[(k + 2,) for k in range(len(stations))]
    )
    survey: Any = SimpleNamespace(source="a.csv", station_unit="")
    say = Words.of_readings(UnitSystem.IMPERIAL)
    last, before = say.station(stations[-1]), say.station(stations[-2])
    assert [str(p) for p in station_doubts(survey, levels, say)] == [
        f"a.csv line {len(stations) + 1}: station {last} stands alone, far past {before}, the last one "
        "before it; "
        'check its decimal point and its unit; if it is right, write "confirmed" in its note'
    ] * told


def stations_told(ground_of: Any, kind: str, unit: str, stations: Any, rise: float = 0.25) -> list[str]:
    """What is said of the stations of a survey of so many inches of rise from one to the next."""
    lines = [f"{x:g},{20 + rise * (k % 2)}" for k, x in enumerate(stations)]
    figure = {"string": "drop", "heights": "elevation"}[kind]
    survey, problems = survey_of("\n".join([f"station [{unit}],{figure} [in]", *lines]), "lane.csv")
    assert survey is not None, problems
    return [t for t in told(ground_of(survey)) if "the stations, " in t]


@pytest.mark.parametrize(
    ("kind", "unit", "stations", "looks"),
    [
        ("string", "in", [0, 4, 8, 12, 16], "feet under a heading in inches"),
        ("heights", "in", range(0, 121, 6), "feet under a heading in inches"),
        ("string", "cm", np.arange(0, 60, 2.4), "metres under a heading in centimetres"),
        ("string", "mm", [0, 2, 4, 6], "metres under a heading in millimetres"),
        ("string", "ft", [0, 48, 96, 144, 192], "inches under a heading in feet"),
        ("string", "m", range(0, 1500, 240), "centimetres under a heading in metres"),
        ("heights", "m", range(0, 9601, 2400), "millimetres under a heading in metres"),
        # read under every board, or where the ground needs it; as close or far in any unit; a line of levels
        ("string", "in", np.arange(0, 240, 5.5), ""),
        ("heights", "in", [*range(0, 49, 6), *range(60, 400, 10)], ""),
        ("string", "in", [0, 6, 12], ""),
        ("string", "in", [0, 1, 2, 3, 4], ""),
        ("string", "ft", range(0, 181, 30), ""),
        ("heights", "ft", range(0, 2001, 250), ""),
        ("string", "ft", [0, 200, 400, 600], ""),
        ("string", "in", range(0, 481, 48), ""),
        ("string", "m", np.arange(0, 20, 2.4), ""),
    ],
)
def test_stations_in_another_unit(ground_of: Any, kind: str, unit: str, stations: Any, looks: str) -> None:
    found = stations_told(ground_of, kind, unit, stations)
    assert [looks in t for t in found] == [True] * bool(looks), found


@pytest.mark.parametrize(("rise", "doubted"), [(2.0, True), (1.9, False)])
def test_close_stations_of_a_long_run_are_doubted_where_the_ground_would_be_too_steep(
    ground_of: Any, rise: float, doubted: bool
) -> None:
    """Every 5-1/2 in over 20 ft: 2 in of rise are 36 %, 1.9 in 35 %."""
    assert bool(stations_told(ground_of, "string", "in", np.arange(0, 240, 5.5), rise)) is doubted
