"""Forces, weights, volumes, pressures, speeds, slopes, angles, shares and prices."""

import math
from collections.abc import Callable

import pytest

from fencegrade import units
from fencegrade.units import UnitError, UnitSystem

IMPERIAL, METRIC = UnitSystem


@pytest.mark.parametrize(
    ("parse", "texts", "value"),
    [
        (
            units.FORCE.parse,
            ["10 lbf", "10 lb", "10 pounds", "160 oz", "44.482216152605 N", "4.5359237 kgf"],
            10.0,
        ),
        (units.LINE_WEIGHT.parse, ["12 lb/ft", "12 lb per ft", "192 oz/ft", "1 lbf/in", "36 lbs / yd"], 1.0),
        (
            units.VOLUME.parse,
            ["27 cu ft", "27 ft3", "27 ft³", "27 ft^3", "27 cf", "1 cu yd", "1 cu. yd."],
            27.0,
        ),
        (units.VOLUME.parse, ["1 yd3", "1 cubic yard", "1 cy", "46656 in3", "46656 cubic inches"], 27.0),
        (units.VOLUME.parse, ["1728 gal"], 231.0),
        (units.MASS.parse, ["80 lb", "80 lbs", "1280 oz", "36.2873896 kg", "36287.3896 g", "0.04 ton"], 80.0),
        (units.SPEED.parse, ["90 mph", "132 ft/s", "40.2336 m/s", "144.84096 km/h"], 90.0),
        (units.PRESSURE.parse, ["288 psf", "288 lb/ft2", "288 lbf/ft²", "2 psi"], 288.0),
        (units.ANGLE.parse, ["180 deg", "180°", "180 degrees"], math.pi),
        (units.ANGLE.parse, ["1.5 rad"], 1.5),
    ],
)
def test_quantities_in_base_units(parse: Callable[[str], float], texts: list[str], value: float) -> None:
    assert [parse(text) for text in texts] == [value] * len(texts)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (units.VOLUME.parse("1 m3"), units.VOLUME.parse("1000 litres")),
        (units.VOLUME.parse("1 m³"), units.VOLUME.parse("1,000,000 cm3")),
        (units.MASS.parse("1 t"), units.MASS.parse("1000 kg")),
        (units.PRESSURE.parse("1 kPa"), units.PRESSURE.parse("1000 N/m2")),
        (units.LINE_WEIGHT.parse("1.4 g/m"), units.LINE_WEIGHT.parse("0.0014 kg/m")),
        (units.FORCE.parse("10", "N"), units.FORCE.parse("10 newtons")),
    ],
)
def test_two_units_of_one_amount(first: float, second: float) -> None:
    assert first == second


def test_a_string_of_nylon_weighs_what_its_grams_say() -> None:
    """1.4 g/m by hand: 0.0014 kg / 0.45359237 kg per lb / 39.37007874 in."""
    assert units.LINE_WEIGHT.parse("1.4 g/m") == pytest.approx(
        0.0014 / 0.45359237 / 39.37007874015748, rel=1e-14
    )


@pytest.mark.parametrize(
    ("parse", "text", "message"),
    [
        (units.FORCE.parse, "10", "10 has no unit. Write it as in 10 lbf or 45 N."),
        (units.FORCE.parse, "", "The force is empty. Write it as in 10 lbf or 45 N."),
        (units.FORCE.parse, "ten lbf", "ten lbf cannot be read as a force. Write it as in 10 lbf or 45 N."),
        (units.FORCE.parse, "10 ft", "10 ft has no unit known for a force. Write it as in 10 lbf or 45 N."),
        (
            units.LINE_WEIGHT.parse,
            "1.4 g",
            "1.4 g has no unit known for a line weight. Write it as in 1.4 g/m or 0.001 lb/ft.",
        ),
        (
            units.MASS.parse,
            "1e12 lb",
            "1e12 lb is larger than any weight known here. Check the number and its unit.",
        ),
        (units.MASS.parse, "nan kg", "nan kg is not a finite number. Write it as in 80 lb or 25 kg."),
        (
            units.MASS.parse,
            "1,250 kg",
            "1,250 kg may mean 1250 or 1.250. Write 1.250 kg where the comma is a decimal one, 1250 kg where "
            "it parts thousands.",
        ),
        (units.parse_share, "10", "10 is not between 0 and 100 %. Write it as in 10 % or 0.1."),
        (units.parse_share, "-5 %", "-5 % is not between 0 and 100 %. Write it as in 10 % or 0.1."),
        (
            units.parse_slope,
            "1 in 8",
            "1 in 8 may mean one number to another, or inches. Write it as in 1:8 or 1 in / 8 ft.",
        ),
        (
            units.parse_slope,
            "0.12",
            "0.12 cannot be read as a slope. Write it as in 1 in / 8 ft, 12 % or 1:8.",
        ),
        (
            units.parse_slope,
            "--2 %",
            "--2 % cannot be read as a slope. Write it as in 1 in / 8 ft, 12 % or 1:8.",
        ),
        (units.parse_slope, "1:0", "1:0 has a run of zero or less. Write it as in 1 in / 8 ft, 12 % or 1:8."),
        (
            units.parse_slope,
            "1 in / -8 ft",
            "1 in / -8 ft has a run of zero or less. Write it as in 1 in / 8 ft, 12 % or 1:8.",
        ),
        (
            units.parse_slope,
            "90 deg",
            "90 deg is no slope under 90 deg. Write it as in 1 in / 8 ft, 12 % or 1:8.",
        ),
        (units.parse_money, "cheap", "cheap cannot be read as a price. Write it as in 4.10."),
        (units.parse_money, "8 ft", "8 ft cannot be read as a price. Write it as in 4.10."),
        (
            units.parse_money,
            "1,250",
            "1,250 may mean 1250 or 1.250. Write two decimals, as in 1250.00 or 1.25.",
        ),
        (
            units.parse_money,
            "1.250 €",
            "1.250 € may mean 1250 or 1.250. Write two decimals, as in 1250.00 or 1.25.",
        ),
        (units.parse_money, math.nan, "nan is not a finite number. Write it as in 4.10."),
        (units.parse_money, True, "True cannot be read as a price. Write it as in 4.10."),
    ],
)
def test_refusals_say_what_was_found_and_how_to_write_it(
    parse: Callable[[str | float], float], text: str | float, message: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "slope"),
    [
        ("1 in / 8 ft", 1 / 96),
        ("1 in per 8 ft", 1 / 96),
        ("1\" / 8'", 1 / 96),
        ("1/4 in/ft", 1 / 48),
        ('1/4"/ft', 1 / 48),
        ("10 mm/m", 0.01),
        ("12 %", 0.12),
        ("12.5 percent", 0.125),
        ("1:8", 0.125),
        ("1 : 2.5", 0.4),
        ("-2 %", -0.02),
        ("-1 in / 8 ft", -1 / 96),
        ("45 deg", 1.0),
        ("-45°", -1.0),
    ],
)
def test_slopes(text: str, slope: float) -> None:
    assert units.parse_slope(text) == pytest.approx(slope, rel=1e-15)


def test_shares_and_prices() -> None:
    assert [
        units.parse_share(share) for share in ("10 %", "10 percent", "10 per cent", 0.1, "0.1", "0,1")
    ] == [0.1] * 6
    assert [units.parse_share(share) for share in (0, 1, "100 %")] == [0.0, 1.0, 1.0]
    amounts = ("$ 4.10", "$4.10", "4,10 €", "4.10 EUR", "USD 4.10", "4.10 zł", 4.1, "4.1")
    assert [units.parse_money(amount) for amount in amounts] == [4.1] * 8
    told = [*(a for a in amounts if isinstance(a, str)), "1-3/4", "-$4.10", "$-4.10"]
    assert [units.currency_of(a) for a in told] == ["$", "$", "€", "EUR", "USD", "zł", "", "", "$", "$"]
    assert [units.parse_money(amount) for amount in ("1,250.00", "1.250,00 €", 1250)] == [1250.0] * 3
    assert [units.parse_money(amount) for amount in ("-$4.10", "$-4.10", "−4,10 €")] == [-4.1] * 3


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (units.FORCE.format(10.0, IMPERIAL), "10.0 lbf"),
        (units.FORCE.format(10.0, METRIC), "44.5 N"),
        (units.LINE_WEIGHT.format(units.LINE_WEIGHT.parse("1.4 g/m"), METRIC), "1.40 g/m"),
        (units.LINE_WEIGHT.format(0.001 / 12, IMPERIAL), "0.001000 lb/ft"),
        (units.VOLUME.format(27.0, IMPERIAL), "27.00 cu ft"),
        (units.VOLUME.format(27.0, IMPERIAL, "cu yd"), "1.00 cu yd"),
        (units.VOLUME.format(27.0, METRIC), "0.765 m3"),
        (units.MASS.format(80.0, IMPERIAL), "80.0 lb"),
        (units.MASS.format(80.0, METRIC, places=0), "36 kg"),
        (units.SPEED.format(90.0, IMPERIAL), "90.0 mph"),
        (units.SPEED.format(90.0, METRIC, "km/h"), "144.8 km/h"),
        (units.PRESSURE.format(20.0, IMPERIAL), "20.0 psf"),
        (units.PRESSURE.format(20.0, METRIC), "0.958 kPa"),
        (units.format_moment(1436.2, IMPERIAL), "1,436 ft lbf"),
        (units.format_moment(1000.0, METRIC), "1,356 N m"),
        (units.format_slope(0.12, IMPERIAL), "1-7/16 in per ft"),
        (units.format_slope(-0.12, METRIC), "-12.0 %"),
        (units.format_angle(math.pi / 6), "30.0 deg"),
        (units.format_share(0.125), "12.5 %"),
        (units.format_money(4.1), "$4.10"),
        (units.format_money(-1250.0), "-$1,250.00"),
        (units.format_money(4.1, "EUR"), "EUR 4.10"),
        (units.format_money(2.675, ""), "2.68"),
    ],
)
def test_printed_quantities(text: str, expected: str) -> None:
    assert text == expected


def test_a_value_in_another_unit() -> None:
    assert units.VOLUME.value_in(54.0, "yd3") == 2.0
    with pytest.raises(KeyError):
        units.VOLUME.value_in(54.0, "lb")
