"""What is read as a length, and what is refused in which words."""

import pytest

from fencegrade.units import UnitError, known_length_unit, length_in, parse_length

EXAMPLE = "Write it as in 5' 3-1/2\", 63-1/2 in or 1613 mm."


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("5' 3-1/2\"", 63.5),
        ("5' 3 1/2\"", 63.5),
        ("5'-3 1/2\"", 63.5),
        ("5' - 3 1/2\"", 63.5),
        ("5'3.5\"", 63.5),
        ("5 ft 3 1/2 in", 63.5),
        ("5ft3.5in", 63.5),
        ("5 ft. 3 1/2 in.", 63.5),
        ("5 feet, 3.5 inches", 63.5),
        ("5 Foot and 3 1/2 Inches", 63.5),
        ('63.5"', 63.5),
        ("63 1/2 in", 63.5),
        ('63-1/2"', 63.5),
        ("63 5/16 in", 63.3125),
        ("1/2 in", 0.5),
        ("7/2 in", 3.5),
        (".5 in", 0.5),
        ("5.25 ft", 63.0),
        ("5.10 ft", 61.2),
        ("5 1/2 ft", 66.0),
        ("3 yd", 108.0),
        ("1 yd 2 ft 3 in", 63.0),
        ("25.4 mm", 1.0),
        ("1.27 m", 50.0),
        ("127 cm", 50.0),
        ("1 m 27 cm", 50.0),
        ("1 metre 270 millimeters", 50.0),
        ("2.54e2 mm", 10.0),
        ("6 ft", 72.0),
        ("6'", 72.0),
        ("0 in", 0.0),
    ],
)
def test_lengths_are_read_in_inches(text: str, inches: float) -> None:
    assert parse_length(text) == inches


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("5′ 3½″", 63.5),
        ("5’ 3 1/2”", 63.5),
        ("5' 3 1/2''", 63.5),
        ("63½ in", 63.5),
        ("63 ½ in", 63.5),
        ("63-½ in", 63.5),
        ('63¾"', 63.75),
        ("⅛ in", 0.125),
        ('2⅝"', 2.625),
        ("63 1⁄2 in", 63.5),
        ("63–1/2 in", 63.5),
        ("63\u00a01/2\u202fin", 63.5),
        ("\ufeff63.5\u200b in", 63.5),
        ("−6 in", -6.0),
        ("−½ in", -0.5),
    ],
)
def test_typographic_signs_are_read(text: str, inches: float) -> None:
    assert parse_length(text) == inches


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("-6 in", -6.0),
        ("- 6 in", -6.0),
        ("-1' 2\"", -14.0),
        ("-6-1/2 in", -6.5),
        ("+6 in", 6.0),
        ("-0 in", 0.0),
    ],
)
def test_a_sign_covers_the_whole_length(text: str, inches: float) -> None:
    assert parse_length(text) == inches
    assert str(parse_length(text)) == str(inches)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1,6 m", 1600),
        ("1,61 m", 1610),
        ("0,125 m", 125),
        ("1234,567 mm", 1234.567),
        ("1,613.5 mm", 1613.5),
        ("1.613,5 mm", 1613.5),
        ("1,234,567 mm", 1234567),
        ("1.613 m", 1613),
    ],
)
def test_a_comma_is_read_where_it_has_one_meaning(text: str, millimetres: float) -> None:
    assert length_in(parse_length(text), "mm") == pytest.approx(millimetres, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "inches"), [("5'10", 70.0), ("5' 10 1/2", 70.5), ("5 ft 9.5", 69.5), ("5'0", 60.0)]
)
def test_a_number_after_feet_is_inches(text: str, inches: float) -> None:
    assert parse_length(text) == inches
    assert parse_length(text, "mm") == inches


@pytest.mark.parametrize(
    ("text", "unit", "inches"),
    [
        ("23 1/2", "in", 23.5),
        ("23½", '"', 23.5),
        ("-3", "inches", -3.0),
        ("5.10", "ft", 61.2),
        ("5 1/2", "Feet", 66.0),
        ("254", "mm", 10.0),
        ("25,4", "cm", 10.0),
        ("1.27", "metres", 50.0),
        ("2", "yd", 72.0),
        ("10 in", "ft", 10.0),
        ("1 ft", "mm", 12.0),
    ],
)
def test_a_bare_number_takes_the_unit_of_its_column(text: str, unit: str, inches: float) -> None:
    assert parse_length(text, unit) == inches


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", f"The length is empty. {EXAMPLE}"),
        (" \t", f"The length is empty. {EXAMPLE}"),
        ("5.10", "5.10 has no unit. Write 5' 10\", 5.10 ft, 5.10 in or 5.10 m, whichever was read."),
        ("-5.1", "-5.1 has no unit. Write -5' 1\", -5.1 ft, -5.1 in or -5.1 m, whichever was read."),
        ("5.11", "5.11 has no unit. Write 5' 11\", 5.11 ft, 5.11 in or 5.11 m, whichever was read."),
        *(
            (
                text,
                f"{text} has no unit. Write the unit after it: {text} ft, {text} in, {text} m or {text} mm, "
                "whichever was read.",
            )
            for text in ("5.12", "5.13", "70 3/8")
        ),
        (
            "1,613 mm",
            "1,613 mm may mean 1613 or 1.613. Write 1.613 mm where the comma is a decimal one, 1613 mm where "
            "it parts thousands.",
        ),
        ("1,23,4 in", "1,23,4 in has misplaced commas or points. Write the number as in 1613.5."),
        (
            "5' 14\"",
            "5' 14\" has a whole foot or more in the inches. "
            "Write less than one foot after the feet, or one number with one unit.",
        ),
        (
            "5'12",
            "5'12 has a whole foot or more in the inches. "
            "Write less than one foot after the feet, or one number with one unit.",
        ),
        (
            "5.5 ft 3 in",
            "5.5 ft 3 in has part of a foot before the inches. "
            "Write whole feet first, or one number with one unit.",
        ),
        (
            "3 in 5 ft",
            "3 in 5 ft has feet after inches. "
            "Write the larger unit first and keep to one system, as in 5' 3-1/2\", 63-1/2 in or 1613 mm.",
        ),
        (
            "5 ft 10 mm",
            "5 ft 10 mm has millimetres after feet. "
            "Write the larger unit first and keep to one system, as in 5' 3-1/2\", 63-1/2 in or 1613 mm.",
        ),
        (
            "5' 1/2",
            "5' 1/2 has the number 1/2 without a unit. "
            "Write a unit after every number, as in 5' 3-1/2\", 63-1/2 in or 1613 mm.",
        ),
        (
            "63 8/8 in",
            "63 8/8 in has the fraction 8/8, which is one or more. "
            "After a whole number write a fraction under one, such as 3/8.",
        ),
        ("1/0 in", "1/0 in divides by zero. Write a fraction such as 1/2 or 5/8."),
        (
            "6 hands",
            "6 hands has the unit hands, which is no length unit known here. Use in, ft, yd, mm, cm or m.",
        ),
        ("nan in", f"nan in is not a finite number. {EXAMPLE}"),
        ("-inf", f"-inf is not a finite number. {EXAMPLE}"),
        ("1e10 in", "1e10 in is larger than 1,000,000,000 in. Check the number and its unit."),
        ("-1e400 m", "-1e400 m is larger than 1,000,000,000 in. Check the number and its unit."),
        ("about 6 ft", f"about 6 ft cannot be read as a length. {EXAMPLE}"),
        ("9" * 200 + " in", f"{'9' * 37}... cannot be read as a length. {EXAMPLE}"),
    ],
)
def test_refusals_say_what_was_found_and_how_to_write_it(text: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length(text)
    assert str(caught.value) == message
    assert f"{caught.value.found} {caught.value.remedy}" == message


@pytest.mark.parametrize(
    "text",
    [
        *(
            "--6 in",
            "in",
            '"',
            "5 3",
            "5-3",
            "5 ft -",
            "5 ft,",
            "5 ft 3 in -",
            "½2 in",
            "3½½ in",
            "5¹/₂ in",
            "٣ in",
        ),
        *("5..3 in", "6 in 3", "5.5 1/2 in", "1.5/2 in", "1/2/3 in", "63 - 1/2 in", "6 in; 7 in", "0x10 in"),
        *("5 ft 3 in 2 in", '5\' 3" 4"', "5 m 10", "True"),
    ],
)
def test_what_has_no_clear_reading_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse_length(text)


def test_an_unknown_column_unit_is_named() -> None:
    with pytest.raises(UnitError, match=r"^rods has the unit rods, which is no length unit known here\."):
        parse_length("5", "rods")


def test_a_number_in_place_of_text_is_a_bare_number() -> None:
    with pytest.raises(UnitError, match=r"^63 has no unit\."):
        parse_length(63)  # type: ignore[arg-type]


def test_units_of_a_column() -> None:
    written = [
        "Inches",
        '"',
        "″",
        "''",
        "in.",
        "feet",
        "'",
        "’",
        "FT",
        "Yards",
        " mm ",
        "centimeter",
        "Metres",
    ]
    assert [known_length_unit(text) for text in written] == (
        ["in"] * 5 + ["ft"] * 4 + ["yd", "mm", "cm", "m"]
    )
    assert known_length_unit("rod") is None
    assert known_length_unit("") is None
