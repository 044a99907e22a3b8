"""How a job's numbers are written."""

import pytest

from fencegrade.units import UnitSystem, parse_length
from fencegrade.units.words import Words, numbered, numbers, numbers_of, plural

IMPERIAL = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")
METRIC = Words(system=UnitSystem.METRIC, mark=1 / 25.4, currency="")


@pytest.mark.parametrize(
    ("words", "inches", "number", "length", "height", "station"),
    [
        (IMPERIAL, 63.5, 63.5, "63-1/2 in", "5' 3-1/2\"", "5' 3-1/2\""),
        (IMPERIAL, 0.0, 0.0, "0 in", '0"', '0"'),
        (IMPERIAL, -0.01, -0.01, "0 in", '0"', '0"'),
        (METRIC, 1613 / 25.4, 1613.0, "1613 mm", "1613 mm", "1.613 m"),
        (METRIC, 12345.6 / 25.4, 12345.6, "12346 mm", "12346 mm", "12.346 m"),
    ],
)
def test_lengths(words: Words, inches: float, number: float, length: str, height: str, station: str) -> None:
    assert words.number(inches) == pytest.approx(number)
    assert words.length(inches) == length
    assert words.height(inches) == height
    assert words.station(inches) == station


@pytest.mark.parametrize(
    ("words", "written", "told"),
    [
        (IMPERIAL, "3 in", "3 in"),
        (IMPERIAL, "1/32 in", "1/32 in"),
        (IMPERIAL, "1/1000 in", "0.001 in"),
        (IMPERIAL, "0.2 mm", "0.2 mm"),
        (METRIC, "3.5 mm", "3.5 mm"),
        (METRIC, "1/8 in", "1/8 in"),
        (METRIC, "1.8 m", "1800 mm"),
    ],
)
def test_what_somebody_gave_is_told_exactly(words: Words, written: str, told: str) -> None:
    assert words.given(parse_length(written)) == told
    assert parse_length(told) == parse_length(written)


def test_what_was_worked_out_is_told_as_a_reading() -> None:
    assert IMPERIAL.given(1 / 7) == "1/8 in"
    assert IMPERIAL.given(66.0, feet=True) == "5' 6\""


def test_no_number_is_minus_zero() -> None:
    assert str(IMPERIAL.number(-1e-9)) == "0.0"


def test_the_unit_goes_with_the_system() -> None:
    assert (IMPERIAL.unit, METRIC.unit) == ("in", "mm")


def test_money_has_the_jobs_sign() -> None:
    assert "4.10" in IMPERIAL.money(4.1)
    assert "$" in IMPERIAL.money(4.1)
    assert METRIC.money(4.1) == "4.10"


@pytest.mark.parametrize(
    ("values", "most", "text"),
    [
        ([], 6, ""),
        ([3], 6, "3"),
        ([1, 2, 3], 6, "1-3"),
        ([1, 3, 4, 9], 6, "1, 3-4, 9"),
        ([1, 3, 5, 7], 2, "1, 3 and 2 more stretches"),
        ([1, 3], 2, "1, 3"),
    ],
)
def test_numbers_as_ranges(values: list[int], most: int, text: str) -> None:
    assert numbers(values, most) == text


@pytest.mark.parametrize(
    ("text", "found"),
    [("1-3", (1, 2, 3)), ("1, 3 - 4,9", (1, 3, 4, 9)), ("3", (3,))]
    + [
        (wrong, ())
        for wrong in ("", "0-2", "3-1", "2, 2", "5, 3", "1-30", "a", "1;3", "1-2-3", "-4", "\u0663")
    ],
)
def test_numbers_are_read_as_they_are_written(text: str, found: tuple[int, ...]) -> None:
    assert numbers_of(text, 10) == found
    if found:
        assert numbers_of(numbers(found), 10) == found


def test_counts_with_their_word() -> None:
    assert plural(1, "board") == "1 board"
    assert plural(0, "board") == "0 boards"
    assert plural(2, "more", "more") == "2 more"


@pytest.mark.parametrize(
    ("indices", "text"),
    [
        ([0], "post 1"),
        ([0, 1], "posts 1-2"),
        ([2, 3, 4, 6], "posts 3-5, 7"),
        (range(0, 14, 2), "posts 1, 3, 5, 7, 9, 11 and 1 more stretch"),
        (range(0, 16, 2), "posts 1, 3, 5, 7, 9, 11 and 2 more stretches"),
    ],
)
def test_parts_counted_from_nought(indices: list[int], text: str) -> None:
    assert numbered("post", indices) == text


def test_a_reading_is_told_finer_than_a_coarse_tape_cuts() -> None:
    assert (IMPERIAL.fine(3.0625), IMPERIAL.length(3.0625)) == ("3-1/16 in", "3-1/8 in")
    assert Words.of_readings(UnitSystem.METRIC).fine(3.0625) == "78 mm"


@pytest.mark.parametrize("inches", [-0.001, -1e-12, -0.0])
def test_no_station_is_minus_nought(inches: float) -> None:
    assert METRIC.station(inches) == "0.000 m"
    assert IMPERIAL.station(inches) == '0"'


def test_a_stretch_is_two_stations() -> None:
    assert METRIC.stretch(0, 9000 / 25.4) == "0.000 m to 9.000 m"


@pytest.mark.parametrize(
    ("mm", "told"),
    [(50, "50 mm"), (100, "100 mm"), (120, "120 mm"), (400, "400 mm"), (500, "0.5 m"), (900, "0.9 m")],
)
def test_screws_are_sold_by_the_millimetre_and_boards_by_the_metre(mm: float, told: str) -> None:
    assert METRIC.sold_length(mm / 25.4) == told


def test_a_length_as_sold_does_not_hang_on_the_last_bit_of_a_number() -> None:
    assert METRIC.sold_length(2438.4 / 25.4) == METRIC.sold_length(96.0) == "2438.4 mm"
