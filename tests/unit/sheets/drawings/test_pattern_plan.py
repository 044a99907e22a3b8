"""The patterns seen from above."""

import pytest
from drawn import INCHES, check, svg_texts
from kept import drawn_as_kept

from fencegrade.job.choices import Pattern
from fencegrade.sheets.drawings.pattern_plan import Laid, pattern_figure


@pytest.mark.parametrize(
    ("chosen", "spacing"),
    [
        (None, 3.5),
        (Pattern.SIDE_BY_SIDE, 0.0),
        (Pattern.SIDE_BY_SIDE, 0.25),
        (Pattern.BOARD_ON_BOARD, 3.5),
        (Pattern.BOARD_ON_BOARD, 7.0),
        (Pattern.SHADOWBOX, 3.5),
    ],
)
def test_pattern_plan_names_the_three_and_measures_the_chosen(chosen: Pattern | None, spacing: float) -> None:
    laid = Laid(width=5.5, space=spacing, spaces="3 in to 4 in", overlap="3/4 in or more")
    figure = pattern_figure(laid, INCHES, "Paddock", chosen)
    check(figure)
    drawn_as_kept(f"pattern_{str(chosen).replace(' ', '_')}_{spacing:g}", [figure])
    texts = svg_texts(figure)
    assert len([t for t in texts if t.split(",")[0].rstrip(":") in set(Pattern)]) == 3
    assert ("picket 5-1/2 in" in texts) == (chosen is not None)
    laps = chosen in (Pattern.BOARD_ON_BOARD, Pattern.SHADOWBOX) and spacing < 5.5
    assert ("overlap 3/4 in or more" in texts) == laps
    assert ("spacing 3 in to 4 in" in texts) == (chosen is not None and spacing > 0)
