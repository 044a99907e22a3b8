"""Stations taped along the slope."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.ground.slope import _wide_apart, level_stations, slope_doubt, too_steep
from fencegrade.job.records import StringLine
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.IMPERIAL, mark=0.125)


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
    assert "12 %" in note.found
    assert "6-7/8 in" in note.found  # 24.172 m (1 - sqrt(1 - 0.12^2)) = 0.1746 m
    flat = ground_of(heights([(0, 0), (8, 4), (16, 8)]))
    assert not [p for p in flat.notes if "steep" in p.found]


def test_a_sloping_string_over_slope_taped_stations(under_string: Any, ground_of: Any) -> None:
    """Ground and string fall one in five; stations 13 in apart on the tape for 12.75 in level."""
    taped = np.hypot(5, 1) / 5
    rows = [(x * taped, 20.0) for x in (0, 10, 20, 30)]
    string = written(StringLine, id="A", start="0 ft", end=f"{30 * taped} ft", fall="72 in")
    ground = ground_of(under_string(rows), string=(string,), stations_taped="along the slope")
    assert ground.stations == pytest.approx(np.array([0, 120, 240, 360]), abs=0.01)
    assert ground.elevations == pytest.approx(-20 - np.array([0, 24, 48, 72]), abs=0.01)


def test_ground_steeper_than_its_tape_is_a_mistake(heights: Any, mistakes_of: Any) -> None:
    (found,) = mistakes_of(heights([(0, 0), (1, 13), (8, 14)]), stations_taped="along the slope")
    assert "cannot be" in found.found


@pytest.mark.parametrize("end", [None, "30 ft"])
def test_the_doubt_tells_what_its_remedy_makes_of_the_run(
    heights: Any, ground_of: Any, end: str | None
) -> None:
    """Readings every 3 ft on ground that falls in steps: told is the length that goes, to its last leg."""
    rows = [(3 * k, -9 * ((k + 1) // 2)) for k in range(13)]
    keys = {"end": end} if end else {}
    doubted, taped = (
        ground_of(heights(rows), **keys, **more) for more in ({}, {"stations_taped": "along the slope"})
    )
    (told,) = [p.found for p in doubted.notes if "tape lay along" in p.found]
    shorter = (doubted.end - doubted.start) - (taped.end - taped.start)
    assert f"the run is {SAY.fine(shorter)} shorter than" in told


def test_level_stations_leg_by_leg() -> None:
    """Legs of 5 by 3, a face, 13 by 5 down; ground as steep as its tape goes nowhere, steeper is none."""
    taped = np.array([10.0, 15.0, 15.0, 28.0])
    assert level_stations(taped, np.array([0.0, 3.0, 9.0, 4.0])).tolist() == [10, 14, 14, 26]
    assert level_stations(taped[:2], np.array([0.0, 5.0])).tolist() == [10, 10]
    assert np.isnan(level_stations(taped[:2], np.array([0.0, 5.1]))[1])


@pytest.mark.parametrize(
    ("rise", "told"),
    [(11.875, None), (12.0, "12 in"), (-12.0, "12 in"), (13.0, "13 in")],
)
def test_ground_as_steep_as_its_tape_cannot_be(rise: float, told: str | None) -> None:
    taped, z = np.array([0.0, 12.0, 12.0, 60.0]), np.array([0.0, rise, 50.0, 50.0])
    assert [str(p) for p in too_steep(taped, z, "north side", SAY)] == [
        f'north side, 0" to 1\' 0": the ground changes by {told} within 12 in of tape, which cannot be; '
        "check "
        "both readings; at a wall or kerb give two readings at one station, before and after"
    ] * bool(told)


@pytest.mark.parametrize(
    ("stations", "kept"),
    [
        ([0, 95, 190], [0, 95, 190]),
        ([0, 94, 190], [0, 190]),
        ([0, 95, 189], [0, 189]),
        ([0, 50, 96, 150, 200, 300], [0, 96, 200, 300]),
        ([0, 10], [0, 10]),
    ],
)
def test_readings_a_tape_on_the_ground_bends_at(stations: list[float], kept: list[float]) -> None:
    x, z = _wide_apart(np.array(stations, dtype=float), np.array(stations) * 2.0)
    assert (x.tolist(), z.tolist()) == (kept, [2 * k for k in kept])


@pytest.mark.parametrize(
    ("rise", "face", "told"),
    [
        # 400 in that rise by 20 are 0.5 in longer along the slope; 5 % is the least that is told
        (19.9, 0.0, None),
        (20.1, 0.0, ("5 %", "1/2 in")),
        (-40.0, 0.0, ("10 %", "2 in")),
        (10.0, 100.0, None),
    ],
)
def test_a_slope_is_doubted_from_5_per_cent(rise: float, face: float, told: tuple[str, str] | None) -> None:
    x = np.array([0.0, 200.0, 200.0, 400.0])
    z = np.array([0.0, rise / 2, rise / 2 + face, rise + face])
    assert [str(p) for p in slope_doubt(x, z, "north side", SAY)] == (
        [
            f"north side: the ground is on the whole as steep as an even slope of {told[0]}: if the tape lay "
            "along "
            f"it, the run is {told[1]} shorter than the 33' 4\" written; hold the tape level on ground "
            "steeper than "
            '5 %; where it lay along the ground, the run says stations_taped = "along the slope" in the job '
            "file"
        ]
        if told
        else []
    )
