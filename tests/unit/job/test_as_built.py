"""The as-built file."""

from pathlib import Path

import pytest

from fencegrade.job.as_built import Tops, nearest_of, read_as_built
from fencegrade.problems import JobMistakesError

WHOLE = """
run = "lane side"
checked_by = "Own hand"
checked_on = "2 May"
tops = "posts"
tolerance = "3/8 in"
widths = ["5-1/2 in", "5-9/16 in"]
spacing = "7/32 in"
[[board]]
number = 20
right_edge = "9 ft 7 in"
[[board]]
number = 12
right_edge = "1.75 m"
height = "72-1/4 in"
gap = "2-1/8 in"
[[left]]
length = "6 ft"
count = 14
[[post]]
number = 2
station = "8 ft"
top = "66 in"
"""


def read(tmp_path: Path, text: str):  # type: ignore[no-untyped-def]
    path = tmp_path / "built.toml"
    path.write_text(text, encoding="utf-8")
    return read_as_built(path)


def test_every_key_is_read(tmp_path: Path) -> None:
    built = read(tmp_path, WHOLE)
    assert (built.run, built.checked_by, built.checked_on) == ("lane side", "Own hand", "2 May")
    assert built.tops is Tops.POSTS
    assert (built.tolerance, built.spacing, built.widths) == (0.375, 0.21875, (5.5, 5.5625))
    assert [b.number for b in built.boards] == [12, 20]
    assert built.boards[0].right_edge == pytest.approx(1750 / 25.4)
    assert (built.boards[0].height, built.boards[0].gap) == (72.25, 2.125)
    assert built.boards[1].place == "built.toml board[0]"
    assert [(b.length, b.count) for b in built.left] == [(72.0, 14)]
    assert [(p.number, p.station, p.top) for p in built.posts] == [(2, 96.0, 66.0)]


def test_an_empty_file_says_nothing(tmp_path: Path) -> None:
    built = read(tmp_path, "")
    assert (built.run, built.left, built.boards, built.tops) == (None, None, (), Tops.PLAN)


def test_every_mistake_comes_with_its_place(tmp_path: Path) -> None:
    text = """
tops = "sky"
tolerance = 3
widths = ["5-1/2", 6]
chekced_by = "x"
[[board]]
number = 0
right_edge = "tall"
[[board]]
number = 4
gap = "1 in"
[[board]]
number = 4
[[left]]
length = "-6 ft"
[[post]]
number = 2.5
station = "8 ft"
"""
    with pytest.raises(JobMistakesError) as caught:
        read(tmp_path, text)
    lines = [str(p) for p in caught.value.problems]
    assert lines[0] == 'built.toml chekced_by: is not a key that is known here; did you mean "checked_by"?'
    assert 'built.toml tops: "sky" is not one of the choices; write "plan" or "posts"' in lines
    assert any(line.startswith("built.toml tolerance: 3 has no unit") for line in lines)
    assert any(line.startswith("built.toml widths[0]: 5-1/2 has no unit") for line in lines)
    assert any(line.startswith("built.toml widths[1]: 6 has no unit") for line in lines)
    assert "built.toml board[0].number: numbers count from 1; write the number on the chart" in lines
    assert any(line.startswith("built.toml board[0].right_edge: tall cannot be read") for line in lines)
    assert "built.toml board[2]: number 4 comes twice; keep one of the two" in lines
    assert any(line.startswith('built.toml left[0].length: "-6 ft" is not more than zero') for line in lines)
    assert "built.toml left[0].count: is missing; add count, how many are left" in lines
    assert any(line.startswith("built.toml post[0].number: 2.5 is not a count") for line in lines)
    assert len(lines) == 11


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("run = \n", "built.toml line 1: is not valid TOML"),
        ("board = 3", "built.toml board: 3 stands where tables belong; write each as [[board]]"),
        ('widths = "5 in"', 'built.toml widths: "5 in" is not a list'),
        ("run = 5", "built.toml run: 5 is not a text"),
    ],
)
def test_files_of_another_shape(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(JobMistakesError) as caught:
        read(tmp_path, text)
    assert words in str(caught.value)


def test_no_file(tmp_path: Path) -> None:
    with pytest.raises(JobMistakesError, match="there is no such file"):
        read_as_built(tmp_path / "nowhere.toml")
    with pytest.raises(JobMistakesError, match="this is a folder"):
        read_as_built(tmp_path)


def test_the_nearest_name_or_all_of_them() -> None:
    assert nearest_of("lane sdie", ["lane side", "south"]) == 'did you mean "lane side"?'
    assert nearest_of("qqq", ["lane side", "south"]) == "known here: lane side, south"
