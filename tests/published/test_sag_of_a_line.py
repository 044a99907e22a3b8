"""Sag of lines, cables and strings.

Beer & Johnston, Vector Mechanics: Statics, chapter 7, slack of a cable (question seen, answer 12.25 ft from
memory). Two exercises, a conductor's weight and a weight from its sag, cannot be looked up again: no source.
Parabola against catenary and the table of nylon bounds: computed from geometry, specific gravity of nylon
1.14 (US Fish and Wildlife Service gear pages).
"""

import math

import numpy as np
import pytest

from fencegrade.ground.sag import (
    COMMON_LINE,
    COMMON_PULL,
    Hang,
    hang_of,
    parabola_sag,
)
from fencegrade.units import FORCE, LINE_WEIGHT


def test_conductor_weight_from_its_sag() -> None:
    """s 2.0 m, L 250 m, T 2879 kg: total weight 184.29 kg (exercise, no source)."""
    by_length = 8 * 2879 * 2.0 / 250**2
    assert parabola_sag(by_length, 250, 2879) == pytest.approx(2.0)
    assert by_length * (250 + by_length**2 * 250**3 / (24 * 2879**2)) == pytest.approx(184.29, abs=0.005)


def test_slack_to_sag() -> None:
    """100 ft and 4 ft of slack: 12.25 ft. The slack of a string is 8 s^2 / 3 L of its sag, for small sag."""
    sag = Hang(measured=12.25).at_mid_span(100)
    assert 8 * sag**2 / (3 * 100) == pytest.approx(4, abs=0.005)


def test_weight_from_sag() -> None:
    """L 30 m, sag 0.3015 m, T 100 N: 8.04 N in all; trap: 15 N (exercise, no source)."""
    weight = 8.04
    assert parabola_sag(weight / 30, 30, 100) == pytest.approx(0.3015, abs=5e-5)
    assert parabola_sag(15.0 / 30, 30, 100) != pytest.approx(0.3015, abs=0.1)


@pytest.mark.parametrize(
    ("w", "span", "pull", "parabola", "catenary"),
    [
        (0.0012, 25, 10, 0.009375, 0.00937500176),
        (0.0012, 50, 10, 0.0375, 0.0375000281),
        (0.0012, 50, 20, 0.01875, 0.0187500035),
        (0.0012, 100, 20, 0.075, 0.0750000563),
        (0.0005, 50, 5, 0.03125, 0.0312500163),
        (1, 100, 100, 12.5, 12.7625965),
    ],
)
def test_parabola_and_catenary(w: float, span: float, pull: float, parabola: float, catenary: float) -> None:
    assert parabola_sag(w, span, pull) == pytest.approx(parabola, rel=1e-9)
    assert Hang(load=w / pull).at_mid_span(span) == pytest.approx(catenary, rel=1e-8)


@pytest.mark.parametrize(
    ("span", "sags"),
    [(25, (0.22, 0.11, 0.06, 0.03)), (50, (0.88, 0.44, 0.22, 0.11)), (100, (3.54, 1.77, 0.88, 0.44))],
)
def test_sag_at_the_nylon_bound(span: float, sags: tuple[float, ...]) -> None:
    """Inches, 1.4 mm solid nylon 0.00118 lb/ft, pulls 5, 10, 20, 40 lb."""
    found = [12 * parabola_sag(0.00118, span, pull) for pull in (5, 10, 20, 40)]
    assert found == pytest.approx(sags, abs=0.005 + 1e-12)


def test_common_line_at_a_common_pull() -> None:
    """1.4 g/m, 45 N: 8.9 mm at 50 ft, 35 mm at 100 ft; a 15 g level adds 12 and 25 mm (own arithmetic)."""
    assert pytest.approx(LINE_WEIGHT.parse("1.4 g/m"), rel=1e-9) == COMMON_LINE
    pull = FORCE.parse("45 N")
    assert pytest.approx(pull, abs=0.5) == COMMON_PULL
    for span, sag, half, level in ((50, 8.9, 0.05, 12.0), (100, 35.0, 0.5, 25.0)):
        found = 25.4 * parabola_sag(COMMON_LINE, span * 12, pull)
        assert found == pytest.approx(sag, abs=half)
        added = 25.4 * Hang(level=15 / 453.59237 / pull).at_mid_span(span * 12)
        assert added == pytest.approx(level, abs=0.5)


def test_sag_of_a_sloping_string_against_the_curve_itself() -> None:
    """The catenary y = a cosh(x / a) cut between two of its own points, at unequal heights."""
    a, x1, x2 = 900.0, -200.0, 400.0
    x = np.linspace(x1, x2, 41)
    curve = a * np.cosh(x / a)
    chord = np.interp(x, [x1, x2], [curve[0], curve[-1]])
    found = Hang(load=1 / a).below_chord(x - x1, x2 - x1, float(curve[-1] - curve[0]))
    assert found == pytest.approx(chord - curve, abs=1e-9)


def test_line_level_is_two_straight_halves() -> None:
    hang = hang_of(weight=COMMON_LINE, pull=10.0, sag=None, line_level=0.033, span=600)
    bare = hang_of(weight=COMMON_LINE, pull=10.0, sag=None, line_level=None, span=600)
    x = np.array([0.0, 150.0, 300.0, 450.0, 600.0])
    assert hang.below_chord(x, 600) - bare.below_chord(x, 600) == pytest.approx(
        0.033 * 600 / (4 * 10.0) * np.array([0, 0.5, 1, 0.5, 0])
    )


def test_sag_measured_with_a_line_level_on_is_what_line_and_level_do_together() -> None:
    """Whatever the pull, a string of weight and level known comes out the same by its pull and by its sag."""
    x = np.linspace(0, 1200, 9)
    for pull in (5.0, 10.0, 20.0):
        known = hang_of(COMMON_LINE, pull, None, 0.044, span=1200)
        sag = known.at_mid_span(1200)
        measured = hang_of(COMMON_LINE, None, sag, 0.044, span=1200)
        assert measured.below_chord(x, 1200) == pytest.approx(known.below_chord(x, 1200), abs=2e-3)
        whole = hang_of(None, None, sag, None, span=1200)
        assert np.abs(whole.below_chord(x, 1200) - known.below_chord(x, 1200)).max() > 0.05


def test_measured_sag_is_a_parabola_and_taken_whole() -> None:
    hang = hang_of(weight=None, pull=None, sag=0.375, line_level=None, span=600)
    assert hang.below_chord([0, 150, 300, 600], 600) == pytest.approx([0, 0.28125, 0.375, 0])


def test_pull_along_a_sloping_string_is_less_than_level() -> None:
    assert hang_of(0.001, 10.0, None, None, 600, slope=0.75).load == pytest.approx(0.001 / 8.0)
    assert math.isclose(hang_of(0.001, 10.0, None, None, 600).load, 1e-4)
