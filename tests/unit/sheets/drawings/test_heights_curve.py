"""The stair of cost by height."""

from pathlib import Path

import numpy as np
import pytest
from drawn import COSTS, HEIGHTS, check, make_job, svg_texts
from kept import drawn_as_kept
from numpy.typing import ArrayLike

from fencegrade.sheets.drawings.heights_curve import heights_figure
from fencegrade.units.words import Words


def test_heights_curve_tells_knees_and_the_planned_height(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24).job
    figure = heights_figure(HEIGHTS, COSTS, job, knees=[1, 5, 7], now=72.5)
    drawn_as_kept("heights_curve", [figure])
    check(figure)
    texts = svg_texts(figure)
    for k in (1, 5, 7):
        assert f"up to {Words.of(job).height(HEIGHTS[k])}: {Words.of(job).money(COSTS[k])}" in texts
    assert f"line now 6' 0-1/2\": {Words.of(job).money(420)}" in texts
    assert "no stock long enough" in texts
    unpriced = svg_texts(heights_figure(HEIGHTS, COSTS, job, now=72.5, told=lambda x: f"{x:g} ft"))
    assert "line now 6' 0-1/2\": 420 ft" in unpriced
    assert "length of boards against height of the top line" in unpriced


def test_the_planned_height_is_named_at_the_edge_of_the_stair_too(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24).job
    figure = heights_figure(HEIGHTS, COSTS, job, knees=[0], further=[1, 5], now=HEIGHTS[0])
    drawn_as_kept("heights_curve_further", [figure])
    texts = svg_texts(figure)
    assert any(text.startswith("line now ") for text in texts)
    beyond = svg_texts(heights_figure(HEIGHTS, COSTS, job, now=HEIGHTS[-1] + 1.0))
    assert f"line now {Words.of(job).height(HEIGHTS[-1] + 1.0)}" in beyond, "of no known cost"


@pytest.mark.parametrize(
    ("heights", "costs", "said"),
    [
        ([1.0], [2.0], "two heights or more, ascending, with one cost each"),
        ([1.0, 1.0], [2.0, 3.0], "two heights or more, ascending, with one cost each"),
        ([1.0, 2.0], [2.0], "two heights or more, ascending, with one cost each"),
        ([[1.0, 2.0]], [[2.0, 2.0]], "two heights or more, ascending, with one cost each"),
        ([1.0, 2.0], [np.nan, np.nan], "heights must be finite numbers, and at least one cost known"),
        ([1.0, np.inf], [2.0, 2.0], "heights must be finite numbers, and at least one cost known"),
    ],
)
def test_heights_curve_refuses_what_is_no_stair(
    tmp_path: Path, heights: ArrayLike, costs: ArrayLike, said: str
) -> None:
    job = make_job(tmp_path, 24).job
    with pytest.raises(ValueError, match=f"^{said}$"):
        heights_figure(heights, costs, job)


def test_heights_curve_draws_one_price_throughout(tmp_path: Path) -> None:
    figure = heights_figure([60.0, 61.0, 62.0], [5.0, 5.0, 5.0], make_job(tmp_path, 24).job, knees=[2])
    check(figure)
    drawn_as_kept("heights_curve_of_one_price", [figure])
    assert "line now" not in " ".join(svg_texts(figure))
    check(heights_figure([60.0, 61.0], [5.0, 6.0], make_job(tmp_path, 24).job, knees=[1]))
