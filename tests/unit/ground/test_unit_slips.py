"""Readings in another unit than their column: found few or several, and honest ground is not."""

import math

import numpy as np
import pytest

from fencegrade.ground.readings import Levels, Reading, merge
from fencegrade.ground.wrong_unit import unit_slips, without
from fencegrade.job.survey import Mark
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

METRES = (0, 1.5, 3, 6, 7.5, 9.12, 10.5, 12)
DROPS = (602.0, 611.0, 595.0, 588.0, 604.0, 617.0, 590.0, 560.0)
NAMES = {
    10: "centimetres and millimetres mixed up",
    25.4: "inches and millimetres mixed up",
    100: "a slipped decimal point",
    1000: "metres and millimetres mixed up",
}


def levels(drops: list[float], confirmed: int = -1, upward: bool = False) -> Levels:
    """Drops (mm) under a level string, or elevations."""
    rows = [
        Reading(
            line=k + 2,
            station=x / 0.0254,
            elevation=(d if upward else -d) / 25.4,
            raw=d / 25.4,
            upward=upward,
            marks=frozenset({Mark.CONFIRMED} if k == confirmed else ()),
        )
        for k, (x, d) in enumerate(zip(METRES, drops, strict=True))
    ]
    found, _ = merge(rows, "lane.csv", Words.of_readings(UnitSystem.METRIC))
    assert found is not None
    return found


@pytest.mark.parametrize(
    "slips",
    [
        {1: 61.1},
        {1: 61.1, 2: 59.5},
        {6: 59.0, 7: 56.0},
        {1: 6.11, 4: 60.4},
        {2: 6000.0, 1: 6.11, 4: 60.4},
        {1: 61.1, 4: 60.4, 6: 59.0},
        {0: 60.2, 1: 61.1, 2: 59.5},
        {1: 24.0, 4: 0.604},
    ],
)
def test_each_is_found_with_the_figure_that_fits(slips: dict[int, float]) -> None:
    """Centimetres, inches, metres, a decimal point among millimetres: one, two neighbours, three."""
    drops = [slips.get(k, d) for k, d in enumerate(DROPS)]
    ground = levels(drops)
    found = unit_slips(ground, UnitSystem.METRIC)
    assert [doubt.spot for doubt in found] == sorted(slips)
    for doubt in found:
        meant = 600.0 if slips[doubt.spot] == 6000.0 else DROPS[doubt.spot]
        assert doubt.would_fit * 25.4 == pytest.approx(meant, abs=2)
        times = max(meant / slips[doubt.spot], slips[doubt.spot] / meant)
        assert doubt.looks_like == NAMES[min(NAMES, key=lambda n: abs(math.log(n / times)))]
    assert without(ground, found).raw * 25.4 == pytest.approx(
        [d for k, d in enumerate(drops) if k not in slips]
    )


def test_they_are_found_where_the_ground_bends_as_well() -> None:
    """One in four up to 12 m and level from there, as under two strings: the nearest readings say it."""
    slips = {1: 6.11, 2: 6000.0, 4: 60.4}
    rows = []
    for k in range(16):
        drop, rise = slips.get(k, 600.0 + 10 * (k % 3)), 375.0 * min(k, 8)
        rows.append(
            Reading(line=k + 2, station=1500 * k / 25.4, elevation=(rise - drop) / 25.4, raw=drop / 25.4)
        )
    ground, _ = merge(rows, "lane.csv", Words.of_readings(UnitSystem.METRIC))
    assert ground is not None
    assert [doubt.spot for doubt in unit_slips(ground, UnitSystem.METRIC)] == sorted(slips)


def test_confirmed_and_honest_readings_are_not_doubted() -> None:
    """A stone that reaches the string, a hole, a bank of 1.2 m, a swale, elevations from zero."""
    assert not unit_slips(levels([61.1 if k == 1 else d for k, d in enumerate(DROPS)], 1), UnitSystem.METRIC)
    shapes = (
        [602, 611, 250, 588, 604, 617, 590, 560],
        [602, 611, 595, 1150, 604, 617, 590, 560],
        [600, 605, 640, 1230, 1560, 1580, 1570, 1590],
        [600, 610, 740, 1010, 1070, 870, 640, 600],
        [30, 140, 260, 410, 520, 660, 790, 900],
    )
    for shape in shapes:
        assert not unit_slips(levels(list(map(float, shape))), UnitSystem.METRIC), shape
    assert not unit_slips(levels([0.0, 3, 20, 300, 320, 310, 330, 340], upward=True), UnitSystem.METRIC)


def test_rough_ground_is_not_doubted() -> None:
    """Fractal ground, 60 mm over a metre, its highest point a hand under the string: none of 320 readings."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        ground = np.cumsum(rng.normal(0, 60 * 1.5**0.6, len(METRES)))
        drops = np.round(ground - ground.min() + 100.0)
        assert not unit_slips(levels(drops.tolist()), UnitSystem.METRIC), drops
