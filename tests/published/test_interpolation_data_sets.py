"""Data sets of the shape-preserving interpolation literature.

Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246: RPN14 and Akima-3 (seen in open-source spline test
files). Akima, J. ACM 17 (1970) 589-602, even and uneven abscissae (same). De Boor, A Practical Guide to
Splines, titanium heat data, 12 points (same). Knot slopes: Fritsch & Butland 1984 formula as in SciPy 1.17.1
(computed).
"""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from fencegrade.ground.fit import fit_ground
from fencegrade.ground.profile import GroundLine, ground_line

AKIMA = [10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85]
SETS: dict[str, tuple[list[float], list[float]]] = {
    "RPN14": (
        [7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20],
        [0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994],
    ),
    "Akima-3": ([0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15], AKIMA),
    "Akima 1970": (list(range(11)), AKIMA),
    "Akima uneven": ([0, 1, 3, 4, 6, 7, 9, 10, 12, 13, 15], AKIMA),
    "titanium": (
        [595, 635, 695, 795, 855, 875, 895, 915, 935, 985, 1035, 1075],
        [0.644, 0.652, 0.644, 0.694, 0.907, 1.336, 2.169, 1.598, 0.916, 0.607, 0.603, 0.608],
    ),
}
SLOPES = {
    "Akima-3": [0, 0, 0, 0, 0, 0, 0.764150943396, 4.68595041322, 9.54545454545, 9.0, 31.6666666667],
    "Akima 1970": [0, 0, 0, 0, 0, 0, 0.9, 7.9746835443, 15.5555555556, 14.2857142857, 32.5],
    "Akima uneven": [
        0,
        0,
        0,
        0,
        0,
        0,
        0.525974025974,
        6.71800947867,
        12.3529411765,
        10.9756097561,
        14.1666666667,
    ],
    "RPN14": [
        0,
        0.000552508681868,
        0.335876834608,
        0.349449167686,
        0.596958238927,
        0.060321845523,
        0.000900395382769,
        3.14246836304e-05,
        0,
    ],
    "titanium": [
        0.000333333333333,
        0,
        0,
        0.000935236004391,
        0.00691725965178,
        0.0283167194929,
        0,
        -0.031079169992,
        -0.0116136513935,
        -0.000157955271565,
        0,
        0.000216111111111,
    ],
}


def excess(x: np.ndarray, z: np.ndarray, knots_x: np.ndarray, knots_z: np.ndarray) -> float:
    """How far z leaves the interval of the two data around each x."""
    i = np.clip(np.searchsorted(knots_x, x, side="right") - 1, 0, len(knots_x) - 2)
    low, high = np.minimum(knots_z[i], knots_z[i + 1]), np.maximum(knots_z[i], knots_z[i + 1])
    return float(np.maximum(z - high, low - z).max())


@pytest.mark.parametrize("name", SETS)
def test_never_beyond_neighbouring_data_and_never_turning_back(name: str) -> None:
    x, z = (np.array(v, dtype=float) for v in SETS[name])
    profile = fit_ground(x, z)
    fine = np.linspace(x[0], x[-1], 20001)
    curve = profile.elevation(fine)
    assert excess(fine, curve, x, z) <= 2e-15 * np.abs(z).max()
    for a, b, rise in zip(x[:-1], x[1:], np.diff(z), strict=True):
        steps = np.diff(profile.elevation(np.linspace(a, b, 400)))
        assert (steps * np.sign(rise) >= -1e-13).all() if rise else np.abs(steps).max() < 1e-13


@pytest.mark.parametrize(
    ("name", "overshoot"),
    [
        ("RPN14", "0.1690"),
        ("Akima-3", "5.759"),
        ("Akima 1970", "1.046"),
        ("Akima uneven", "0.0695"),
        ("titanium", "0.0189"),
    ],
)
def test_a_not_a_knot_cubic_fails_the_same_test(name: str, overshoot: str) -> None:
    x, z = (np.array(v, dtype=float) for v in SETS[name])
    fine = np.linspace(x[0], x[-1], 200001)
    half = 0.5 * 10.0 ** -len(overshoot.split(".")[1])
    assert excess(fine, CubicSpline(x, z)(fine), x, z) == pytest.approx(float(overshoot), abs=half)


@pytest.mark.parametrize("name", SLOPES)
def test_slopes_at_the_data(name: str) -> None:
    x, z = SETS[name]
    line: GroundLine = ground_line(x, z)
    assert line.coefficients[:, 2] == pytest.approx(SLOPES[name][:-1], abs=1e-10)
