"""US 29 CFR 1910.333(c)(3)(i): unqualified persons stay 10 ft (305 cm) from overhead lines to 50 kV;
from memory."""

import pytest

from fencegrade.figures.overhead_lines import NEAREST, NEAREST_SOURCE


def test_ten_feet() -> None:
    assert NEAREST == 10 * 12
    assert pytest.approx(305, abs=0.5) == NEAREST * 2.54
    assert "1910.333" in str(NEAREST_SOURCE)
