"""A list of pieces becomes a plan in tape marks and comes back as lengths the tape reads."""

import json
from pathlib import Path
from typing import Any

import pytest
from small_job import mistakes_of

from fencegrade.job.cut_list import read_cut_list
from fencegrade.planning.boards import (
    ListPlan,
    _left_over,
    _Marks,
    _named,
    plan_cut_list,
    stop_settings,
    usable_offcuts,
)


def plan(folder: Path, pieces: list[dict[str, Any]], stock: list[dict[str, Any]], **keys: Any) -> ListPlan:
    (folder / "list.json").write_text(json.dumps({"pieces": pieces, "stock": stock, **keys}))
    return plan_cut_list(read_cut_list(folder / "list.json"), seconds=2.0)


def refused(folder: Path, *args: Any, **keys: Any) -> list[str]:
    return mistakes_of(lambda: plan(folder, *args, **keys))


def test_pieces_kerfs_and_offcuts_fill_every_board(tmp_path: Path) -> None:
    """Three pieces of 31-1/2 in and three saw cuts of 1/8 in leave 1-1/8 in of 96 in."""
    found = plan(tmp_path, [{"length": "31-1/2 in", "count": 6}], [{"length": "96 in"}], kerf="1/8 in")
    (board,) = found.plan.boards
    assert board.count == 2
    assert [found.length(p) for p in board.pieces] == ["31-1/2 in"] * 3
    assert found.length(board.offcut) == "1-1/8 in"
    assert sum(board.pieces) + 3 * found.kerf + board.offcut == board.stock


def test_whole_numbers_stay_whole(tmp_path: Path) -> None:
    found = plan(tmp_path, [{"length": 30, "count": 3}], [{"length": 100}], kerf=5)
    assert found.mark is None
    assert found.length(30) == "30"
    assert found.number(30) == 30
    assert isinstance(found.number(30), int)
    assert found.plan.boards[0].stock == 100


def test_lengths_between_marks_are_rounded_to_the_safe_side_and_said(tmp_path: Path) -> None:
    found = plan(
        tmp_path,
        [{"length": "10.01 in"}, {"length": "5.3 in"}, {"length": "4 in"}],
        [{"length": "96.02 in"}],
        kerf="0.1 in",
    )
    lengths = sorted((p for b in found.plan.boards for p in b.pieces), reverse=True)
    assert [found.number(p) for p in lengths] == pytest.approx([10.03125, 5.3125, 4.0], abs=1e-4)
    assert found.mark is not None
    assert found.plan.boards[0].stock * found.mark == 96.0
    assert found.kerf == 4
    assert [str(n) for n in found.notes] == [
        "list.json: 2 lengths lie between two marks; "
        "pieces are rounded up to 1/32 in, so none comes out short",
        "list.json stock 1: a board between two marks counts as 96 in",
    ]


def test_a_piece_as_long_as_a_board_is_that_board(tmp_path: Path) -> None:
    """8 ft is 2438.4 mm: rounding the piece up and the board down must not part them."""
    found = plan(tmp_path, [{"length": "8 ft"}, {"length": "500 mm"}], [{"length": "8 ft"}])
    assert [b.pieces for b in found.plan.boards] == [(2438,), (500,)]


def test_names_are_counted_by_length_longest_first(tmp_path: Path) -> None:
    pieces: list[dict[str, Any]] = [
        {"length": "4 in", "count": 2, "name": "leg"},
        {"length": "9 in", "name": "side"},
        {"length": "4 in", "count": 3, "name": "peg"},
        {"length": "4 in", "count": 1, "name": "leg"},
    ]
    found = plan(tmp_path, pieces, [{"length": "30 in"}])
    assert found.names == {288: {"side": 1}, 128: {"leg": 3, "peg": 3}}


def test_a_metric_list_is_in_millimetres(tmp_path: Path) -> None:
    found = plan(tmp_path, [{"length": "600 mm", "count": 4}], [{"length": "2.4 m"}], kerf="3 mm")
    assert [len(b.pieces) for b in found.plan.boards] == [2], "one way of cutting, not two"
    assert {found.length(p) for b in found.plan.boards for p in b.pieces} == {"600 mm"}
    assert found.number(600) == 600.0


@pytest.mark.parametrize(
    ("length", "kerf", "told"),
    [("30 in", None, True), ("30 in", 0, True), ("30 in", "1/8 in", False), ("90 in", None, False)],
)
def test_a_saw_that_takes_no_wood_is_told_where_it_cuts(
    tmp_path: Path, length: str, kerf: str | int | None, told: bool
) -> None:
    keys = {} if kerf is None else {"kerf": kerf}
    found = plan(tmp_path, [{"length": length, "count": 3}], [{"length": "120 in"}], **keys)
    assert any("kerf is zero" in p.found for p in found.notes) == told


class TestRefused:
    def test_a_piece_longer_than_any_board_is_named(self, tmp_path: Path) -> None:
        words = refused(
            tmp_path,
            [
                {"length": "150 in", "name": "bench slat"},
                {"length": "97 in"},
                {"length": "200 in", "count": 0},
            ],
            [{"length": "8 ft"}, {"length": "20 ft", "limit": 0}],
        )
        assert words == [
            'list.json pieces 1: "bench slat", 150 in, is longer than the longest board, 96 in; '
            "offer a longer board, or make the piece shorter",
            "list.json pieces 2: 97 in, is longer than the longest board, 96 in; "
            "offer a longer board, or make the piece shorter",
        ]

    def test_limits_too_small_are_told_in_lengths(self, tmp_path: Path) -> None:
        """Two boards hold two of the 60 in pieces each no more than one, so two are left over."""
        (words,) = refused(
            tmp_path,
            [{"length": "60 in", "count": 4, "name": "slat"}],
            [{"length": "96 in", "on_hand": 1, "limit": 1}],
            kerf="1/8 in",
        )
        assert words == (
            "list.json stock: the boards that can be had leave 2 pieces over: 2 of 60 in (slat); "
            "raise a limit: 2 boards more of 96 in would serve"
        )

    def test_one_piece_a_board(self, tmp_path: Path) -> None:
        (words,) = refused(
            tmp_path,
            [{"length": "20 in", "count": 3}],
            [{"length": "96 in", "limit": 2}],
            one_piece=True,
        )
        assert words.startswith(
            "list.json stock: the boards that can be had leave 1 piece over: 1 of 20 in; "
        )

    def test_whole_numbers_have_no_unit(self, tmp_path: Path) -> None:
        (words,) = refused(tmp_path, [{"length": 120}], [{"length": 100}])
        assert words.startswith("list.json pieces 1: 120, is longer than the longest board, 100; ")


def test_stop_settings_count_every_piece_longest_first(tmp_path: Path) -> None:
    pieces = [{"length": 20, "count": 7}, {"length": 35, "count": 5}, {"length": 11, "count": 2}]
    found = plan(tmp_path, pieces, [{"length": 100}], kerf=1)
    assert list(stop_settings(found.plan).items()) == [(35, 5), (20, 7), (11, 2)]


def test_offcuts_by_length_none_under_the_least(tmp_path: Path) -> None:
    found = plan(tmp_path, [{"length": 60, "count": 2}, {"length": 95}], [{"length": 100}])
    assert usable_offcuts(found.plan, 0) == {40: 2, 5: 1}
    assert usable_offcuts(found.plan, 6) == {40: 2}


def test_a_million_pieces_run(tmp_path: Path) -> None:
    found = plan(
        tmp_path, [{"length": 40, "count": 600_000}, {"length": 20, "count": 400_000}], [{"length": 100}]
    )
    assert sum(b.count * len(b.pieces) for b in found.plan.boards) == 1_000_000
    assert found.plan.proven


def test_one_length_between_marks_and_boards_in_millimetres(tmp_path: Path) -> None:
    found = plan(
        tmp_path, [{"length": "600.4 mm"}, {"length": "20 mm"}], [{"length": "2400.6 mm"}], kerf="2.2 mm"
    )
    assert [str(n) for n in found.notes] == [
        "list.json: one length lies between two marks; pieces are rounded up to 1 mm, so none comes out "
        "short",
        "list.json stock 1: a board between two marks counts as 2400 mm",
    ]
    assert (found.kerf, found.number(601), found.length(601)) == (3, 601.0, "601 mm")
    whole = plan(tmp_path, [{"length": "600 mm"}], [{"length": "2400 mm"}], kerf="3 mm")
    assert whole.notes == ()


@pytest.mark.parametrize(
    ("names", "shown"),
    [
        ({}, ""),
        ({"": 3}, ""),
        ({"leg": 1, "": 2}, " (leg)"),
        ({"a": 1, "b": 1, "c": 1, "d": 1}, " (a / b / c)"),
    ],
)
def test_up_to_three_names_of_a_length(names: dict[str, int], shown: str) -> None:
    assert _named(names) == shown


@pytest.mark.parametrize(
    ("lacking", "told"),
    [
        (((30, 1),), "1 piece over: 1 of 30 (leg)"),
        (((30, 2), (20, 1)), "3 pieces over: 2 of 30 (leg), 1 of 20"),
        (((9, 1), (8, 1), (7, 1), (6, 1)), "4 pieces over: 1 of 9, 1 of 8, 1 of 7, 1 of 6"),
        (
            ((9, 1), (8, 1), (7, 1), (6, 1), (5, 3)),
            "7 pieces over: 1 of 9, 1 of 8, 1 of 7, 1 of 6 and 1 other length",
        ),
    ],
)
def test_what_is_left_over_is_named_up_to_four_lengths(
    tmp_path: Path, lacking: tuple[tuple[int, int], ...], told: str
) -> None:
    listed = plan(tmp_path, [{"length": 30}], [{"length": 100}]).listed
    assert _left_over(_Marks(listed), lacking, {30: {"leg": 1}}) == told
