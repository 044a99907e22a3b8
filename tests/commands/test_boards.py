"""`fencegrade boards`: a list in, a plan out, mistakes in words."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

LIST = {
    "kerf": "1/8 in",
    "stock": [{"length": "96 in", "price": 7.2}],
    "pieces": [{"length": "31 1/2 in", "count": 7, "name": "side"}, {"length": "20 in", "count": 3}],
}


@pytest.fixture
def cut_list(tmp_path: Path) -> Path:
    path = tmp_path / "frame.json"
    path.write_text(json.dumps(LIST))
    return path


def test_json_alone_is_on_standard_output(run: Run, cut_list: Path) -> None:
    done = run("boards", cut_list, "--json")
    assert (done.status, done.err) == (0, "")
    found = json.loads(done.out)
    assert sum(b["count"] * len(b["pieces"]) for b in found["boards"]) == 10
    assert found["proven"] is True


def test_the_screen(run: Run, cut_list: Path) -> None:
    done = run("boards", cut_list)
    assert (done.status, done.err) == (0, "")
    assert "stop block at" in done.out
    assert "31-1/2 in" in done.out


def test_out_writes_words_json_and_the_drawing(run: Run, cut_list: Path, tmp_path: Path) -> None:
    done = run("boards", cut_list, "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    names = {"boards.json", "boards.txt", "cut_boards.svg", "cut_boards.png"}
    names |= {"boards.csv", "saw_list.csv", "offcuts.csv"}
    assert {p.name for p in (tmp_path / "out").iterdir() if not p.name.startswith(".")} == names
    assert all(f"{tmp_path}/out/{name}" in done.out for name in names)
    assert json.loads((tmp_path / "out" / "boards.json").read_text())["proven"] is True
    assert "31-1/2 in" in (tmp_path / "out" / "cut_boards.svg").read_text()
    heads, *rows = (tmp_path / "out" / "saw_list.csv").read_text().splitlines()
    assert heads == "stop block at [in],pieces,for,in patterns"
    assert sum(int(row.split(",")[1]) for row in rows) == 10


def test_tables_of_bare_numbers_have_no_unit(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bare.json").write_text(
        '{"kerf": 1, "stock": [{"length": 100}], "pieces": [{"length": 45, "count": 2}]}'
    )
    assert run("boards", tmp_path / "bare.json", "--out", tmp_path / "out").status == 0
    heads, row = (tmp_path / "out" / "boards.csv").read_text().splitlines()
    assert (heads.split(",")[2], row.split(",")[2]) == ("stock", "100.0")


def test_a_csv_list(run: Run, tmp_path: Path) -> None:
    (tmp_path / "frame.csv").write_text("what,length [in],count,price\nstock,96,,7.20\npiece,31 1/2,7,\n")
    done = run("boards", tmp_path / "frame.csv", "--json")
    assert (done.status, done.err) == (0, "")
    assert json.loads(done.out)["cost"] == pytest.approx(21.6)


def test_the_same_list_gives_the_same_plan(run: Run, cut_list: Path) -> None:
    first, second = (json.loads(run("boards", cut_list, "--json").out) for _ in range(2))
    assert first["boards"] == second["boards"]


def test_mistakes_are_listed_one_a_line(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "frame.json"
    path.write_text(json.dumps(LIST | {"pieces": [{"length": "10 ft", "name": "sill"}, {"length": "-1 in"}]}))
    done = run("boards", path)
    assert (done.status, done.out) == (1, "")
    assert done.errors == [
        'frame.json pieces 2, length: "-1 in" is not more than zero; write the length of the board'
    ]
    path.write_text(json.dumps(LIST | {"pieces": [{"length": "10 ft", "name": "sill"}]}))
    assert run("boards", path).errors == [
        'frame.json pieces 1: "sill", 120 in, is longer than the longest board, 96 in; '
        "offer a longer board, or make the piece shorter"
    ]


def test_nothing_to_read(run: Run, tmp_path: Path) -> None:
    done = run("boards", tmp_path / "nowhere.json")
    assert (done.status, done.out) == (1, "")
    assert done.errors == ["nowhere.json: there is no such file; check the name and the folder"]


@pytest.mark.parametrize(
    "words", [["boards"], ["boards", "x", "--seconds", "-1"], ["boards", "x", "--seconds", "y"]]
)
def test_wrong_usage(run: Run, words: list[str]) -> None:
    done = run(*words)
    assert (done.status, done.out) == (2, "")
    assert "Usage" in done.err


def test_a_foreign_file_is_not_replaced(run: Run, cut_list: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "boards.txt").write_text("mine")
    done = run("boards", cut_list, "--out", tmp_path / "out")
    assert (done.status, done.out) == (1, "")
    assert (tmp_path / "out" / "boards.txt").read_text() == "mine"
    assert run("boards", cut_list, "--out", tmp_path / "out", "--force").status == 0
