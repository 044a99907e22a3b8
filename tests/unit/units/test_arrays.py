"""Of several places alike the first is told, on every processor."""

import numpy as np

from fencegrade.units.arrays import first_most


def test_the_first_of_those_alike_but_for_rounding_is_the_greatest() -> None:
    assert first_most(np.array([1.0, 2.0, 2.0 + 9e-7, 1.5])) == 1
    assert first_most(np.array([1.0, 2.0, 2.0 + 2e-6])) == 2
    assert first_most(np.array([-np.inf, -np.inf])) == 0
