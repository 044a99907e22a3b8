"""Fences built in simulation where the outcome is known: sure hands on ground read every few inches."""

import importlib
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def season() -> Any:
    """The modules of the season."""
    sys.path.insert(0, str(ROOT))
    try:
        names = ("crew", "planned", "ways")
        return {name: importlib.import_module(f"tests.benchmarks.season.{name}") for name in names}
    finally:
        sys.path.remove(str(ROOT))


def ground(season: Any) -> Any:
    """A made-up line: a dip, a bank and small bumps no steeper than a board's room."""
    x = np.arange(0.0, 361.0, 3.0)
    z = 6 * np.cos(x / 60) + 1.5 * np.sin(x / 17)
    return season["crew"].Ground(name="made up", x=x, z=np.round(z * 8) / 8)


def test_with_sure_hands_and_dense_readings_nothing_is_outside_or_wasted(season: Any, tmp_path: Path) -> None:
    crew, planned, ways = season["crew"], season["planned"], season["ways"]
    line = ground(season)
    job = planned.job_of(tmp_path, style="level", more='stop_settings = "every length"')
    people = crew.a_crew(line, 0, perfect=True)
    at = crew.grid(line, 3.0)
    bought, top = planned.as_printed(planned.plan_of(job, at, people.reads(line, at)), len(at))
    stands = ways.build(line, people, top, bought)
    assert (stands.outside, stands.again, stands.thrown, stands.trips) == (0, 0, 0, 0)
    assert stands.money == pytest.approx(ways.known(line, top), abs=0.01)


def test_a_board_cut_an_inch_and_a_half_short_counts_as_outside(season: Any, tmp_path: Path) -> None:
    """The count itself: the same fence with some boards cut short by more than their room."""
    crew, planned, ways = season["crew"], season["planned"], season["ways"]
    line = ground(season)
    job = planned.job_of(tmp_path, style="level")
    people = crew.a_crew(line, 0, perfect=True)
    at = crew.grid(line, 3.0)
    bought, top = planned.as_printed(planned.plan_of(job, at, people.reads(line, at)), len(at))
    kept = bought.kept.copy()
    kept[[5, 9, 20]] -= 2.5
    worse = ways.build(line, people, top, planned.replace(bought, kept=kept))
    assert worse.outside == 3
