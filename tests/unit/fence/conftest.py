"""Builders of records for the fence tests: a small job whose tables can be changed key by key."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.job.records import Posts, Rails, Run
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words


def a_run(**keys: Any) -> Run:
    return Run(**{"name": "herb garden", "survey": "herb.csv", **keys})


def some_posts(*lengths: str, **keys: Any) -> Posts:
    table = {
        "width": "3-1/2 in",
        "spacing": "8 ft",
        "height": "-2 in",
        "hole_diameter": "10 in",
        "least_depth": "24 in",
        "stock": [{"length": x} for x in lengths or ("8 ft", "10 ft", "12 ft")],
    }
    return Posts(**{**table, **keys})


def some_rails(*lengths: str, **keys: Any) -> Rails:
    table = {"height": "3-1/2 in", "joint": "butted", "stock": [{"length": x} for x in lengths or ("8 ft",)]}
    return Rails(**{**table, **keys})


def straight_ground(length: float, slope: float = 0.0) -> GroundLine:
    x = np.linspace(0.0, length, 5)
    return ground_line(x, x * slope)


@pytest.fixture
def make() -> SimpleNamespace:
    """`make.run`, `make.posts`, `make.rails`, `make.ground`, `make.say`."""
    return SimpleNamespace(
        run=a_run,
        posts=some_posts,
        rails=some_rails,
        ground=straight_ground,
        say=Words(system=UnitSystem.IMPERIAL, mark=1 / 8),
    )
