"""Whole marks of a tape, and lengths printed as it reads."""

import math

import pytest

from fencegrade.units import (
    UnitSystem,
    default_mark,
    fixed_text,
    format_length,
    marks_down,
    marks_up,
    to_marks,
)
from fencegrade.units.tolerances import MARK_GRACE

IMPERIAL, METRIC = UnitSystem
MM = 1 / 25.4


@pytest.mark.parametrize(
    ("inches", "mark", "down", "nearest", "up"),
    [
        (70.0, 1.0, 70, 70, 70),
        (69.9999999999, 1.0, 70, 70, 70),
        (70.0000000001, 1.0, 70, 70, 70),
        (69.999, 1.0, 69, 70, 70),
        (70.001, 1.0, 70, 70, 71),
        (70.0625, 0.125, 560, 561, 561),
        (-70.0625, 0.125, -561, -561, -560),
        (-0.01, 0.125, -1, 0, 0),
        (0.0, 0.125, 0, 0, 0),
        (1613 / 25.4, MM, 1613, 1613, 1613),
        (1612.5 / 25.4, MM, 1612, 1613, 1613),
    ],
)
def test_counts_of_marks(inches: float, mark: float, down: int, nearest: int, up: int) -> None:
    assert (marks_down(inches, mark), to_marks(inches, mark), marks_up(inches, mark)) == (down, nearest, up)


def test_the_grace_is_a_millionth_of_a_mark() -> None:
    assert MARK_GRACE == 1e-6
    assert marks_down(9 + 0.125 * (1 - 0.9e-6), 0.125) == 73
    assert marks_down(9 + 0.125 * (1 - 1.1e-6), 0.125) == 72


def test_a_half_goes_away_from_zero_whatever_the_noise() -> None:
    for count in range(300):
        for half in ((count + 0.5) * MM, (count + 0.5) / 25.4, (count + 0.5 - 1e-9) * MM):
            assert to_marks(half, MM) == count + 1
            assert to_marks(-half, MM) == -count - 1


@pytest.mark.parametrize(
    ("inches", "plain", "in_feet"),
    [
        (63.5, "63-1/2 in", "5' 3-1/2\""),
        (0.0, "0 in", '0"'),
        (-0.0, "0 in", '0"'),
        (-0.06, "0 in", '0"'),
        (0.875, "7/8 in", '7/8"'),
        (12.0, "12 in", "1' 0\""),
        (12.25, "12-1/4 in", "1' 0-1/4\""),
        (-3.125, "-3-1/8 in", '-3-1/8"'),
        (-14.0, "-14 in", "-1' 2\""),
        (71.95, "72 in", "6' 0\""),
        (63.0625, "63-1/8 in", "5' 3-1/8\""),
        (-63.0625, "-63-1/8 in", "-5' 3-1/8\""),
    ],
)
def test_inches_to_the_eighth(inches: float, plain: str, in_feet: str) -> None:
    assert format_length(inches, IMPERIAL) == plain
    assert format_length(inches, IMPERIAL, feet=True) == in_feet


@pytest.mark.parametrize(
    ("inches", "mark", "text"),
    [
        (63.3125, 1 / 16, "63-5/16 in"),
        (63.3125, 1 / 2, "63-1/2 in"),
        (63.3125, 1.0, "63 in"),
        (63.3125, 1 / 128, "63-5/16 in"),
        (63.33, 0.1, "63.3 in"),
        (63.0, 0.1, "63.0 in"),
        (63.33, 0.05, "63.35 in"),
        (63.3336, 0.001, "63.334 in"),
        (63.5, 1 / 3, "63.67 in"),
        (1000.0, 12.0, "996 in"),
    ],
)
def test_inches_to_other_marks(inches: float, mark: float, text: str) -> None:
    assert format_length(inches, IMPERIAL, mark) == text


def test_decimal_inches_carry_into_feet() -> None:
    assert format_length(71.97, IMPERIAL, 0.1, feet=True) == "6' 0.0\""
    assert format_length(-64.04, IMPERIAL, 0.1, feet=True) == "-5' 4.0\""


@pytest.mark.parametrize(
    ("millimetres", "mark", "text"),
    [
        (1613.0, None, "1613 mm"),
        (1612.5, None, "1613 mm"),
        (-1612.5, None, "-1613 mm"),
        (0.4, None, "0 mm"),
        (-0.4, None, "0 mm"),
        (1613.3, 0.5 * MM, "1613.5 mm"),
        (1613.26, 0.1 * MM, "1613.3 mm"),
        (1613.0, 5 * MM, "1615 mm"),
        (7.4, 2.5 * MM, "7.5 mm"),
        (1613.0, 1 / 8, "1613 mm"),
        (1613.0, 1 / 32, "1612.90 mm"),
    ],
)
def test_millimetres(millimetres: float, mark: float | None, text: str) -> None:
    assert format_length(millimetres / 25.4, METRIC, mark) == text
    assert format_length(millimetres / 25.4, METRIC, mark, feet=True) == text


def test_the_mark_of_each_system() -> None:
    assert default_mark(IMPERIAL) == 0.125
    assert default_mark(METRIC) == pytest.approx(1 / 25.4, rel=1e-15)


@pytest.mark.parametrize("mark", [0.0, -0.125, math.inf, math.nan])
def test_a_mark_that_is_not_over_zero_is_refused(mark: float) -> None:
    for count in (marks_down, to_marks, marks_up):
        with pytest.raises(ValueError, match="the tape mark must be over zero"):
            count(1.0, mark)


@pytest.mark.parametrize("inches", [math.inf, math.nan])
def test_a_length_that_is_not_finite_is_refused(inches: float) -> None:
    with pytest.raises(ValueError, match="the length must be a finite number"):
        format_length(inches, IMPERIAL)


def test_numbers_with_fixed_decimals() -> None:
    assert fixed_text(2.675, 2) == "2.68"
    assert fixed_text(-2.675, 2) == "-2.68"
    assert fixed_text(-0.004, 2) == "0.00"
    assert fixed_text(1234567.5, 0, grouped=True) == "1,234,568"
    assert fixed_text(1e300, 2).startswith("1000000")
