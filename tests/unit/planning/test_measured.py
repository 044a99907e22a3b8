"""Ground measured in place: its line worked by hand, and what is hard to believe of it."""

from typing import Any

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.as_built import MeasuredGround
from fencegrade.planning.measured import _edges_of_ground, _line_through


def top(*points: tuple[float, float]) -> TopLine:
    x, z = (np.array(v, dtype=float) for v in zip(*points, strict=True))
    return TopLine(style=TopStyle.RACKED, stations=x, elevations=z)


LEVEL = top((0, 80), (100, 80))
RISING = straight_ground([0, 100], [0, 10])
FALLING = straight_ground([0, 100], [10, 0])


@pytest.mark.parametrize(
    ("line", "over", "drop", "edges"),
    [
        # both edges measured: each from the top over it
        (RISING, LEVEL, (75.0, 74.0), (5, 6)),
        (RISING, top((0, 80), (100, 90)), (75.0, 74.0), (9, 10.5)),
        # at a step the board's own side counts
        (RISING, top((0, 90), (40, 90), (40, 80), (45, 80), (45, 70), (100, 70)), (75.0, 74.0), (5, 6)),
        # one drop is to the higher edge; the other is the survey's, but no higher
        (RISING, LEVEL, (76.0,), (4, 4)),
        (RISING, LEVEL, (74.5,), (4, 5.5)),
        (RISING, LEVEL, (78.0,), (2, 2)),
        (FALLING, LEVEL, (73.0,), (7, 5.5)),
        (FALLING, LEVEL, (76.0,), (4, 4)),
    ],
)
def test_ground_at_the_edges_of_a_board(
    line: Any, over: TopLine, drop: tuple[float, ...], edges: tuple[float, float]
) -> None:
    """A board from 40 to 45 in, over ground at 4 to 4-1/2 or at 6 to 5-1/2 in."""
    measured = MeasuredGround(number=1, drop=drop)
    assert _edges_of_ground(line, 40.0, 45.0, over, measured) == pytest.approx(edges)


@pytest.mark.parametrize(
    ("a", "b", "stations", "elevations"),
    [
        (40.0, 45.0, [0, 30, 40, 45, 60, 60, 100], [0, 3, 7, 8, 6, 2, 1]),
        # a reading between the edges or at one is replaced
        (28.0, 33.0, [0, 28, 33, 60, 60, 100], [0, 7, 8, 6, 2, 1]),
        (30.0, 35.0, [0, 30, 35, 60, 60, 100], [0, 7, 8, 6, 2, 1]),
        (25.0, 30.0, [0, 25, 30, 60, 60, 100], [0, 7, 8, 6, 2, 1]),
        # a face at an edge keeps its other side
        (60.0, 65.0, [0, 30, 60, 60, 65, 100], [0, 3, 6, 7, 8, 1]),
        (55.0, 60.0, [0, 30, 55, 60, 60, 100], [0, 3, 7, 8, 2, 1]),
        (0.0, 5.0, [0, 5, 30, 60, 60, 100], [7, 8, 3, 6, 2, 1]),
        (95.0, 100.0, [0, 30, 60, 60, 95, 100], [0, 3, 6, 2, 7, 8]),
    ],
)
def test_the_line_goes_through_what_was_measured(
    a: float, b: float, stations: list[float], elevations: list[float]
) -> None:
    line = straight_ground([0, 30, 60, 60, 100], [0, 3, 6, 2, 1])
    found = _line_through(line, a, b, (7.0, 8.0))
    assert found.stations.tolist() == stations
    assert found.elevations.tolist() == elevations


def test_ground_without_faces_has_none_after() -> None:
    found = _line_through(RISING, 40.0, 45.0, (7.0, 8.0))
    assert (found.stations.tolist(), found.elevations.tolist()) == ([0, 40, 45, 100], [0, 7, 8, 10])
