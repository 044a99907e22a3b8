"""Exact extremes and cuts against brute force: the ground walked at a thousandth of an inch."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.slots import Slots, fill_stretch
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import BottomCut, Fit

Floats = NDArray[np.float64]

STEP = 0.001
MARK = 0.125
CLEARANCE = 2.0


class Yard:
    """Random ground, its pickets, and the ground walked in thousandths by the reference interpolator."""

    def __init__(self, seed: int) -> None:
        chance = np.random.default_rng(seed)
        steps = chance.uniform(4, 60, 12)
        self.x = np.concatenate([[0.0], np.cumsum(steps)])
        self.z = np.cumsum(chance.normal(0, 9, 13))
        self.top = TopLine(
            style=TopStyle.SLOPED,
            stations=np.array([0.0, self.x[-1]]),
            elevations=np.array([self.z.max() + 72.0, self.z.max() + 72.0 + 20.0]),
        )
        self.slots = fill_stretch(0.0, float(self.x[-1]), 5.5, 0.25, Fit.EVEN_GAPS)
        self.curve = PchipInterpolator(self.x, self.z)

    def walk(self, i: int) -> tuple[Floats, Floats]:
        a, b = float(self.slots.left[i]), float(self.slots.right[i])
        s = np.append(np.arange(a, b, STEP), b)
        return s, self.curve(s)

    def steepest(self) -> float:
        return float(np.abs(self.curve(np.linspace(0, self.x[-1], 20001), 1)).max())


@pytest.fixture(params=range(8))
def yard(request: pytest.FixtureRequest) -> Yard:
    return Yard(request.param)


def test_highest_and_lowest_under_each_picket(yard: Yard) -> None:
    line = ground_line(yard.x, yard.z)
    high = line.highest(yard.slots.left, yard.slots.right)
    low = line.lowest(yard.slots.left, yard.slots.right)
    missed = yard.steepest() * STEP
    for i in range(len(yard.slots)):
        _, ground = yard.walk(i)
        assert -1e-9 <= high[i] - ground.max() <= missed
        assert -1e-9 <= ground.min() - low[i] <= missed


def test_square_cuts(yard: Yard) -> None:
    line = ground_line(yard.x, yard.z)
    clearance = np.full(len(yard.slots), CLEARANCE)
    cuts = cut_pickets(line, yard.slots, yard.top, clearance, BottomCut.SQUARE, MARK)
    slack = yard.steepest() * STEP
    for i in range(len(yard.slots)):
        s, ground = yard.walk(i)
        middle = (s[0] + s[-1]) / 2
        crown = yard.top.elevations[0] + 20.0 * middle / yard.x[-1]
        full = crown - ground.max() - CLEARANCE
        assert cuts.kept[i] * MARK <= full + 1e-6
        assert cuts.kept[i] * MARK > full - MARK - slack
        gap = crown - cuts.kept[i] * MARK - ground.min()
        assert cuts.gap[i] == pytest.approx(gap, abs=slack)
        assert cuts.height[i] == pytest.approx(crown - ground.max(), abs=slack)
        assert cuts.tallest[i] == pytest.approx(crown - ground.min(), abs=slack)


def test_scribed_cuts(yard: Yard) -> None:
    """The cut is parallel to the chord but for rounding, clear everywhere, and no mark too high."""
    line = ground_line(yard.x, yard.z)
    clearance = np.full(len(yard.slots), CLEARANCE)
    cuts = cut_pickets(line, yard.slots, yard.top, clearance, BottomCut.SCRIBED, MARK)
    slack = 2 * yard.steepest() * STEP
    for i in range(len(yard.slots)):
        s, ground = yard.walk(i)
        share = (s - s[0]) / (s[-1] - s[0])
        chord = ground[0] + share * (ground[-1] - ground[0])
        lift = float((ground - chord).max()) + CLEARANCE
        bottom = cuts.bottom_left[i] + share * (cuts.bottom_right[i] - cuts.bottom_left[i])
        open_height = bottom - ground
        assert open_height.min() >= CLEARANCE - 1e-6
        assert cuts.gap[i] == pytest.approx(open_height.max(), abs=slack)
        for made, wanted in ((bottom[0], chord[0] + lift), (bottom[-1], chord[-1] + lift)):
            assert made - wanted >= -slack - 1e-6
            assert made - wanted < MARK + slack


def test_a_wall_is_walked_on_both_sides() -> None:
    """Ground with a face: each side's pickets know only their own side."""
    x = np.array([0.0, 30, 60, 96, 96, 130, 170, 200])
    z = np.array([0.0, 2, -1, -3, -33, -34, -30, -31])
    line = ground_line(x, z)
    slots = Slots(left=np.array([85.0, 90.5, 96.0, 101.5]), right=np.array([90.5, 96.0, 101.5, 107.0]))
    before, after = PchipInterpolator(x[:4], z[:4]), PchipInterpolator(x[4:], z[4:])
    for i, curve in enumerate((before, before, after, after)):
        ground = curve(np.arange(slots.left[i], slots.right[i] + STEP / 2, STEP))
        assert line.highest(slots.left[i], slots.right[i]) == pytest.approx(ground.max(), abs=1e-3)
        assert line.lowest(slots.left[i], slots.right[i]) == pytest.approx(ground.min(), abs=1e-3)
