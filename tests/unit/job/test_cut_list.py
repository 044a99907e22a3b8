"""Cut lists as builders write them, JSON and CSV, and every mistake with its place."""

import json
from pathlib import Path
from typing import Any

import pytest
from small_job import mistakes_of

from fencegrade.job.cut_list import CutList, read_cut_list
from fencegrade.problems import JobMistakesError

SOUND: dict[str, Any] = {
    "kerf": "1/8 in",
    "least_offcut": "12 in",
    "stock": [{"length": "96 in", "price": 7.2, "on_hand": 2, "limit": 5}, {"length": "10 ft", "price": 9}],
    "pieces": [{"length": "31 1/2 in", "count": 4, "name": "side"}, {"length": "1' 3\""}],
}


def read(folder: Path, text: str, name: str = "list.json") -> CutList:
    (folder / name).write_text(text, encoding="utf-8")
    return read_cut_list(folder / name)


def refused(folder: Path, text: str, name: str = "list.json") -> list[str]:
    return mistakes_of(read, folder, text, name)


def changed(**keys: Any) -> str:
    return json.dumps({k: v for k, v in (SOUND | keys).items() if v is not ...})


def test_a_json_list(tmp_path: Path) -> None:
    found = read(tmp_path, json.dumps(SOUND))
    assert [(p.length, p.count, p.name) for p in found.pieces] == [(31.5, 4, "side"), (15.0, 1, "")]
    assert [(s.length, s.price, s.on_hand, s.limit) for s in found.stock] == [
        (96.0, 7.2, 2, 5),
        (120.0, 9, 0, None),
    ]
    assert (found.kerf, found.least_offcut, found.whole, found.metric) == (0.125, 12.0, False, False)
    assert [p.place for p in found.pieces] == ["list.json pieces 1", "list.json pieces 2"]


def test_whole_numbers_alone_have_no_unit(tmp_path: Path) -> None:
    found = read(
        tmp_path, '{"kerf": 2, "stock": [{"length": 100.0}], "pieces": [{"length": 31, "count": 3}]}'
    )
    assert found.whole
    assert (found.kerf, found.stock[0].length, found.pieces[0].length) == (2, 100, 31)


def test_a_bare_zero_goes_with_any_list(tmp_path: Path) -> None:
    assert read(tmp_path, changed(kerf=0, least_offcut=0)).kerf == 0.0
    assert read(tmp_path, changed(kerf="0 in")).kerf == 0.0
    assert not read(tmp_path, changed(kerf=...)).whole


@pytest.mark.parametrize("text", ["600 mm", "60 cm", "0.6 m", "0.6 metres"])
def test_a_metric_list(tmp_path: Path, text: str) -> None:
    found = read(tmp_path, f'{{"stock": [{{"length": "2.4 m"}}], "pieces": [{{"length": "{text}"}}]}}')
    assert found.metric
    assert found.pieces[0].length * 25.4 == pytest.approx(600)


CSV = """\
# boards for the cold frame
what,length [in],count,price,name
piece,31 1/2,4,,side
piece,1' 3",,,"end, short"
stock,96,2,7.20,
stock,10 ft,,9,
kerf,1/8,,,
least offcut,12,,,
"""


def test_a_csv_list_is_the_same_list(tmp_path: Path) -> None:
    found = read(tmp_path, CSV, "list.csv")
    assert [(p.length, p.count, p.name) for p in found.pieces] == [(31.5, 4, "side"), (15.0, 1, "end, short")]
    assert [(s.length, s.price, s.on_hand) for s in found.stock] == [(96.0, 7.2, 2), (120.0, 9, 0)]
    assert (found.kerf, found.least_offcut) == (0.125, 12.0)
    assert [p.place for p in found.pieces] == ["list.csv line 3", "list.csv line 4"]


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("What;Size [in];Qty;Cost;Label", "Board;96;2;7,20;x"),
        ("type\tlengths (in)\tquantity\teach\tpart", "stock\t96\t2\t7.2\tx"),
        ("kind,length [in],how many,price,note", "boards,96,2,7.20,x"),
    ],
)
def test_spellings_of_columns_and_separators(tmp_path: Path, header: str, row: str) -> None:
    separator = next(s for s in ";\t," if s in header)
    piece = separator.join(["cut", "31", "3", "", "side"])
    found = read(tmp_path, f"\ufeff{header}\n{row}\n{piece}\n", "list.csv")
    assert [(s.length, s.on_hand, s.price) for s in found.stock] == [(96.0, 2, 7.2)]
    assert [(p.length, p.count, p.name) for p in found.pieces] == [(31.0, 3, "side")]


def test_a_csv_of_whole_numbers(tmp_path: Path) -> None:
    found = read(tmp_path, "what,length,count\nstock,100,\npiece,31,3\nkerf,2,\n", "list.csv")
    assert found.whole
    assert found.kerf == 2


MISTAKES: dict[str, tuple[dict[str, Any], str]] = {
    "no pieces": ({"pieces": []}, 'list.json pieces: there is none; write "pieces": [{...}, ...]'),
    "no stock": ({"stock": ...}, 'list.json stock: there is none; write "stock": [{...}, ...]'),
    "not a list": ({"stock": {"a": 1}}, 'list.json stock: is not a list; write "stock": [{...}, ...]'),
    "not a table": (
        {"pieces": [3]},
        "list.json pieces 1: 3 stands where a table belongs; write it as a table with its keys",
    ),
    "zero": (
        {"pieces": [{"length": "0 in"}]},
        'list.json pieces 1, length: "0 in" is not more than zero; write the length of the board',
    ),
    "negative": (
        {"pieces": [{"length": "-3 in"}]},
        'list.json pieces 1, length: "-3 in" is not more than zero; write the length of the board',
    ),
    "bare among units": (
        {"pieces": [{"length": 31}]},
        "list.json pieces 1, length: 31 has no unit though other lengths have one; give every length a unit",
    ),
    "half a number": (
        {"pieces": [{"length": 31.5}]},
        "list.json pieces 1, length: 31.5 is not a length; "
        'write "31-1/2 in", or whole numbers alone throughout',
    ),
    "no length": (
        {"pieces": [{"count": 3}]},
        "list.json pieces 1, length: is missing; add length",
    ),
    "half a piece": (
        {"pieces": [{"length": "3 in", "count": 1.5}]},
        "list.json pieces 1, count: 1.5 is not a count; write a whole number, zero or more",
    ),
    "price of nothing": (
        {"stock": [{"length": "8 ft", "price": 0}]},
        "list.json stock 1, price: 0 is not a price; "
        "write a number above zero; count boards that cost nothing as on_hand",
    ),
    "price finer than money": (
        {"stock": [{"length": "8 ft", "price": 0.00001}]},
        "list.json stock 1, price: a price of 1e-05 is under 0.0001; check the decimal point",
    ),
    "a price as fine as money goes": (
        {"stock": [{"length": "8 ft", "price": 0.0001}, {"length": "9 ft"}]},
        "list.json stock 2: has no price but other lengths have one; give every length a price, or none",
    ),
    "some prices": (
        {"stock": [{"length": "8 ft", "price": 3}, {"length": "9 ft"}]},
        "list.json stock 2: has no price but other lengths have one; give every length a price, or none",
    ),
    "one bad price, and no word of a missing one": (
        {"stock": [{"length": "8 ft", "price": 3}, {"length": "9 ft", "price": "dear"}]},
        'list.json stock 2, price: "dear" is not a price; '
        "write a number above zero; count boards that cost nothing as on_hand",
    ),
    "no board at all": (
        {"stock": [{"length": "8 ft", "limit": 0}]},
        "list.json stock: there is no board to cut; raise a limit, or say how many are on_hand",
    ),
    "a slip of a key": (
        {"stock": [{"lenght": "8 ft", "length": "8 ft"}]},
        'list.json stock 1, lenght: is not a key that is known here; did you mean "length"?',
    ),
    "an unknown key": (
        {"colour": 1},
        "list.json colour: is not a key that is known here; "
        "known here: stock, pieces, kerf, least_offcut, one_piece",
    ),
    "a word for a truth": (
        {"one_piece": "yes"},
        'list.json one_piece: "yes" is neither true nor false; write true or false',
    ),
    "too long": (
        {"pieces": [{"length": "1e9 m"}]},
        "list.json pieces 1, length: ",
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_has_its_place_and_remedy(tmp_path: Path, name: str) -> None:
    keys, expected = MISTAKES[name]
    (words,) = refused(tmp_path, changed(**keys))
    assert words.startswith(expected)
    assert "; " in words


def test_where_nothing_has_a_unit_no_other_is_said_to_have_one(tmp_path: Path) -> None:
    lengths = {"stock": [{"length": 96}], "pieces": [{"length": "46 1/4"}]}
    found = refused(tmp_path, json.dumps(lengths))
    bare = "list.json stock 1, length: 96 has no unit and only whole numbers throughout go without; "
    assert [w for w in found if "stock 1" in w] == [bare + "give every length a unit"]


def test_all_mistakes_come_together(tmp_path: Path) -> None:
    found = refused(
        tmp_path, changed(pieces=[{"length": "x"}, {"length": "-1 in", "count": -1}], kerf="-1 in")
    )
    assert [w.split(": ")[0] for w in found] == [
        "list.json pieces 1, length",
        "list.json pieces 2, length",
        "list.json pieces 2, count",
        "list.json kerf",
    ]


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("{", "list.json line 1: is not valid JSON: "),
        ('{"stock": [\n}', "list.json line 2: is not valid JSON: "),
        ("[1, 2]", 'list.json: holds no table; write {"stock": [...], "pieces": [...]}'),
        ('{"a": ' + "[" * 100_000, "list.json: is nested too deeply"),
        ('{"kerf": ' + "9" * 5000 + "}", "list.json: holds a number of thousands of digits"),
        ("", "list.json: the file is empty"),
    ],
)
def test_files_that_are_no_list(tmp_path: Path, text: str, start: str) -> None:
    assert refused(tmp_path, text)[0].startswith(start)


def test_a_folder_is_no_list(tmp_path: Path) -> None:
    (tmp_path / "list.json").mkdir()
    with pytest.raises(JobMistakesError) as caught:
        read_cut_list(tmp_path / "list.json")
    assert [str(p) for p in caught.value.problems] == [
        "list.json: this is a folder, not a file; name the file itself"
    ]


def test_numbers_that_are_none(tmp_path: Path) -> None:
    text = '{"stock": [{"length": 9, "price": NaN}], "pieces": [{"length": Infinity, "count": 1e400}]}'
    found = refused(tmp_path, text)
    assert [w.split(": ")[0] for w in found] == [
        "list.json stock 1, price",
        "list.json pieces 1, length",
        "list.json pieces 1, count",
    ]


BAD_CSV = {
    "no header": ("piece,31,3\n", "column"),
    "unknown column": (
        "what,length,colour\npiece,31,red\n",
        'list.csv line 1: column "colour" is not known; '
        "the columns are what, length, count, price, on_hand, limit, name",
    ),
    "unknown unit": (
        "what,length [ell]\npiece,31\n",
        'list.csv line 1: "ell" is not a unit of length; write "length [in]" or "length [mm]"',
    ),
    "missing column": (
        "length [in],count\n31,3\n",
        'list.csv line 1: column "what" is missing; write a header such as what,length [in],count,price,name',
    ),
    "a column twice": (
        "what,length,size\npiece,31,31\n",
        'list.csv line 1: column "length" stands there twice',
    ),
    "unknown what": (
        "what,length\nplank,31\n",
        'list.csv line 2: "plank" is neither piece, stock, kerf nor least_offcut; '
        "write one of them under what",
    ),
    "two kerfs": (
        "what,length\nkerf,1\nkerf,2\n",
        "list.csv line 3: kerf stands there twice; keep one of them",
    ),
    "no stock": ("what,length\npiece,31\n", 'list.csv stock: there is none; add a row "stock,96 in"'),
    "no pieces": ("what,length\nstock,96\n", 'list.csv pieces: there is none; add a row "piece,96 in"'),
    "a price in words": (
        "what,length [in],price\npiece,31,\nstock,96,dear\n",
        'list.csv line 3, price: "dear" is not a price; ',
    ),
    "a negative length": (
        "what,length [in]\npiece,-31\nstock,96\n",
        'list.csv line 2, length: "-31 in" is not more than zero; write the length of the board',
    ),
    "too many cells": (
        "what,length [in]\npiece,31,4\nstock,96\n",
        "list.csv line 2: 3 cells under 2 columns; ",
    ),
}


@pytest.mark.parametrize("name", BAD_CSV)
def test_bad_csv(tmp_path: Path, name: str) -> None:
    text, expected = BAD_CSV[name]
    assert any(expected in words for words in refused(tmp_path, text, "list.csv"))


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(JobMistakesError) as caught:
        read_cut_list(tmp_path / "nowhere.json")
    assert str(caught.value) == "nowhere.json: there is no such file; check the name and the folder"


def test_names_with_control_characters_become_plain(tmp_path: Path) -> None:
    found = read(tmp_path, changed(pieces=[{"length": "3 in", "name": "\u001b[2Jside"}]))
    assert found.pieces[0].name == "[2Jside"
