"""ASCE 7: velocity pressure, force on solid freestanding walls, and the whole chain down to a post.

Municipal calculation records as named; Kz, Kd and the table of force coefficients from memory.
"""

from typing import Any

import numpy as np
import pytest

from fencegrade.fence.posts.wind import required_depth
from fencegrade.fence.posts.wind_load import velocity_pressure
from fencegrade.figures.wind import (
    ALLOWABLE_STRESS,
    ARM,
    FORCE_COEFFICIENTS,
    GUST,
    KZ,
    Exposure,
    end_zone_coefficients,
    force_coefficient,
)


def test_velocity_pressure_of_a_municipal_record() -> None:
    """City of Rexburg ID public record 435445: 115 mph, Kz 0.70, Kd 0.85, 20.1 psf."""
    assert velocity_pressure(115, Exposure.B, kz=0.70) == pytest.approx(20.1, abs=0.05)


def test_a_sign_on_the_ground() -> None:
    """City of Zephyrhills FL record 177503, page 8: 140 mph without K, times 0.77, 0.85 and 1.4; 6.5 by 6 ft.

    The record goes on from its rounded 50.2 psf and 46.0 psf.
    """
    q = velocity_pressure(140, Exposure.B, kz=1, kd=1)
    assert q == pytest.approx(50.2, abs=0.05)
    pressure = q * 0.77 * GUST.value * 1.4
    assert pressure == pytest.approx(46.0, abs=0.05)
    assert 50.2 * 0.77 * GUST.value * 1.4 * 39 == pytest.approx(1794, abs=0.5)
    assert 46.0 * 39 * 3 == 5382


@pytest.mark.parametrize(
    ("ratio", "cf"),
    [
        (0.05, 1.80),
        (0.1, 1.70),
        (0.2, 1.65),
        (0.5, 1.55),
        (1, 1.45),
        (2, 1.40),
        (4, 1.35),
        (5, 1.35),
        (10, 1.30),
        (20, 1.30),
        (30, 1.30),
        (45, 1.30),
    ],
)
def test_force_coefficient(ratio: float, cf: float) -> None:
    """ASCE 7-10 figure 29.4-1 / 7-16 figure 29.3-1, s/h = 1, cases A and B: from memory."""
    assert (ratio, cf) in FORCE_COEFFICIENTS
    assert force_coefficient(ratio) == pytest.approx(cf)
    assert force_coefficient(1000) == 1.30
    assert len(FORCE_COEFFICIENTS) == 12


@pytest.mark.parametrize(
    ("ratio", "cf"),
    [
        (2, (2.25, 1.50, 1.50, 1.50, 1.50, 1.50, 1.50)),
        (4, (2.90, 1.90, 1.30, 1.10, 1.10, 1.10, 1.35)),
        (10, (3.75, 2.45, 1.85, 0.95, 0.95, 0.95, 1.30)),
        (13, (4.00, 2.60, 2.00, 1.50, 1.35, 0.90, 0.55)),
        (29, (4.15, 2.575, 1.975, 1.675, 1.60, 1.00, 0.55)),
        (90, (4.30, 2.55, 1.95, 1.85, 1.85, 1.10, 0.55)),
    ],
)
def test_end_zones(ratio: float, cf: tuple[float, ...]) -> None:
    """ASCE 7-16 figure 29.3-1, case C, times 1.8 - s/h at s/h = 1: from memory; 29 is midway of 13 and 45."""
    assert end_zone_coefficients(ratio) == pytest.approx([0.8 * c for c in cf])


def test_exposures() -> None:
    """ASCE 7-16 table 26.10-1, 0 to 15 ft, from memory."""
    assert {e: k.value for e, k in KZ.items()} == {Exposure.B: 0.57, Exposure.C: 0.85, Exposure.D: 1.03}


def test_exposure_c_at_fence_height() -> None:
    """Computed from Kz 0.85 and Kd 0.85, both from memory: 24.46 psf at 115 mph."""
    assert KZ[Exposure.C].value == 0.85
    assert velocity_pressure(115, Exposure.C) == pytest.approx(24.46, abs=0.005)


# exposure, q, 0.6 p (psf), force (lbf), moment (ft lbf), depths (ft): 1 ft at 100, 1 ft and 10 in at 150
CHAIN = [
    (Exposure.C, 24.46, 16.22, 778, 2569, (6.51, 5.49, 5.93)),
    (Exposure.B, 16.40, 10.88, 522, 1723, (5.50, 4.65, 5.02)),
]


@pytest.mark.parametrize("row", CHAIN, ids=["exposure C", "exposure B"])
def test_the_whole_chain_for_a_6_ft_fence(row: tuple[Any, ...]) -> None:
    """6 ft high, posts 8 ft apart, 115 mph, Cf 1.30, twice the soil table: computed independently."""
    exposure, q, pressure, force, moment, depths = row
    found = velocity_pressure(115, exposure)
    assert found == pytest.approx(q, abs=0.005)
    design = ALLOWABLE_STRESS.value * found * GUST.value * 1.30
    assert design == pytest.approx(pressure, abs=0.005)
    assert design * 48 == pytest.approx(force, abs=0.5)
    arm = ARM.value * 6
    assert arm == pytest.approx(3.3)
    assert design * 48 * arm == pytest.approx(moment, abs=0.5)
    got = [required_depth(design * 48, arm, b, 2 * s) for b, s in ((1, 100), (1, 150), (10 / 12, 150))]
    assert got == pytest.approx(depths, abs=0.005)
    assert np.min(got) > 2, "the 2 ft hole does not pass"
