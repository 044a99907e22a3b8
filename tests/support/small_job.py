"""The smallest job there is, and the mistakes that anything done with a job finds."""

from collections.abc import Callable
from typing import Any

import pytest

from fencegrade.job.defaults import default_tables
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem

JOB = """
[job]
title = "Herb garden"
units = "imperial"
[[run]]
name = "lane side"
survey = "lane.csv"
[[pickets.stock]]
length = "6 ft"
"""
SURVEY = "station [ft],drop [in]\n0,20\n8,22\n16,21\n24,20\n"


def mistakes_of(ask: Callable[..., object], *given: object) -> list[str]:
    """Every mistake that a call raises, as the builder reads it."""
    with pytest.raises(JobMistakesError) as caught:
        ask(*given)
    return [str(p) for p in caught.value.problems]


def filled(tree: dict[str, Any], system: UnitSystem = UnitSystem.IMPERIAL) -> dict[str, Any]:
    """A job file's tree with the defaults of its tables."""
    return tree | {table: keys | tree.get(table, {}) for table, keys in default_tables(system).items()}
