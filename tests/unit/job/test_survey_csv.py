"""Survey CSV files to readings, and every mistake in its words."""

from pathlib import Path

import pytest

from fencegrade.job import survey_csv
from fencegrade.job.survey import (
    ElevationReading,
    ElevationSurvey,
    LevelBook,
    LevelRow,
    PointReading,
    PointSurvey,
    Side,
    StringReading,
    StringSurvey,
    Survey,
)
from fencegrade.job.survey_csv import read_survey
from fencegrade.job.survey_header import COLUMN_NAMES
from fencegrade.units import parse_length


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "north.csv"
    path.write_bytes(text.encode())
    return path


def survey_of(tmp_path: Path, text: str) -> Survey:
    survey, problems = read_survey(written(tmp_path, text))
    assert problems == ()
    assert survey is not None
    return survey


def mistakes_of(tmp_path: Path, text: str) -> list[str]:
    survey, problems = read_survey(written(tmp_path, text))
    assert survey is None
    return [str(problem) for problem in problems]


def test_string_readings(tmp_path: Path) -> None:
    text = (
        "# herb garden\nStation [ft],DROP [in],String,side,known [in],note\n"
        '0,63.5,A,,12,gate post\n4,63 1/2,A,before,,\n4,60",B ,After,,kerb\n'
    )
    assert survey_of(tmp_path, text) == StringSurvey(
        source="north.csv",
        rows=(
            StringReading(line=3, station=0.0, drop=63.5, string="A", known=12.0, note="gate post"),
            StringReading(line=4, station=48.0, drop=63.5, string="A", side=Side.BEFORE),
            StringReading(line=5, station=48.0, drop=60.0, string="B", side=Side.AFTER, note="kerb"),
        ),
    )


def test_level_book(tmp_path: Path) -> None:
    text = (
        "station;backsight [ft];intermediate [ft];foresight [ft];known [ft];note\n"
        ";5,5;;;100;benchmark\n10 ft;;4,25;;;\n;3;;2,5;;turning point\n"
    )
    assert survey_of(tmp_path, text) == LevelBook(
        source="north.csv",
        rows=(
            LevelRow(line=2, station=None, backsight=66.0, known=1200.0, note="benchmark"),
            LevelRow(line=3, station=120.0, intermediate=51.0),
            LevelRow(line=4, station=None, backsight=36.0, foresight=30.0, note="turning point"),
        ),
    )


def test_elevations(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "station,elevation\n0 in,-3 in\n2' 3 1/2\",1 ft\n")
    assert survey == ElevationSurvey(
        source="north.csv",
        rows=(
            ElevationReading(line=2, station=0.0, elevation=-3.0),
            ElevationReading(line=3, station=27.5, elevation=12.0),
        ),
    )


def test_points_on_a_national_grid(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "z [ft]\tx [ft]\ty [ft]\n1\t2000000.5\t17000000\n")
    assert survey == PointSurvey(
        source="north.csv", rows=(PointReading(line=2, x=24000006.0, y=204000000.0, z=12.0),)
    )


def test_metric_units(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "station [m],drop [mm]\n2.54,1524\n1 ft,5 ft\n")
    assert isinstance(survey, StringSurvey)
    assert [(r.station, r.drop) for r in survey.rows] == [
        (pytest.approx(100, rel=1e-14), pytest.approx(60, rel=1e-14)),
        (12.0, 60.0),
    ]


def test_trailing_empty_columns_and_a_missing_note_do_no_harm(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "station [ft],,drop [in],note,,\n0,,1,a,,\n1,,2\n2,,3,\n,,,,\n")
    assert isinstance(survey, StringSurvey)
    assert [(r.line, r.drop, r.note) for r in survey.rows] == [(2, 1.0, "a"), (3, 2.0, ""), (4, 3.0, "")]


def test_notes_lose_nothing_but_control_characters(tmp_path: Path) -> None:
    text = 'station [ft],drop [in],note\n0,1,=1+1\n1,2,"a\tb\r\nc, ""d"" é ½"\n2,3,-x @y 5\' 3"\n'
    survey = survey_of(tmp_path, text)
    assert [r.note for r in survey.rows] == ["=1+1", 'a b c, "d" é ½', "-x @y 5' 3\""]


def test_the_place_given_names_the_file() -> None:
    survey, _ = survey_csv.survey_of("station [ft],drop [in]\n0,1\n", "garden/north.csv")
    assert survey is not None
    assert survey.source == "garden/north.csv"
    _, problems = survey_csv.survey_of("station [ft],drop [in]\n0,x\n", "garden/north.csv")
    assert problems[0].place == "garden/north.csv line 2"


HEADER_FAULTS = [
    (
        "",
        "north.csv: the file is empty; "
        'write a header such as "station [ft],drop [in]" and a row for each reading',
    ),
    (
        "\n# nothing\n",
        "north.csv: the file holds no header and no rows; "
        'write a header such as "station [ft],drop [in]" and a row for each reading',
    ),
    (
        "\nstation [ft],drop [in]\n# 1,2\n",
        "north.csv line 2: a header and no readings under it; "
        "write a row for each reading; a line that begins with # is a comment",
    ),
    (
        "0,63.5\n1,62\n",
        "north.csv line 1: the first row holds numbers, so nothing says what the columns are; "
        'put a header above it, such as "station [ft],drop [in]"',
    ),
    (
        "station drop\n0 1\n",
        "north.csv line 1: nothing separates the columns of the header; "
        'separate them by a comma, a semicolon or a tab, such as "station [ft],drop [in]"',
    ),
    (
        "station 2026\n0\n",
        'north.csv line 1: column "station 2026" is not known; '
        'call it "station" if that is meant, or delete it',
    ),
    (
        "station [ft],dorp [in]\n0,1\n",
        'north.csv line 1: column "dorp [in]" is not known; write "drop [in]"',
    ),
    (
        "station (ft),drop [in]\n0,1\n",
        'north.csv line 1: column "station (ft)" is not known; write "station [ft]"',
    ),
    (
        f"station [m],w [m]{6000 * '1'}\n0,1\n",
        f'north.csv line 1: column "w [m]{32 * "1"}..." is not known; if it is how far down from the string '
        'to the ground, write "drop [m]"; if heights of the ground, "elevation [m]"; '
        'else move its text to "note"',
    ),
    ("station [ft],drop_in\n0,1\n", 'north.csv line 1: column "drop_in" is not known; write "drop [in]"'),
    ("station [ft],drop [in\n0,1\n", 'north.csv line 1: column "drop [in" is not known; write "drop [in]"'),
    (
        "station [ft],dorp,note\n0,1 in,\n",
        'north.csv line 1: column "dorp" is not known; call it "drop" if that is meant, or delete it',
    ),
    (
        "station [ft],bs,foresight [ft]\n0,1,2\n",
        'north.csv line 1: column "bs" is not known; call it "backsight" if that is meant, or delete it',
    ),
    (
        "station [ft],drop [in],weather\n0,1,wet\n",
        'north.csv line 1: column "weather" is not known; '
        'delete it, or move its text to "note"; the columns are ' + ", ".join(COLUMN_NAMES),
    ),
    (
        "drop [in],note\n1,a\n",
        'north.csv line 1: column "station" is missing, and string readings need it; '
        'add it, such as "station [ft]" or "station [m]"',
    ),
    (
        "station [ft],backsight [ft]\n1,2\n",
        'north.csv line 1: columns "intermediate" and "foresight" are both missing, '
        'and a level book needs one; add one, such as "foresight [ft]" or "foresight [m]"',
    ),
    (
        "station [ft],note\n1,a\n",
        "north.csv line 1: no column holds a reading; "
        'add "drop", or "backsight" and "foresight", or "elevation", or "x", "y" and "z"',
    ),
    (
        "station [ft],drop [in],elevation [ft]\n0,1,2\n",
        'north.csv line 1: columns of different kinds: "drop" (string readings) and '
        '"elevation" (elevations); keep one kind of reading in a file',
    ),
    (
        "x [ft],y [ft],z [ft],side\n0,1,2,\n",
        'north.csv line 1: column "side" has no use with points; '
        'delete it, or move its text to "note"; the columns are x, y, z, note',
    ),
    (
        "station [ft],drop [in],drop [ft]\n0,1,2\n",
        'north.csv line 1: column "drop" stands twice; delete or rename one of them',
    ),
    (
        "station [ft],drop [kg]\n0,1\n",
        'north.csv line 1: "kg" in column "drop" is not a unit of length; write "drop [in]" or "drop [mm]"',
    ),
    (
        "station [ft],drop [in],note [in]\n0,1,a\n",
        'north.csv line 1: column "note" takes no unit; write "note" alone',
    ),
    (
        "station [ft],,drop [in]\n0,9,1\n1,8,2\n",
        'north.csv line 2: column 2 holds "9" and has no name; name it in the header, or empty it',
    ),
]


@pytest.mark.parametrize(("text", "words"), HEADER_FAULTS)
def test_a_fault_of_the_header(text: str, words: str, tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, text) == [words]


LIKE = "write it like 63.5, 63 1/2 or 5' 3 1/2\""
ROW_FAULTS = [
    ("0,x,,", f'drop "x" is not a length; {LIKE}'),
    ("0,63..5,,", f'drop "63..5" is not a length; {LIKE}'),
    ("0,7.,,", f'drop "7." is not a length; {LIKE}'),
    ("0,1_000,,", f'drop "1_000" is not a length; {LIKE}'),
    ("0,=A1,,", f'drop "=A1" is not a length; {LIKE}'),
    ("0,nan,,", "drop nan is not a finite number; write it as in 5' 3-1/2\", 63-1/2 in or 1613 mm"),
    (
        "0,-Infinity,,",
        "drop -Infinity is not a finite number; write it as in 5' 3-1/2\", 63-1/2 in or 1613 mm",
    ),
    ("0,1e400,,", "drop 1e400 is larger than 1,000,000,000 in; check the number and its unit"),
    ("0,1e9,,", 'drop "1e9" is beyond 1,000,000 ft; check the number and its unit'),
    ("0," + "9" * 5000 + ",,", f'drop "{"9" * 37}..." is not a length; {LIKE}'),
    (
        "0,63 9/8,,",
        "drop 63 9/8 has the fraction 9/8, which is one or more; "
        "after a whole number write a fraction under one, such as 3/8",
    ),
    ("0,\ue0005,,", f'drop "5" is not a length; {LIKE}'),
    (
        "0,5 kg,,",
        "drop 5 kg has the unit kg, which is no length unit known here; use in, ft, yd, mm, cm or m",
    ),
    (
        "1+25,3,,",
        'station "1+25" is not a length; write the distance from the start of the run, such as "125 ft"',
    ),
    (
        "#N/A,3,,",
        'station "#N/A" is not a length; '
        "it is a spreadsheet's error mark; cure the formula, or delete the row",
    ),
    ("1000001,3,,", 'station "1000001" is beyond 1,000,000 ft; check the number and its unit'),
    ("0,-12000001,,", 'drop "-12000001" is beyond 1,000,000 ft; check the number and its unit'),
    (",3,,", "station is empty; fill it in, or delete the row"),
    ("0,,,a", "drop is empty; fill it in, or delete the row"),
    (
        "0,3,left,",
        'side "left" is not a side; write "before" or "after" the vertical face, or leave it empty',
    ),
    (
        '0,"63,5",,',
        'drop "63,5" has a comma in a number; write a decimal point and no thousands mark, such as 63.5',
    ),
    (
        "0,3,,a,b",
        "5 cells under 4 columns; put words that hold a comma in quotation marks, and decimals with a point",
    ),
    ("0", "1 cell under 4 columns; write one for each of station, drop, side, note, with a comma between"),
    ("0,3", "2 cells under 4 columns; write one for each of station, drop, side, note, with a comma between"),
    ("station [ft],drop [in],side,note", "the header stands here again; delete this row"),
    ("STATION,Drop,side,note,,", "the header stands here again; delete this row"),
    (
        '0,3,,"open',
        "a quotation mark opens a cell and nothing closes it; "
        'take it out, or close it and write an inch mark inside as two, as in "63 1/2"""',
    ),
]


@pytest.mark.parametrize(("row", "words"), ROW_FAULTS)
def test_a_fault_of_a_row(row: str, words: str, tmp_path: Path) -> None:
    text = f"station [ft],drop [in],side,note\n0,1,,\n{row}\n9,1,,\n"
    assert mistakes_of(tmp_path, text) == [f"north.csv line 3: {words}"]


def test_the_farthest_a_column_may_hold_is_read(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "station [ft],drop [ft]\n0,-1000000\n1000000,1000000\n")
    assert isinstance(survey, StringSurvey)
    assert [(r.station, r.drop) for r in survey.rows] == [(0.0, -12e6), (12e6, 12e6)]


def test_without_a_unit_in_the_header_examples_carry_one(tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, "station [ft],drop\n0,wet\n") == [
        'north.csv line 2: drop "wet" is not a length; write it like 63.5 in, 63 1/2 in or 5\' 3 1/2"'
    ]


def test_a_number_without_unit_is_reported_once_a_column(tmp_path: Path) -> None:
    rows = "".join(f"{i} ft,{i}.5,63 1/2\n" for i in range(1200))
    assert mistakes_of(tmp_path, "station,drop,known\n0 ft,1 in,1 in\n" + rows) == [
        'north.csv line 3: drop "0.5" has no unit (and 1,199 more in this column); '
        'write it once in the header, "drop [in]" or "drop [mm]", or on each value; '
        "it is not guessed, because 0.1 ft is 1.2 in",
        'north.csv line 3: known "63 1/2" has no unit (and 1,199 more in this column); '
        'write it once in the header, "known [ft]" or "known [m]", or on each value; '
        "it is not guessed, because 0.1 ft is 1.2 in",
    ]


def test_a_point_that_ends_a_unit_is_no_decimal_point(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, "station;drop\n0,5 ft.;3 in.\n")
    assert isinstance(survey, StringSurvey)
    assert [(r.station, r.drop) for r in survey.rows] == [(6.0, 3.0)]


def test_a_comma_between_tabs_is_read_only_where_it_can_be_told(tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, "station [ft]\tdrop [mm]\n0\t1,613\n2\t1,590\n") == [
        'north.csv line 2: the comma of drop "1,613" may mark decimals or thousands; '
        "write a decimal point, or no comma at all"
    ]
    survey = survey_of(tmp_path, "station [ft]\tdrop [in]\n0\t1,625\n2\t1,5\n")
    assert isinstance(survey, StringSurvey)
    assert [r.drop for r in survey.rows] == [1.625, 1.5]
    survey = survey_of(tmp_path, "station [ft];drop [in]\n0;1,625\n")
    assert isinstance(survey, StringSurvey)
    assert [r.drop for r in survey.rows] == [1.625]


@pytest.mark.parametrize("unit", ["in", "ft", "yd", "mm", "cm", "m"])
@pytest.mark.parametrize("number", ["5.1", "-0.3", "+17.77", "1613", "0.1", "123456.789", ".7", "1E-05"])
def test_a_unit_in_the_header_or_on_the_value_gives_the_same_inches(
    unit: str, number: str, tmp_path: Path
) -> None:
    survey = survey_of(tmp_path, f"station [ft],drop [{unit}]\n0,{number}\n")
    assert isinstance(survey, StringSurvey)
    assert survey.rows[0].drop == parse_length(number, unit)


def test_decimal_commas_and_points_do_not_mix(tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, "station [ft];drop [in]\n0;1\n0,5;3\n1;1.234\n") == [
        "north.csv line 4: decimal commas (line 3) and points (line 4) in one file; "
        "write all decimals one way, and no thousands marks"
    ]


@pytest.mark.parametrize("number", ["1.234,5", "1,234.5", "1,234,567"])
def test_a_number_that_reads_two_ways_is_refused(number: str, tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, f"station [ft];drop [in]\n0;{number}\n") == [
        f'north.csv line 2: drop "{number}" can be read in two ways; '
        "write one decimal mark and no thousands mark, such as 1234,5"
    ]


def test_a_row_of_a_level_book_without_a_sight(tmp_path: Path) -> None:
    text = "station [ft],backsight [ft],foresight [ft],note\n0,5,,\n3,,,stump\n5,,4,\n"
    assert mistakes_of(tmp_path, text) == [
        "north.csv line 3: no sight in this row; "
        "fill in backsight, intermediate or foresight, or delete the row"
    ]


def test_every_mistake_is_reported_together_by_line(tmp_path: Path) -> None:
    text = "station [ft],drop,colour\n0,x,red\n1,5,red\n,6 in,red\n2,7 in\n3,8 in,red,9\n"
    assert [m.split(";")[0] for m in mistakes_of(tmp_path, text)] == [
        'north.csv line 1: column "colour" is not known',
        'north.csv line 2: drop "x" is not a length',
        'north.csv line 3: drop "5" has no unit',
        "north.csv line 4: station is empty",
        "north.csv line 5: 2 cells under 3 columns",
        "north.csv line 6: 4 cells under 3 columns",
    ]


def test_many_mistakes_are_listed_in_part(tmp_path: Path) -> None:
    rows = [f"0,x{k}\n" for k in range(5000)]
    fifty = mistakes_of(tmp_path, "station [ft],drop [in]\n" + "".join(rows[:50]))
    assert len(fifty) == 50
    more = mistakes_of(tmp_path, "station [ft],drop [in]\n" + "".join(rows))
    assert more[:20] == fifty[:20]
    assert more[20:] == [
        "north.csv: 4,980 more mistakes are not listed; cure those above, then read the file again"
    ]


def test_a_mistake_of_many_lines_is_told_once(tmp_path: Path) -> None:
    text = "station [ft],drop [in],side\n" + "0,3\n" * 5 + "1,3,\n2,x,\n" + "3,4\n"
    assert mistakes_of(tmp_path, text) == [
        "north.csv lines 2-6, 9: 2 cells under 3 columns; write one for each of station, drop, side, with a "
        "comma between",
        'north.csv line 8: drop "x" is not a length; write it like 63.5, 63 1/2 or 5\' 3 1/2"',
    ]


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    survey, problems = read_survey(tmp_path / "south.csv")
    assert survey is None
    assert [str(p) for p in problems] == ["south.csv: there is no such file; check the name and the folder"]
    survey, problems = read_survey(tmp_path)
    assert survey is None
    assert problems[0].found == "this is a folder, not a file"


def test_many_rows_are_read_whole(tmp_path: Path) -> None:
    rows = "".join(f"{i},{i % 90}.25,\n" for i in range(20_000))
    survey = survey_of(tmp_path, "station [in],drop [in],note\n" + rows)
    assert isinstance(survey, StringSurvey)
    assert [(r.line, r.station, r.drop) for r in survey.rows] == [
        (i + 2, float(i), i % 90 + 0.25) for i in range(20_000)
    ]


def test_more_readings_than_any_run_has_are_refused_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fencegrade.job.survey_csv.MOST_READINGS", 3)
    rows = [f"{k},20\n" for k in range(6)]
    survey_of(tmp_path, "station [ft],drop [in]\n" + "".join(rows[:3]))
    assert mistakes_of(tmp_path, "station [ft],drop [in]\n" + "".join(rows)) == [
        "north.csv line 5: more than 3 readings; keep a reading every foot or so, or divide the run and its "
        "survey into several"
    ]


@pytest.mark.parametrize(("unit", "like"), [("mm", "1613 or 1613.5"), ("m", "1.613"), ("cm", "161.3")])
def test_a_metric_column_is_shown_a_metric_number(unit: str, like: str, tmp_path: Path) -> None:
    assert mistakes_of(tmp_path, f"station [m],drop [{unit}]\n0,1 420\n2,1500\n") == [
        f'north.csv line 2: drop "1 420" is not a length; write it like {like}'
    ]
