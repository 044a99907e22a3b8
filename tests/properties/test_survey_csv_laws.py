"""Laws of reading a survey CSV."""

import codecs
import unicodedata
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import assume, given
from hypothesis import strategies as st

from fencegrade.job.survey import Side, StringReading, StringSurvey, Survey
from fencegrade.job.survey_csv import read_survey
from fencegrade.problems import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How one hand or one spreadsheet writes a survey."""

    separator: str
    encoding: str
    newline: str
    quote_all: bool
    keep_marks: bool
    unit_in_header: bool
    decimal_comma: bool
    drop_style: str
    upper: bool
    spaces: bool
    trailing: bool
    comments: bool


dialects = st.builds(
    Dialect,
    separator=st.sampled_from(",;\t"),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16-le", "utf-16-be"]),
    newline=st.sampled_from(["\n", "\r\n", "\r"]),
    quote_all=st.booleans(),
    keep_marks=st.booleans(),
    unit_in_header=st.booleans(),
    decimal_comma=st.booleans(),
    drop_style=st.sampled_from(["decimal", "fraction", "feet and inches"]),
    upper=st.booleans(),
    spaces=st.booleans(),
    trailing=st.booleans(),
    comments=st.booleans(),
)

letters = st.integers(0x21, 0xD7FF) | st.integers(0x10000, 0x1FFFF)
signs = letters.map(chr).filter(lambda c: unicodedata.category(c)[0] not in "CZ")
words = st.lists(signs | st.sampled_from(" ,;\"#'"), max_size=12).map("".join).map(str.strip)
"""Of lists, as what draws texts takes seconds to make tables of all letters."""

readings = st.builds(
    StringReading,
    line=st.just(0),
    station=st.integers(-400_000, 400_000).map(lambda n: n * 12 / 100),
    drop=st.integers(0, 4_000).map(lambda n: n / 8),
    string=st.none() | st.sampled_from(["A", "2", "far end"]),
    side=st.none() | st.sampled_from(Side),
    note=words,
)


def number(value: float, dialect: Dialect) -> str:
    """A decimal number; between tabs a comma has four decimals, since three might be thousands."""
    text = repr(value).removesuffix(".0")
    if not dialect.decimal_comma or dialect.separator == ",":
        return text
    return (f"{value:.4f}" if dialect.separator == "\t" else text).replace(".", ",")


def drop_text(inches: float, dialect: Dialect) -> str:
    """The drop as decimals, as a fraction, or as feet and inches with their marks."""
    unit = "" if dialect.unit_in_header else " in"
    if dialect.drop_style == "decimal":
        return number(inches, dialect) + unit
    eighths = f" {int(inches * 8) % 8}/8" if inches % 1 else ""
    if dialect.drop_style == "fraction":
        return f"{int(inches)}{eighths}{unit}"
    feet, rest = divmod(int(inches), 12)
    return f"{feet}' {rest}{eighths}\""


def cell(text: str, dialect: Dialect) -> str:
    """The cell as written: quoted where it must be, or inch marks left as they are where that can be told."""
    bare = dialect.keep_marks and not text.startswith('"') and dialect.separator not in text
    if dialect.quote_all or (not bare and any(mark in text for mark in (dialect.separator, '"'))):
        text = '"' + text.replace('"', '""') + '"'
    return f" {text} " if dialect.spaces else text


def written(rows: list[StringReading], dialect: Dialect) -> tuple[bytes, list[int]]:
    """The survey in one dialect, and the line of each row."""
    units = (" [ft]", " [in]") if dialect.unit_in_header else ("", "")
    names = [f"station{units[0]}", f"drop{units[1]}", "string", "side", "note"]
    lines = ['# paddock lane, 5" of rain', ""] if dialect.comments else []
    tail = [""] * 2 if dialect.trailing else []
    table = [[name.upper() if dialect.upper else name for name in names]]
    for row in rows:
        station = number(round(row.station / 12, 2), dialect) + ("" if dialect.unit_in_header else " ft")
        side = row.side.value if row.side else ""
        table.append([station, drop_text(row.drop, dialect), row.string or "", side, row.note])
    places = []
    for cells in table:
        if dialect.comments:
            lines += ["", "# next", dialect.separator * 3]
        lines.append(dialect.separator.join([cell(text, dialect) for text in cells] + tail))
        places.append(len(lines))
    text = dialect.newline.join([*lines, ""])
    mark = {"utf-16-le": codecs.BOM_UTF16_LE, "utf-16-be": codecs.BOM_UTF16_BE}.get(dialect.encoding, b"")
    return mark + text.encode(dialect.encoding), places[1:]


def read_bytes(data: bytes) -> tuple[Survey | None, tuple[Problem, ...]]:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "north.csv"
        path.write_bytes(data)
        return read_survey(path)


@given(rows=st.lists(readings, min_size=1, max_size=6), dialect=dialects)
def test_a_survey_reads_the_same_in_every_dialect(rows: list[StringReading], dialect: Dialect) -> None:
    data, lines = written(rows, dialect)
    survey, problems = read_bytes(data)
    assert problems == ()
    assert survey == StringSurvey(
        source="north.csv",
        rows=tuple(replace(row, line=line) for row, line in zip(rows, lines, strict=True)),
    )


@given(st.binary(max_size=200))
def test_any_bytes_give_a_survey_or_mistakes(data: bytes) -> None:
    _survey_or_mistakes(data)


MARKS = [",", ";", "\t", "\n", "\r\n", '"', '""', "#", "-", "\x0b", "\x85", "\u2028"]
CELLS = ["#N/A", "0", "1.5", "2,5", "63 1/2", "5'", "nan", "1e999", "before", "1/0", "é", "0,5,"]
NAMES = [
    "station",
    "drop",
    "note",
    "[ft]",
    "[in]",
    " [ft],",
    "elevation",
    "backsight",
    "foresight",
    "x",
    "side",
]
LINES = ["sep=;\n", "station [ft],drop [in],note\n", "station;drop\n"]
fragments = st.sampled_from([*MARKS, *CELLS, *NAMES, *LINES])


@given(st.lists(fragments, max_size=40).map("".join))
def test_any_jumble_of_survey_text_gives_a_survey_or_mistakes(text: str) -> None:
    _survey_or_mistakes(text.encode())


@given(rows=st.lists(readings, min_size=2, max_size=5), dialect=dialects, data=st.data())
def test_a_damaged_survey_gives_a_survey_or_mistakes(
    rows: list[StringReading], dialect: Dialect, data: st.DataObject
) -> None:
    whole, _ = written(rows, dialect)
    at = data.draw(st.integers(0, len(whole) - 1))
    with_damage = whole[:at] + data.draw(st.binary(max_size=3)) + whole[at + data.draw(st.integers(0, 3)) :]
    _survey_or_mistakes(with_damage)


@given(rows=st.lists(readings, min_size=1, max_size=5), dialect=dialects, data=st.data())
def test_an_unreadable_drop_is_named_with_its_line(
    rows: list[StringReading], dialect: Dialect, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(rows) - 1))
    raw, lines = written(
        [replace(row, drop=499.125 if i == at else 0.0) for i, row in enumerate(rows)], dialect
    )
    drop = cell(drop_text(499.125, dialect), dialect).encode(dialect.encoding.replace("-sig", ""))
    assume(raw.count(drop) == 1)
    survey, problems = read_bytes(raw.replace(drop, "wet".encode(dialect.encoding.replace("-sig", ""))))
    assert survey is None
    assert [(p.place, p.found) for p in problems] == [
        (f"north.csv line {lines[at]}", 'drop "wet" is not a length')
    ]


def _survey_or_mistakes(data: bytes) -> None:
    survey, problems = read_bytes(data)
    assert (survey is None) == bool(problems)
    for problem in problems:
        assert problem.place.startswith("north.csv")
        assert str(problem).isprintable()
        assert problem.remedy
