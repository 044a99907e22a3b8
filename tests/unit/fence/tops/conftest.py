"""Ground and wishes that tests of the top lines share."""

import numpy as np
import pytest
from straight_ground import straight_ground

from fencegrade.ground.profile import GroundLine


@pytest.fixture
def swale() -> GroundLine:
    """A 48 ft swale read every 4 ft under a level string, straight between readings."""
    drops = [24, 24.5, 26, 29, 34, 40, 43, 41, 35, 29.5, 26, 24.5, 24]
    return straight_ground(np.arange(13) * 48.0, -np.array(drops))
