"""The cutting plan of a list on the screen, as tables and as JSON."""

import json
from pathlib import Path
from typing import Any

import pytest

from fencegrade.job.cut_list import read_cut_list
from fencegrade.planning.boards import ListPlan, plan_cut_list
from fencegrade.sheets.screen.boards_text import (
    boards_json,
    boards_lines,
    list_words,
    offcut_table,
    pattern_table,
    stop_table,
)

PIECES = [
    {"length": "31-1/2 in", "count": 6, "name": "side"},
    {"length": "15 in", "count": 4, "name": "end"},
    {"length": "15 in", "count": 1, "name": "spare end"},
]
STOCK = [{"length": "96 in", "price": 7.2, "on_hand": 1}, {"length": "10 ft", "price": 9.1}]


def plan(folder: Path, pieces: Any = PIECES, stock: Any = STOCK, **keys: Any) -> ListPlan:
    (folder / "list.json").write_text(json.dumps({"pieces": pieces, "stock": stock, **keys}))
    return plan_cut_list(read_cut_list(folder / "list.json"), seconds=2.0)


def test_json_has_the_keys_promised(tmp_path: Path) -> None:
    found = boards_json(plan(tmp_path, kerf="1/8 in"))
    assert set(found) >= {"boards", "cost", "lower_bound", "proven", "seconds"}
    for board in found["boards"]:
        assert set(board) >= {"stock", "pieces", "offcut", "count"}
        cuts = board["stock"] - board["offcut"] - sum(board["pieces"])
        assert cuts == pytest.approx(0.125 * len(board["pieces"])) or board["offcut"] == 0
    lengths = sorted(p for b in found["boards"] for p in b["pieces"] * b["count"])
    assert lengths == [15.0] * 5 + [31.5] * 6
    assert found["lower_bound"] <= found["cost"]
    assert found["length_unit"] == "in"
    json.dumps(found, allow_nan=False)


def test_cost_is_the_price_of_the_boards_bought(tmp_path: Path) -> None:
    found = boards_json(plan(tmp_path, kerf="1/8 in"))
    price = {96.0: 7.2, 120.0: 9.1}
    bought = sum(price[b["stock"]] * b["count"] for b in found["boards"] if not b["on_hand"])
    assert found["cost"] == pytest.approx(bought)


def test_whole_numbers_give_whole_numbers(tmp_path: Path) -> None:
    found = boards_json(
        plan(tmp_path, [{"length": 30, "count": 5}], [{"length": 100}, {"length": 70}], kerf=3)
    )
    flat = [found["cost"], *(v for b in found["boards"] for v in (b["stock"], b["offcut"], *b["pieces"]))]
    assert all(isinstance(v, int) for v in flat)
    assert found["length_unit"] is None
    assert "." not in json.dumps(found["boards"])


def test_without_prices_the_proof_speaks_in_lengths(tmp_path: Path) -> None:
    stock = [{"length": "8 ft"}, {"length": "10 ft"}]
    text = "\n".join(boards_lines(plan(tmp_path, stock=stock, kerf="1/8 in")))
    assert "cost" not in text
    bought = boards_json(plan(tmp_path, stock=stock, kerf="1/8 in"))["cost"]
    feet = f"{bought / 12:g}' 0\""
    assert f"{feet} of boards bought; " in text
    assert f"so {feet} is best" in text


def test_each_setting_of_the_stop_block_longest_first(tmp_path: Path) -> None:
    rows = list(stop_table(plan(tmp_path, kerf="1/8 in")).rows)
    assert [r[:3] for r in rows] == [(31.5, 6, "side"), (15.0, 5, "4 end, 1 spare end")]
    assert all(r[3] for r in rows)


def test_patterns_and_offcuts_are_tables(tmp_path: Path) -> None:
    found = plan(tmp_path, kerf="1/8 in", least_offcut="6 in")
    rows = list(pattern_table(found).rows)
    assert [r[0] for r in rows] == list(range(1, len(found.plan.boards) + 1))
    assert sum(int(str(r[1])) for r in rows) == found.plan.board_count
    assert sum(r[5] == "on hand" for r in rows) == 1
    lengths = [float(str(r[0])) for r in offcut_table(found).rows]
    assert lengths == sorted(lengths, reverse=True)
    assert min(lengths) >= 6


def test_the_screen_has_boards_saw_list_offcuts_and_proof(tmp_path: Path) -> None:
    lines = list(boards_lines(plan(tmp_path, kerf="1/8 in")))
    assert lines[0].endswith("of cutting them")
    for title in ("Boards", "Saw list", "Offcuts"):
        assert title in lines
    assert any(line.startswith("cost ") for line in lines)
    assert any(line.startswith("waste ") and line.endswith(" of the boards used") for line in lines)
    assert any("no plan can use less" in line or "the least any plan" in line for line in lines)


def test_bare_numbers_are_written_bare(tmp_path: Path) -> None:
    found = plan(tmp_path, [{"length": 30, "count": 2}], [{"length": 100}])
    assert list_words(found).length(30.0) == "30"
    assert list_words(found).unit == ""
    assert " in" not in "\n".join(boards_lines(found)).split("waste")[0].replace("pieces in", "").replace(
        "in patterns", ""
    )
