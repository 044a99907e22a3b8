"""What a value of the job file may be: its ends, what it is read as, and what is said beyond them."""

import math
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from fencegrade.job import fields
from fencegrade.job.fields import FROM_FILE, printable, shown_value


def read(kind: Any, value: Any, context: Any = FROM_FILE) -> Any:
    return TypeAdapter(kind).validate_python(value, context=context)


def refused(kind: Any, value: Any, context: Any = FROM_FILE) -> str:
    with pytest.raises(ValidationError) as caught:
        read(kind, value, context)
    return str(caught.value.errors()[0]["ctx"]["error"])


READ = (
    (fields.Length, "-5-1/2 in", -5.5),
    (fields.Extent, "0 in", 0.0),
    (fields.Size, "0.001 in", 0.001),
    (fields.Price, 0, 0.0),
    (fields.Price, 1_000_000_000, 1e9),
    (fields.Count, 0, 0),
    (fields.Count, 10_000_000, 10_000_000),
    (fields.Number, 1, 1),
    (fields.Drop, "31 in", (31.0,)),
    (fields.Drop, ["31 in", "32 in"], (31.0, 32.0)),
    (fields.Factor, 1, 1.0),
    (fields.Factor, 3, 3.0),
    (fields.Rate, 0.01, 0.01),
    (fields.Rate, 10_000, 10_000.0),
    (fields.Share, 0, 0.0),
    (fields.Share, "60 %", 0.6),
    (fields.Share, "1/3", 1 / 3),
    (fields.Chance, 1, 1.0),
    (fields.Chance, "30 %", 0.3),
    (fields.SideSlope, 0, 0.0),
    (fields.SideSlope, 20, 20.0),
    (fields.Sign, "12345678", "12345678"),
    (fields.Sign, " \t", ""),
    (fields.Text, " a\tb\x00c ", "a b c"),
    (fields.Text, "x" * 200, "x" * 200),
)
REFUSED = (
    (fields.Length, 5, '5 has no unit; write it as text with its unit, such as "5-1/2 in" or "140 mm"'),
    (fields.Length, True, 'true is not a text with its unit; write one, such as "5-1/2 in" or "140 mm"'),
    (fields.Extent, "-1 in", '"-1 in" is below zero; check the sign'),
    (fields.Size, "0 in", '"0 in" is not more than zero; check the number and its sign'),
    (fields.Pull, 10, '10 has no unit; write it as text with its unit, such as "10 lbf"'),
    (fields.LineWeight, 1, '1 has no unit; write it as text with its unit, such as "1.4 g/m"'),
    (fields.Mass, 1, '1 has no unit; write it as text with its unit, such as "15 g"'),
    (fields.Volume, 1, '1 has no unit; write it as text with its unit, such as "40 l"'),
    (fields.Speed, 1, '1 has no unit; write it as text with its unit, such as "115 mph"'),
    (fields.Pressure, 1, '1 has no unit; write it as text with its unit, such as "20 psf"'),
    (fields.Angle, 1, '1 has no unit; write it as text with its unit, such as "90 deg"'),
    (fields.Slope, 1, '1 has no unit; write it as text with its unit, such as "6 %"'),
    (fields.Pull, "0 lbf", '"0 lbf" is not more than zero; check the number and its sign'),
    (fields.Price, True, "true is not a plain number; write the price alone, such as 4.10"),
    (fields.Price, -0.01, "a price of -0.01 cannot be; write what one costs, zero or more"),
    (fields.Price, math.inf, "a price of inf cannot be; write what one costs, zero or more"),
    (fields.Price, 1.1e9, "a price of 1.1e+09 is beyond 1,000,000,000; check the decimal point"),
    (fields.Count, -1, "-1 is not a count; write a whole number, zero or more"),
    (fields.Count, True, "true is not a count; write a whole number, zero or more"),
    (fields.Count, 1.0, "1.0 is not a count; write a whole number, zero or more"),
    (fields.Count, 10_000_001, "10000001 is more than 10000000; check the number"),
    (fields.Number, 0, "numbers count from 1; write the number on the chart"),
    (fields.Drop, "0 in", '"0 in" is not more than zero; check the number and its sign'),
    (fields.Drop, ["1 in"], 'a list is not a list of 2 lengths; write it so: ["31-1/4 in", "31-3/4 in"]'),
    (fields.Factor, 0.99, "0.99 is not between 1 and 3; check the number"),
    (fields.Factor, 3.01, "3.01 is not between 1 and 3; check the number"),
    (fields.Factor, "2", '"2" is not a plain number; write it without quotes and without a unit'),
    (fields.Factor, True, "true is not a plain number; write it without quotes and without a unit"),
    (fields.Factor, math.nan, "nan is not a number one can use; write a finite one"),
    (fields.Rate, 0.009, "0.009 is not between 0.01 and 10000; check the number"),
    (fields.Rate, 10_001, "10001 is not between 0.01 and 10000; check the number"),
    (fields.Share, -0.01, "-0.01 is not between 0 and 0.6; check the number"),
    (fields.Share, 0.61, "0.61 is not between 0 and 0.6; check the number"),
    (fields.Chance, -0.01, "-0.01 is not between 0 and 1; check the number"),
    (fields.Chance, 1.01, "1.01 is not between 0 and 1; check the number"),
    (fields.SideSlope, -0.01, "-0.01 is not between 0 and 20; check the number"),
    (fields.SideSlope, 20.1, "20.1 is not between 0 and 20; check the number"),
    (fields.Sign, "123456789", "is 9 characters long; keep it to 8"),
    (fields.Sign, 5, "5 is not a text; write the sign in quotes"),
    (fields.Text, "x" * 201, "is 201 characters long; keep it under 200"),
    (fields.Text, " \t", '" ?" is not a text; write words in quotes'),
    (fields.Text, "\ue000\uffff", '"??" is not a text; write words in quotes'),
    (fields.Text, ["a"], "a list is not a text; write words in quotes"),
)


@pytest.mark.parametrize(("kind", "value", "expected"), READ)
def test_what_may_stand_there(kind: Any, value: Any, expected: Any) -> None:
    assert read(kind, value) == expected
    assert type(read(kind, value)) is type(expected)


@pytest.mark.parametrize(("kind", "value", "said"), REFUSED)
def test_what_is_refused_and_why(kind: Any, value: Any, said: str) -> None:
    assert refused(kind, value) == said


def test_a_record_made_in_python_takes_a_finite_number_in_its_own_unit() -> None:
    assert read(fields.Size, 5, None) == 5.0
    assert read(fields.Drop, (31, 32.5), None) == (31.0, 32.5)
    assert refused(fields.Size, -5, None) == "-5 is not more than zero; check the number and its sign"
    for value in (math.nan, math.inf):
        assert "has no unit" in refused(fields.Size, value, None)


def test_what_a_builder_wrote_is_shown_short_and_printable() -> None:
    values: list[Any] = [{}, [], (), True, 3, 2.5, "a\x07b"]
    shown = [shown_value(v) for v in values]
    assert shown == ["a table", "a list", "a list", "true", "3", "2.5", '"a?b"']
    assert shown_value("x" * 58) == f'"{"x" * 58}"'
    assert shown_value("x" * 59) == f'"{"x" * 56}...'
    assert printable("x" * 400) == "x" * 400
    assert printable("x" * 401) == "x" * 397 + "..."
