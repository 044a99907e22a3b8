"""A file's bytes to rows of cells."""

import codecs
import os
from pathlib import Path

import pytest
from msgspec.structs import replace

from fencegrade.job.csv_text import FileMistakes, shown, split_table
from fencegrade.job.text_file import MOST_LINES, SURVEY_FILE, printable, read_text
from fencegrade.problems import Problem, mistake

NAMES = ("station", "drop", "side", "note")


def rows_of(text: str) -> list[tuple[int, list[str]]]:
    """The rows of a sound text; fails on any mistake."""
    table = split_table(text, "north.csv", NAMES)
    assert not isinstance(table, Problem), str(table)
    rows = []
    for line, cells in table.rows:
        assert not isinstance(cells, Problem), str(cells)
        rows.append((line, cells))
    return rows


def fault_of(data: bytes, tmp_path: Path) -> str:
    path = tmp_path / "north.csv"
    path.write_bytes(data)
    text = read_text(path, "north.csv", SURVEY_FILE)
    assert isinstance(text, Problem)
    return str(text)


@pytest.mark.parametrize(
    ("header", "separator"),
    [
        ("station,drop", ","),
        ("station;drop", ";"),
        ("station\tdrop", "\t"),
        ("Station [ft], note; Drop [in], side", ","),
        ("station [ft];drop [in], as read;note", ";"),
        ('"station [ft]";"drop, from the string"', ";"),
        ("station", ","),
        ("0;5,5;1,2,3", ","),
    ],
)
def test_separator_is_the_one_that_parts_the_known_columns(header: str, separator: str) -> None:
    table = split_table(header + "\n1\n", "north.csv", NAMES)
    assert not isinstance(table, Problem)
    assert table.separator == separator


def test_a_declared_separator_is_taken() -> None:
    assert rows_of("sep=;\r\nstation;drop\n1;2,5\n".replace("\r\n", "\n")) == [(3, ["1", "2,5"])]


@pytest.mark.parametrize(
    ("line", "cells"),
    [
        ('0,63.5",post', ["0", '63.5"', "post"]),
        ("0,5' 3 1/2\",post", ["0", "5' 3 1/2\"", "post"]),
        ('0,"63 1/2""",post', ["0", '63 1/2"', "post"]),
        ('0, "63 1/2"""  ,post', ["0", '63 1/2"', "post"]),
        ('0,5,63.5"', ["0", "5", '63.5"']),
        ('0,5,"a, b"', ["0", "5", "a, b"]),
        ('0,5,"old" stump', ["0", "5", '"old" stump']),
        ('0,5,""', ["0", "5", ""]),
        ('0,5,"say ""no"""', ["0", "5", 'say "no"']),
        ('0,5,=SUM(A1:A2)&"x"', ["0", "5", '=SUM(A1:A2)&"x"']),
        (" 0 ,\t5, post  ", ["0", "5", "post"]),
        ("0,5,,,", ["0", "5", "", "", ""]),
        ('"0","5","",', ["0", "5", "", ""]),
    ],
)
def test_cells_of_a_line(line: str, cells: list[str]) -> None:
    assert rows_of(f"station,drop,note\n{line}\n") == [(2, cells)]


def test_empty_cells_between_tabs_stay() -> None:
    assert rows_of('station\tdrop\tnote\n1\t\t\n\t"5"\t"x"\n') == [(2, ["1", "", ""]), (3, ["", "5", "x"])]


def test_a_quoted_cell_runs_over_line_ends_and_lines_are_still_counted() -> None:
    text = 'station,drop,note\n0,5,"two\nlines, ""so"""\n4,6,\n'
    assert rows_of(text) == [(2, ["0", "5", 'two\nlines, "so"']), (4, ["4", "6", ""])]


def test_a_mark_that_closes_at_the_start_of_the_next_line_closes() -> None:
    assert rows_of('station,note,drop\n0,"two\n",5\n') == [(2, ["0", "two", "5"])]


@pytest.mark.parametrize(
    "text",
    [
        'station,drop,note\n0,5,"\n4,6,"\n',  # ditto marks
        'station,drop,note\n0,5,"open\n4,6,x\n',
        'station,note,drop\n0,",5\n4,",6\n',
        'station,drop,note\n0,5,"open\n# "a comment"\n4,6,x\n',
    ],
)
def test_an_open_quotation_mark_never_swallows_a_reading(text: str) -> None:
    table = split_table(text, "north.csv", NAMES)
    assert not isinstance(table, Problem)
    line, fault = next(iter(table.rows))
    assert (line, str(fault)) == (
        2,
        "north.csv line 2: a quotation mark opens a cell and nothing closes it; "
        'take it out, or close it and write an inch mark inside as two, as in "63 1/2"""',
    )


def test_comments_and_blank_lines_are_left_out_and_counted() -> None:
    text = '# orchard, north\n\n"# walked, then taped",,\n ,, \nstation,drop\n\n# "open\n1,2\n,,\n  # x\n3,4'
    assert rows_of(text) == [(8, ["1", "2"]), (11, ["3", "4"])]


def test_only_a_lone_quoted_hash_cell_is_a_comment() -> None:
    text = 'string,station,drop\n"#1","0","5"\n"# see, sketch",,\n"# two\nlines",,\n'
    assert rows_of(text) == [(2, ["#1", "0", "5"])]


@pytest.mark.parametrize("cell", ["#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?", "###"])
def test_an_error_mark_of_a_spreadsheet_is_not_a_comment(cell: str) -> None:
    assert rows_of(f"station,drop\n{cell},5\n{cell},\n") == [(2, [cell, "5"])]


@pytest.mark.parametrize(
    "data",
    [
        "é,1\n2".encode(),
        codecs.BOM_UTF8 + "é,1\n2".encode(),
        codecs.BOM_UTF16_LE + "é,1\n2".encode("utf-16-le"),
        codecs.BOM_UTF16_BE + "é,1\n2".encode("utf-16-be"),
        "é,1\r\n2".encode(),
        "é,1\r2".encode(),
    ],
)
def test_encodings_and_line_ends(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "north.csv"
    path.write_bytes(data)
    assert read_text(path, "north.csv", SURVEY_FILE) == "é,1\n2"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"a\r\nb\r\n63\xbd\n", "north.csv line 3: byte 0xBD is not UTF-8 text"),
        (codecs.BOM_UTF8 + b"a\n63\xbd\n", "north.csv line 2: byte 0xBD is not UTF-8 text"),
        (codecs.BOM_UTF16_LE + b"a\0\n\0\x00\xd8b\0", "north.csv line 2: byte 0x00 is not UTF-16 text"),
        (codecs.BOM_UTF16_LE + b"a\0\n\0b", "north.csv line 2: byte 0x62 is not UTF-16 text"),
        ("a\nb".encode("utf-16-le"), "north.csv line 1: a zero character: this is not a text file"),
        (b"PK\x03\x04rest", "north.csv: this is a spreadsheet workbook, not a text file"),
    ],
)
def test_what_is_not_text_is_named_with_its_line(data: bytes, words: str, tmp_path: Path) -> None:
    assert fault_of(data, tmp_path) == f"{words}; save it as CSV UTF-8 from the spreadsheet"


def test_limits_are_named(tmp_path: Path) -> None:
    just = b"\n" * MOST_LINES
    (tmp_path / "just.csv").write_bytes(just)
    assert read_text(tmp_path / "just.csv", "just.csv", SURVEY_FILE) == just.decode()
    many = b"\n" * (MOST_LINES + 1)
    assert fault_of(many, tmp_path) == (
        "north.csv: the file has more than 2,000,000 lines; split the survey into several runs"
    )
    (tmp_path / "north.csv").write_bytes(b"x" * 3_000_001)
    whole = read_text(tmp_path / "north.csv", "north.csv", replace(SURVEY_FILE, most_bytes=3_000_001))
    assert whole == "x" * 3_000_001
    found = read_text(tmp_path / "north.csv", "north.csv", replace(SURVEY_FILE, most_bytes=3_000_000))
    assert str(found) == ("north.csv: the file is larger than 3 MB; split the survey into several runs")


def test_a_line_that_is_too_long_is_named_and_the_rest_is_read() -> None:
    table = split_table(f"station,drop\n{'9' * 100_001}\n1,2\n", "north.csv", NAMES)
    assert not isinstance(table, Problem)
    (line, fault), good = table.rows
    assert good == (3, ["1", "2"])
    assert (line, str(fault)) == (
        2,
        "north.csv line 2: the line is longer than 100,000 characters; "
        "check that the file is a survey; put each reading on a line of its own",
    )
    assert isinstance(split_table("x" * 100_001, "north.csv", NAMES), Problem)
    assert not isinstance(split_table("x" * 100_000, "north.csv", NAMES), Problem)
    (just,) = rows_of(f"station,drop\n{'9' * 100_000}\n")
    assert just == (2, ["9" * 100_000])


def test_what_is_no_file_is_named(tmp_path: Path) -> None:
    assert str(read_text(tmp_path / "no.csv", "no.csv", SURVEY_FILE)) == (
        "no.csv: there is no such file; check the name and the folder"
    )
    assert str(read_text(tmp_path, "job", SURVEY_FILE)) == (
        "job: this is a folder, not a file; name a survey CSV"
    )
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert (
        str(read_text(pipe, "pipe", SURVEY_FILE)) == "pipe: this is not an ordinary file; name a survey CSV"
    )
    assert isinstance(read_text(Path("a\0b"), "a b", SURVEY_FILE), Problem)
    assert isinstance(read_text(tmp_path / ("n" * 5000), "n", SURVEY_FILE), Problem)


def test_a_file_that_may_not_be_read_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "north.csv"
    path.write_text("x")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert str(read_text(path, "north.csv", SURVEY_FILE)) == (
        "north.csv: the file may not be read; check its permissions"
    )


def test_text_for_messages_is_printable_and_short() -> None:
    assert printable("a\tb\n") == "a b"
    assert shown("a\x07b") == '"a b"'
    assert shown("x" * 40) == f'"{"x" * 40}"'
    assert shown("x" * 41) == '"' + "x" * 37 + '..."'


def test_mistakes_come_by_line_and_past_fifty_are_counted() -> None:
    mistakes = FileMistakes(place="north.csv")
    for line in (3, 2):
        mistakes.add(line, f"found {line}", "do this")
    assert [p.place for p in mistakes.problems()] == ["north.csv line 2", "north.csv line 3"]
    for line in range(10, 1010):
        mistakes.keep(line, mistake("p", "f", "r"))
    mistakes.add(1, "the first", "do that")
    problems = mistakes.problems()
    assert len(problems) == 21
    assert problems[0].found == "the first"
    assert str(problems[-1]) == (
        "north.csv: 983 more mistakes are not listed; cure those above, then read the file again"
    )


@pytest.mark.parametrize(("count", "told"), [(3, 3), (4, 1)])
def test_a_mistake_is_told_once_from_four_lines(count: int, told: int) -> None:
    mistakes = FileMistakes(place="north.csv")
    for line in range(count):
        mistakes.add(line + 2, "found", "do this")
    found = [str(p) for p in mistakes.problems()]
    assert len(found) == told
    assert found[0] == f"north.csv line{' 2' if told > 1 else 's 2-5'}: found; do this"


@pytest.mark.parametrize(("count", "told"), [(50, 50), (51, 21)])
def test_all_mistakes_are_told_up_to_fifty(count: int, told: int) -> None:
    mistakes = FileMistakes(place="north.csv")
    for line in range(count):
        mistakes.add(line + 2, f"found {line}", "do this")
    assert len(mistakes.problems()) == told
    assert not mistakes.enough


def test_of_very_many_mistakes_the_earliest_lines_stay() -> None:
    mistakes = FileMistakes(place="north.csv")
    for line in [*range(200, 299), 150, 300, 299]:
        mistakes.add(line, f"found {line}", "do this")
    mistakes.add(1, "the first", "do that")
    places = [p.place for p in mistakes.problems()[:3]]
    assert places == ["north.csv line 1", "north.csv line 200", "north.csv line 201"]
    mistakes.count = 99_999
    assert not mistakes.enough
    mistakes.count = 100_000
    assert mistakes.enough
    assert "at least 99,980 more mistakes" in str(mistakes.problems()[-1])
