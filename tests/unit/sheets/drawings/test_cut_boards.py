"""Cut boards as bars."""

from itertools import pairwise
from typing import Any

import pytest
from drawn import INCHES, PATTERNS, check, svg_texts
from kept import drawn_as_kept

from fencegrade.sheets.drawings.cut_boards import CutPattern, cut_board_figures
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

METRIC = Words(system=UnitSystem.METRIC, mark=1 / 25.4, currency="EUR")


@pytest.mark.parametrize("say", [INCHES, METRIC], ids=["inches", "metric"])
def test_cut_boards_write_every_piece_count_and_offcut(say: Words) -> None:
    figure = cut_board_figures(PATTERNS, "Paddock $lane$ & <b>garden</b>", "pickets", say)[0]
    check(figure)
    drawn_as_kept(f"cut_boards_{say.unit}", [figure])
    texts = svg_texts(figure)
    for pattern in PATTERNS:
        assert any(
            t.startswith(f"{pattern.count} board") and say.sold_length(pattern.stock) in t for t in texts
        )
        for piece in pattern.pieces:
            assert any(say.length(piece) in t for t in texts)
        if pattern.offcut:
            assert f"offcut {say.length(pattern.offcut)}" in texts
    assert f"pieces: 1 × {say.length(40.5)}, 3 × {say.length(1.5)}" in texts
    assert "<b>12</b>" in texts


@pytest.mark.parametrize("offcut", [2.125, 7.75, 8.375, 9.0, 20.0])
def test_what_is_left_is_called_an_offcut_wherever_it_stands(offcut: float) -> None:
    boards = [
        CutPattern(stock=96, pieces=(96.0,), offcut=0.0, count=1),
        CutPattern(stock=72, pieces=(71.875 - offcut,), offcut=offcut, count=19, kerf=0.125),
    ]
    (figure,) = cut_board_figures(boards, "Paddock", "pickets", INCHES)
    check(figure)
    assert f"offcut {INCHES.length(offcut)}" in svg_texts(figure)


def test_cut_boards_go_on_to_further_sheets() -> None:
    figures = cut_board_figures(PATTERNS * 4, "Paddock", "pickets", INCHES)
    assert len(figures) == 2
    assert "13" in svg_texts(figures[1])
    check(figures[1])
    drawn_as_kept("cut_boards_further", figures[1:])


def test_bar_is_as_long_as_its_parts() -> None:
    figure = cut_board_figures(PATTERNS[:1], "Paddock", "pickets", INCHES)[0]
    bars: Any = figure.axes[0].patches
    boxes = sorted((p.get_x(), p.get_x() + p.get_width()) for p in bars)
    assert boxes[0][0] == 0
    assert boxes[-1][1] == pytest.approx(96)
    assert all(a[1] == pytest.approx(b[0]) for a, b in pairwise(boxes))


@pytest.mark.parametrize(("inches", "written"), [(7.5, "pieces: 4 × 7-1/2 in"), (8.5, "8-1/2 in")])
def test_a_length_stands_in_its_piece_with_two_points_of_air_on_each_side_or_is_listed(
    inches: float, written: str
) -> None:
    """A text 32.6 points wide, in pieces that are 32.9 and 37.2 points wide on paper."""
    pattern = CutPattern(stock=120, pieces=(inches,) * 4, offcut=120 - 4 * inches, count=1)
    texts = svg_texts(cut_board_figures([pattern], "Paddock", "pickets", INCHES)[0])
    assert texts.count(written) == (1 if written.startswith("pieces") else 4)
    assert any(t.startswith("pieces") for t in texts) == written.startswith("pieces")
