"""Laws of measurements and their text."""

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import event, example, given
from hypothesis import strategies as st

from fencegrade import units
from fencegrade.units import UnitError, UnitSystem, format_length, parse_length, to_marks

MM = 1 / 25.4
LENGTHS = st.floats(-1e5, 1e5)
MARKS = st.sampled_from(
    [1.0, 1 / 2, 1 / 4, 1 / 8, 1 / 16, 1 / 32, 0.1, 0.05, 1 / 3, MM, MM / 2, MM / 10, 5 * MM]
)
SYSTEMS = st.sampled_from(UnitSystem)
SIXTEENTHS = st.integers(-(10**6), 10**6)
SPACES = st.sampled_from(["", " ", "  ", "\u00a0", "\u202f", "\t"])


@given(inches=LENGTHS, mark=MARKS, system=SYSTEMS, feet=st.booleans())
@example(inches=71.9999, mark=1 / 8, system=UnitSystem.IMPERIAL, feet=True)
def test_a_printed_length_read_again_is_the_same_count_of_marks(
    inches: float, mark: float, system: UnitSystem, feet: bool
) -> None:
    text = format_length(inches, system, mark, feet=feet)
    assert to_marks(parse_length(text), mark) == to_marks(inches, mark)


@given(inches=LENGTHS, mark=MARKS, system=SYSTEMS, feet=st.booleans())
def test_printing_what_was_printed_changes_nothing(
    inches: float, mark: float, system: UnitSystem, feet: bool
) -> None:
    text = format_length(inches, system, mark, feet=feet)
    assert format_length(parse_length(text), system, mark, feet=feet) == text


@given(sixteenths=SIXTEENTHS, feet=st.booleans())
def test_sixteenths_come_back_exactly(sixteenths: int, feet: bool) -> None:
    inches = sixteenths / 16
    assert parse_length(format_length(inches, UnitSystem.IMPERIAL, 1 / 16, feet=feet)) == inches


@given(inches=LENGTHS, mark=MARKS, system=SYSTEMS, feet=st.booleans())
def test_a_length_below_zero_mirrors_the_one_above(
    inches: float, mark: float, system: UnitSystem, feet: bool
) -> None:
    above, below = (format_length(sign * abs(inches), system, mark, feet=feet) for sign in (1, -1))
    assert below == (above if to_marks(inches, mark) == 0 else f"-{above}")
    assert parse_length(f"-{above}") == -parse_length(above)


@given(inches=LENGTHS, mark=MARKS)
def test_marks_down_and_up_enclose_the_length(inches: float, mark: float) -> None:
    down, nearest, up = (count(inches, mark) for count in (units.marks_down, to_marks, units.marks_up))
    assert down <= nearest <= up <= down + 1
    assert units.marks_down(-inches, mark) == -up
    assert (down - 2e-6) * mark <= inches <= (up + 2e-6) * mark


@given(count=st.integers(-(10**6), 10**6), mark=MARKS, noise=st.floats(-1e-7, 1e-7))
def test_noise_moves_no_whole_count(count: int, mark: float, noise: float) -> None:
    inches = (count + noise) * mark
    assert units.marks_down(inches, mark) == to_marks(inches, mark) == units.marks_up(inches, mark) == count


@given(inches=LENGTHS)
def test_the_inches_printed_after_feet_are_under_twelve(inches: float) -> None:
    text = format_length(inches, UnitSystem.IMPERIAL, feet=True)
    printed = text.rstrip('"').split()[-1].lstrip("-")
    assert sum(Fraction(part) for part in printed.split("-")) < 12


@given(
    feet=st.integers(0, 900),
    eighths=st.integers(0, 95),
    gaps=st.tuples(*[SPACES] * 5),
    sign=st.sampled_from("-− "),
)
def test_spacing_and_typography_change_nothing(
    feet: int, eighths: int, gaps: tuple[str, ...], sign: str
) -> None:
    whole, part = divmod(eighths, 8)
    vulgar = " ⅛¼⅜½⅝¾⅞"[part].strip()
    broken = f"{whole}-{part}/8"
    length = (feet * 12 + eighths / 8) * (1 if sign == " " else -1)
    a, b, c, d, e = gaps
    for foot, inch in (("'", '"'), ("′", "″"), ("’", "”"), ("ft", "in"), ("feet", "inches"), ("Foot", "''")):
        for number in (broken, broken.replace("-", " "), f"{whole}{vulgar}", f"{eighths / 8}"):
            assert parse_length(f"{a}{sign}{b}{feet}{c}{foot}{d}{number}{e}{inch}{a}") == length


@given(thousandths=st.integers(-(10**9), 10**9))
def test_millimetres_are_exactly_five_in_127_of_an_inch(thousandths: int) -> None:
    text = f"{'-' if thousandths < 0 else ''}{abs(thousandths) // 1000}.{abs(thousandths) % 1000:03d} mm"
    assert parse_length(text) == float(Fraction(thousandths, 1000) * 5 / 127)


@given(tenths=st.integers(0, 10**7))
def test_one_length_in_millimetres_centimetres_and_metres(tenths: int) -> None:
    exact = [f"{tenths // 10**p}.{tenths % 10**p:0{p}d}" for p in (1, 2, 4)]
    assert (
        len({parse_length(number, unit) for number, unit in zip(exact, ("mm", "cm", "m"), strict=True)}) == 1
    )


SIGNS = st.lists(st.sampled_from("0123456789.,/-'\" ½¾eftinmcyd"), max_size=14).map("".join)
FIGURES = st.lists(st.sampled_from("0123456789"), min_size=1, max_size=4).map("".join)
NEARLY = st.builds(
    "{}{:.3}{} {}".format,
    st.sampled_from(["", "-"]),
    FIGURES,
    st.just("")
    | st.builds("{}{:.1}/{:.2}".format, st.sampled_from(" -"), FIGURES, FIGURES)
    | st.builds("{}{}".format, st.sampled_from(".,"), FIGURES),
    st.sampled_from(["in", "ft", "'", '"', "mm", "cm", "m", "yd"]),
)
"""As lengths are written, or nearly. Of lists: what draws texts takes seconds for tables of all letters."""


@given(text=SIGNS | NEARLY)
def test_any_text_is_a_length_or_a_refusal(text: str) -> None:
    inches = length_or_refusal(text)
    event("refused" if isinstance(inches, UnitError) else "read")
    if isinstance(inches, UnitError):
        assert inches.found.endswith(".")
        assert inches.remedy.endswith(".")
    else:
        assert abs(inches) <= 1e9
        assert parse_length(text, "mm") == inches


def length_or_refusal(text: str) -> float | UnitError:
    try:
        return parse_length(text)
    except UnitError as refusal:
        return refusal


PRINTED = [
    (units.FORCE.parse, units.FORCE.format),
    (units.MASS.parse, units.MASS.format),
    (units.SPEED.parse, units.SPEED.format),
    (units.VOLUME.parse, units.VOLUME.format),
    (units.PRESSURE.parse, units.PRESSURE.format),
    (units.LINE_WEIGHT.parse, units.LINE_WEIGHT.format),
]


@pytest.mark.parametrize(("parse", "print_"), PRINTED)
@given(value=st.floats(-1e5, 1e5), system=SYSTEMS)
def test_a_printed_quantity_read_again_is_the_same_to_its_last_digit(
    parse: Callable[[str], float],
    print_: Callable[[float, UnitSystem], str],
    value: float,
    system: UnitSystem,
) -> None:
    text = print_(value, system)
    number, unit = text.split(" ", 1)
    last_digit = parse(f"1e-{len(number.partition('.')[2])} {unit}")
    assert print_(parse(text), system) == text
    assert parse(text) == pytest.approx(value, rel=1e-12, abs=0.5 * last_digit * (1 + 1e-9))


@given(slope=st.floats(-3, 3), system=SYSTEMS)
def test_a_printed_slope_read_again_prints_the_same(slope: float, system: UnitSystem) -> None:
    text = units.format_slope(slope, system)
    assert units.format_slope(units.parse_slope(text), system) == text
    assert units.parse_slope(text) == pytest.approx(slope, abs=1 / 384 + 1e-7)


@given(cents=st.integers(-(10**9), 10**9), currency=st.sampled_from(["$", "€", "EUR", "kr", ""]))
def test_cents_come_back_exactly(cents: int, currency: str) -> None:
    assert units.parse_money(units.format_money(cents / 100, currency)) == cents / 100


@given(degrees=st.integers(-890, 890).filter(bool))
def test_an_angle_and_its_tangent_are_one_slope(degrees: int) -> None:
    radians = units.ANGLE.parse(f"{degrees / 10} deg")
    assert units.format_angle(radians) == f"{degrees / 10} deg"
    assert units.parse_slope(f"{degrees / 10} deg") * degrees > 0
