"""Tables as data, and what becomes of them as CSV and as text."""

import csv
import io
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import pytest

from fencegrade.sheets.plan_tables import marked_provisional
from fencegrade.sheets.tables import (
    Cell,
    Column,
    Kind,
    Table,
    csv_text,
    filled_columns,
    inert,
    joined_runs,
    sides_told,
    table_records,
    text_lines,
    write_cell,
)
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

INCHES = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")
METRIC = Words(system=UnitSystem.METRIC, mark=1 / 25.4, currency="€")

COLUMNS = (
    Column(head="part"),
    Column(head="boards", kind=Kind.COUNT),
    Column(head="length", kind=Kind.LENGTH),
    Column(head="price", kind=Kind.MONEY),
)


def table(*rows: Sequence[Cell]) -> Table:
    return Table(name="t", title="T", columns=COLUMNS, rows=rows)


@pytest.mark.parametrize(
    ("cell", "kind", "inches", "metric"),
    [
        (63.5, Kind.LENGTH, "63-1/2 in", "1613 mm"),
        (63.5, Kind.HEIGHT, "5' 3-1/2\"", "1613 mm"),
        (63.5625, Kind.TO_SET, "5' 3-9/16\"", "1614 mm"),
        (291.5, Kind.STATION, "24' 3-1/2\"", "7.404 m"),
        (4.1, Kind.MONEY, "$4.10", "€4.10"),
        (7, Kind.COUNT, "7", "7"),
        (None, Kind.LENGTH, "", ""),
        ("none", Kind.LENGTH, "none", "none"),
    ],
)
def test_a_cell_as_people_read_it(cell: Cell, kind: Kind, inches: str, metric: str) -> None:
    assert write_cell(cell, kind, INCHES) == inches
    assert write_cell(cell, kind, METRIC) == metric


def test_heights_to_set_by_are_told_as_finely_as_readings_by_any_tape() -> None:
    coarse = Words(system=UnitSystem.METRIC, mark=5 / 25.4)
    assert write_cell(2892 / 25.4, Kind.TO_SET, coarse) == "2892 mm"
    assert write_cell(2892 / 25.4, Kind.HEIGHT, coarse) == "2890 mm"


def test_words_in_a_column_of_numbers_are_for_readers_alone() -> None:
    said = table(("posts", 2, "none", 4.1), ("old posts", "old", None, "not priced"))
    assert [row[2] for row in said.written(INCHES)] == ["none", ""]
    assert csv_text(said, INCHES).splitlines()[1:] == ["posts,2,,4.10", "old posts,,,"]
    assert table_records(said, INCHES)[1] == {
        "part": "old posts",
        "boards": None,
        "length [in]": None,
        "price": None,
    }


def test_csv_has_plain_numbers_with_the_unit_in_the_head() -> None:
    rows = list(
        csv.reader(io.StringIO(csv_text(table(("rails", 3, 96.0, 7.5), ("posts", 2, None, None)), METRIC)))
    )
    assert rows == [
        ["part", "boards", "length [mm]", "price"],
        ["rails", "3", "2438.4", "7.50"],
        ["posts", "2", "", ""],
    ]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx"])
def test_no_cell_is_a_formula(text: str) -> None:
    assert inert(text) == "'" + text
    assert csv_text(table((text, 1, 1.0, 1.0)), INCHES).splitlines()[1].lstrip('"').startswith("'")


@pytest.mark.parametrize("text", ["rail", "", "5' 3\"", "a-b", "1+1"])
def test_harmless_texts_stay(text: str) -> None:
    assert inert(text) == text


def test_text_columns_line_up() -> None:
    lines = list(text_lines(table(("rails", 12, 96.0, 7.5), ("posts and caps", 2, 120.0, 14.0)), INCHES))
    assert lines == [
        "part            boards  length   price",
        "--------------  ------  ------  ------",
        "rails               12   96 in   $7.50",
        "posts and caps       2  120 in  $14.00",
    ]


def test_columns_that_no_row_fills_are_left_out() -> None:
    kept = filled_columns(table(("rails", 3, None, None), ("posts", 0, None, None)))
    assert kept.heads == ("part", "boards")
    assert [tuple(r) for r in kept.rows] == [("rails", 3), ("posts", 0)]


def test_rows_may_be_walked_once_alone() -> None:
    lazy = Table(name="t", title="T", columns=COLUMNS, rows=(r for r in [("rails", 3, 96.0, 1.0)]))
    assert list(filled_columns(lazy).rows) == [("rails", 3, 96.0, 1.0)]


def test_tables_of_runs_join_with_the_name_in_front() -> None:
    joined = joined_runs([table(("a", 1, 1.0, 1.0)), table(("b", 2, 2.0, 2.0))], ["west", "north"])
    assert joined.heads == ("run", "part", "boards", "length", "price")
    assert list(joined.rows) == [("west", "a", 1, 1.0, 1.0), ("north", "b", 2, 2.0, 2.0)]


def test_a_row_too_short_is_an_error_not_a_shifted_column() -> None:
    with pytest.raises(ValueError, match="zip"):
        csv_text(table(("rails", 3)), INCHES)


def test_rows_of_a_provisional_run_are_marked_and_all_that_belong_to_none() -> None:
    """Of two runs one is open to doubt: its rows alone are marked, or each of a list that is of no run."""
    runs: Any = [SimpleNamespace(name=name, provisional=name == "b") for name in "ab"]
    mark = "PROVISIONAL: buy, cut and dig nothing for b"
    by_run = Table(name="t", title="T", columns=(Column(head="run"),), rows=[("a",), ("b",)])
    found = marked_provisional(by_run, runs)
    assert (found.heads, list(found.rows)) == (("run", "provisional"), [("a", None), ("b", mark)])
    whole = marked_provisional(table(("a", 1, 2.0, 3.0), ("b", 1, 2.0, 3.0)), runs)
    assert [row[-1] for row in whole.rows] == [mark, mark]
    assert marked_provisional(by_run, runs[:1]) is by_run


def test_a_column_with_heights_under_a_line_says_which_are_over_it() -> None:
    assert sides_told(["28 mm", "", "71 mm under"]) == ["28 mm over", "", "71 mm under"]
    assert sides_told(["28 mm", "–"]) == ["28 mm", "–"]
