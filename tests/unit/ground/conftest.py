"""Short ways to write down a survey in feet and inches."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest

from fencegrade.ground.survey import RunGround, ground_from_survey
from fencegrade.job.records import Run
from fencegrade.job.survey import ElevationReading, ElevationSurvey, Side, StringReading, StringSurvey, Survey
from fencegrade.problems import Problem, Severity
from fencegrade.units import UnitSystem


def under_string(rows: Iterable[Sequence[Any]]) -> StringSurvey:
    """Rows (station ft, drop in, string or None, side or None, known in or None); line 2 is the first."""
    full = [(*row, None, None, None)[:5] for row in rows]
    return StringSurvey(
        source="north.csv",
        rows=tuple(
            StringReading(
                line=i + 2,
                station=12.0 * x,
                drop=d,
                string=string,
                side=Side(side) if side else None,
                known=known,
            )
            for i, (x, d, string, side, known) in enumerate(full)
        ),
    )


def heights(rows: Iterable[Sequence[Any]]) -> ElevationSurvey:
    """Rows (station ft, elevation in, side or None)."""
    full = [(*row, None)[:3] for row in rows]
    return ElevationSurvey(
        source="north.csv",
        rows=tuple(
            ElevationReading(line=i + 2, station=12.0 * x, elevation=z, side=Side(side) if side else None)
            for i, (x, z, side) in enumerate(full)
        ),
    )


def a_run(**keys: Any) -> Run:
    """A run whose name and survey do not matter."""
    return Run(name="north side", survey="north.csv", **keys)


def ground_of(survey: Survey, system: UnitSystem = UnitSystem.IMPERIAL, **keys: Any) -> RunGround:
    """The ground of a survey that holds no mistake."""
    ground, problems = ground_from_survey(a_run(**keys), survey, system, 0.125)
    assert ground is not None, [str(p) for p in problems]
    return ground


def mistakes_of(survey: Survey, **keys: Any) -> list[Problem]:
    """The mistakes in a survey, which then gives no ground."""
    ground, problems = ground_from_survey(a_run(**keys), survey, UnitSystem.IMPERIAL, 0.125)
    found = [p for p in problems if p.severity is Severity.MISTAKE]
    assert (ground is None) == bool(found)
    return found


@pytest.fixture(name="under_string")
def _under_string() -> Callable[..., StringSurvey]:
    return under_string


@pytest.fixture(name="heights")
def _heights() -> Callable[..., ElevationSurvey]:
    return heights


@pytest.fixture(name="a_run")
def _a_run() -> Callable[..., Run]:
    return a_run


@pytest.fixture(name="ground_of")
def _ground_of() -> Callable[..., RunGround]:
    return ground_of


@pytest.fixture(name="mistakes_of")
def _mistakes_of() -> Callable[..., list[Problem]]:
    return mistakes_of
