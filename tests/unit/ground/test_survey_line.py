"""What stands over the line that readings were taken from."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.reduction import StringChord
from fencegrade.ground.survey_line import line_name, over_line, string_at


def string(name: str, start: float, end: float, height: float) -> StringChord:
    """A level string."""
    return StringChord(id=name, start=start, end=end, start_height=height, end_height=height)


TWO: Any = SimpleNamespace(strings=(string("A", 0.0, 100.0, 10.0), string("B", 90.0, 200.0, 20.0)))
APART: Any = SimpleNamespace(strings=(string("A", 0.0, 100.0, 10.0), string("B", 120.0, 200.0, 20.0)))
ONE: Any = SimpleNamespace(strings=(string("string", 0.0, 100.0, 10.0),))
NONE: Any = SimpleNamespace(strings=())


def test_over_the_string_that_hung_there_the_first_where_two_overlap() -> None:
    stations = np.array([-1.0, 0.0, 50.0, 95.0, 100.0, 101.0, 200.0, 201.0])
    over = over_line(TWO, stations, np.full(8, 72.0))
    assert over == pytest.approx([62, 62, 62, 62, 62, 52, 52, 52]), "past a string, over its end"
    over = over_line(APART, np.array([100.0, 110.0, 120.0]), np.full(3, 72.0))
    assert over == pytest.approx([62, np.nan, 52], nan_ok=True), "between two none hung"
    assert over_line(NONE, stations, stations + 5).tolist() == (stations + 5).tolist()


@pytest.mark.parametrize(
    ("ground", "station", "name", "told"),
    [
        (TWO, 0.0, "A", "string A"),
        (TWO, 100.0, "A", "string A"),
        (TWO, 100.1, "B", "string B"),
        (TWO, 200.1, "B", "string B"),
        (TWO, -0.1, "A", "string A"),
        (APART, 110.0, None, "string"),
        (ONE, 50.0, None, "string"),
        (NONE, 50.0, None, "survey's zero"),
    ],
)
def test_what_heights_are_told_over_at_a_station(
    ground: Any, station: float, name: str | None, told: str
) -> None:
    assert string_at(ground, station) == name
    assert line_name(ground, station) == told
