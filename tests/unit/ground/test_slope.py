"""Stations taped along the slope."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.job.records import StringLine


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
