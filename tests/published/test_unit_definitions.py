"""Conversion factors against published tables.

NIST Special Publication 811 (2008), Guide for the Use of the International System of Units, appendix B:
    factors that are exact by definition; quoted from memory.
US Navy MIL-HDBK-1004/6, appendix B: conversion factors rounded to six digits.
US Department of Housing and Urban Development, Residential Structural Design Guide, appendix B: prints the
    square yard as 0.8391274 m2, which contradicts its own yard; kept here as a misprint not to be repeated.
Tolerances are half a unit of the last printed digit.
"""

from fractions import Fraction

import pytest

from fencegrade import units
from fencegrade.units import FORCE, MASS, PRESSURE, VOLUME, length_in, parse_length


@pytest.mark.parametrize(
    ("found", "exact"),
    [
        (length_in(parse_length("1 in"), "mm"), "25.4"),
        (length_in(parse_length("1 ft"), "m"), "0.3048"),
        (length_in(parse_length("1 yd"), "m"), "0.9144"),
        (VOLUME.value_in(units.VOLUME.parse("1 ft3"), "m3"), "0.028316846592"),
        (VOLUME.value_in(units.VOLUME.parse("1 yd3"), "m3"), "0.764554857984"),
        (VOLUME.value_in(units.VOLUME.parse("1 gal"), "in3"), "231"),
        (MASS.value_in(units.MASS.parse("1 lb"), "kg"), "0.45359237"),
        (FORCE.value_in(units.FORCE.parse("1 lbf"), "N"), "4.4482216152605"),
        (units.SPEED.value_in(units.SPEED.parse("1 mph"), "m/s"), "0.44704"),
    ],
)
def test_nist_sp_811_exact_factors(found: float, exact: str) -> None:
    assert found == float(Fraction(exact))


@pytest.mark.parametrize(
    ("found", "printed", "last_digit"),
    [
        (VOLUME.value_in(units.VOLUME.parse("1 gal"), "l"), 3.785411784, 1e-9),
        (PRESSURE.value_in(units.PRESSURE.parse("1 psf"), "Pa"), 47.88026, 1e-5),
        (PRESSURE.value_in(units.PRESSURE.parse("1 psi"), "kPa"), 6.894757, 1e-6),
        (FORCE.value_in(units.FORCE.parse("1 kgf"), "N"), 9.80665, 1e-12),
    ],
)
def test_nist_sp_811_derived_factors(found: float, printed: float, last_digit: float) -> None:
    assert found == pytest.approx(printed, abs=last_digit / 2)


def lb_per_ft3_in_kg_per_m3() -> float:
    return units.MASS.value_in(1.0, "kg") / VOLUME.value_in(1.0, "m3")


def square_yard_in_m2() -> float:
    return float(length_in(parse_length("1 yd"), "m") ** 2)


@pytest.mark.parametrize(
    ("found", "printed", "last_digit"),
    [
        (VOLUME.value_in(units.VOLUME.parse("1 cu yd"), "m3"), 0.764555, 1e-6),
        (VOLUME.value_in(units.VOLUME.parse("1 cu ft"), "m3"), 0.028317, 1e-6),
        (VOLUME.value_in(units.VOLUME.parse("1 gal"), "litres"), 3.78541, 1e-5),
        (VOLUME.value_in(units.VOLUME.parse("1 in3"), "mm3"), 16387.1, 0.1),
        (MASS.value_in(units.MASS.parse("1 lb"), "kg"), 0.453592, 1e-6),
        (FORCE.value_in(units.FORCE.parse("1 lbf"), "N"), 4.44822, 1e-5),
        (lb_per_ft3_in_kg_per_m3(), 16.0185, 1e-4),
        (square_yard_in_m2(), 0.836127, 1e-6),
    ],
)
def test_mil_hdbk_1004_6_rounded_factors(found: float, printed: float, last_digit: float) -> None:
    assert found == pytest.approx(printed, abs=last_digit / 2)


def test_the_misprinted_square_yard_is_not_ours() -> None:
    assert square_yard_in_m2() == pytest.approx(0.83612736, rel=1e-14)
    assert abs(square_yard_in_m2() - 0.8391274) > 0.002


@pytest.mark.parametrize(
    ("inches", "printed"), [("2 in", "51 mm"), ("4 in", "102 mm"), ("6 ft", "1829 mm"), ("7 ft", "2134 mm")]
)
def test_metric_pairs_of_building_rules(inches: str, printed: str) -> None:
    """Pool barrier ordinances (2 in, 4 in); the fence exemption of the IRC, R105.2 (6 ft, 7 ft)."""
    assert units.format_length(parse_length(inches), units.UnitSystem.METRIC) == printed
