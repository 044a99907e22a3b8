"""Words placed on a drawing."""

import numpy as np
import pytest
from drawn import overlapping
from kept import drawn_as_kept
from matplotlib.figure import Figure

from fencegrade.sheets.drawings.labels import Label, Spot, fitted, over, place_labels, text_size
from fencegrade.sheets.drawings.style import house_style


def test_labels_move_aside_and_the_least_important_is_left_out() -> None:
    with house_style():
        figure = Figure(figsize=(4, 3), dpi=72)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        here = ((0.5, 0.5),)
        first = Label(text="first", at=here, spots=(Spot(),), rank=0)
        moved = Label(text="moved", at=here, spots=(Spot(), *over(12)), rank=1)
        gone = Label(text="gone", at=here, spots=(Spot(),), rank=2)
        line = np.array([[0.0, 0.9], [1.0, 0.9]])
        minor = Label(text="minor", at=((0.5, 0.9),), spots=(Spot(),), rank=3, minor=True)
        off = Label(text="a long word", at=((0.99, 0.1),), spots=(Spot(),), rank=4)
        assert place_labels(figure, axes, [off, minor, gone, moved, first], [line, line[:1]]) == [
            gone,
            minor,
            off,
        ]
        assert overlapping(figure) == []
        drawn_as_kept("labels", [figure])


def test_fitted_text_keeps_to_its_room() -> None:
    with house_style():
        text = "every word of this title stands until the room runs out " * 3
        cut = fitted(text, 200, 9, lines=2)
        assert cut.count("\n") == 1
        assert cut.endswith("…")
        assert text_size(cut, 9)[0] <= 200
        assert fitted("short", 200, 9) == "short"
        assert text_size(fitted("x" * 500, 200, 9, lines=3), 9)[0] <= 200
        longest = fitted("x" * 500, 200, 9)
        assert text_size(longest, 9)[0] <= 200 < text_size("x" + longest, 9)[0]


@pytest.mark.parametrize(
    ("room", "lines", "shown", "divided"),
    [
        (60, 1, "every word…", "xxxxxxxxx…"),
        (60, 3, "every word\nof this title\nstands…", "xxxxxxxxxxx\nxxxxxxxxxxx\nxxxxxxxxx…"),
        (100, 2, "every word of this\ntitle stands until the…", "x" * 18 + "\n" + "x" * 17 + "…"),
        (200, 1, "every word of this title stands until the…", "x" * 35 + "…"),
        (200, 2, "every word of this title stands until the\nroom runs out", "x" * 37 + "\nxxx"),
        (300, 1, "every word of this title stands until the room runs out", "x" * 40),
    ],
)
def test_a_text_is_broken_at_spaces_or_divided(room: float, lines: int, shown: str, divided: str) -> None:
    with house_style():
        assert (
            fitted("every word of this title stands until the room runs out", room, 9, lines=lines) == shown
        )
        assert fitted("x" * 40, room, 9, lines=lines) == divided
