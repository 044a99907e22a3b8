"""Shrinkage of softwood boards in width.

USDA Forest Products Laboratory, Research Paper FPL-RP-489: width shrinkage of most softwoods from green,
    S = 6.031 - 0.215 M per cent at a moisture content M of 8 to 19 per cent, green wood taken at 28 per
    cent; 2.80 per cent from green to 15 per cent; width after = width before (1 - S2) / (1 - S1).
ASTM D1990: redwood and cedars 3.454 - 0.157 M, from memory.
Worked from these to the hundredth of an inch: a board of 5-1/2 in loses 0.19 in from green to 12 per cent,
    cedar 0.09 in; boards of 5-1/2 in with 3-1/2 in between them overlap 1.00 in, later 0.81 in.
PS 20, American Softwood Lumber Standard: 1x6 boards are 5-5/8 in wide green and 5-1/2 in dry, 1x4 3-9/16 in
    and 3-1/2 in, from memory; dry there is 19 per cent or less.
Tolerances are half a unit of the last printed digit unless said otherwise.
"""

import pytest

from fencegrade.fence.wood.drying import forecast_gap, forecast_overlap, moisture_change, width_shrinkage
from fencegrade.figures.shrinkage import MOISTURE_WORDS, SHRINKAGE, SpeciesGroup

SOFTWOOD, CEDAR = SpeciesGroup.SOFTWOOD, SpeciesGroup.CEDAR


def test_where_the_lines_hold_and_what_green_is() -> None:
    """FPL-RP-489: 8 to 19 per cent, green 28; cedars meet zero at 22, over the same range."""
    found = {g: (line.driest, line.wettest, line.green) for g, line in SHRINKAGE.items()}
    assert found == {SOFTWOOD: (8, 19, 28), CEDAR: (8, 19, 22)}
    assert round(3.454 / 0.157, 2) == 22


def test_words_for_moisture() -> None:
    """Green of FPL-RP-489; limit of dry lumber in PS 20 and average outdoors in the USDA Wood Handbook, from
    memory.
    """
    assert {k: w.per_cent for k, w in MOISTURE_WORDS.items()} == {"wet": 28, "damp": 19, "dry": 12}


def test_green_to_fifteen_per_cent() -> None:
    """Printed as 2.80; the line's own two figures are rounded to 0.001 as well, at 15 per cent 16 times."""
    rounded = 0.005 + 0.0005 * (1 + 15)
    assert 100 * width_shrinkage(15.0, SOFTWOOD) == pytest.approx(2.80, abs=rounded)


@pytest.mark.parametrize(
    ("group", "moisture", "per_cent"),
    [
        (SOFTWOOD, 8.0, 4.311),
        (SOFTWOOD, 12.0, 3.451),
        (SOFTWOOD, 19.0, 1.946),
        (CEDAR, 8.0, 2.198),
        (CEDAR, 19.0, 0.471),
    ],
)
def test_both_ends_of_the_range(group: SpeciesGroup, moisture: float, per_cent: float) -> None:
    assert 100 * width_shrinkage(moisture, group) == pytest.approx(per_cent, abs=0.0005)


@pytest.mark.parametrize(("group", "loss"), [(SOFTWOOD, 0.19), (CEDAR, 0.09)])
def test_a_board_from_green_to_twelve_per_cent(group: SpeciesGroup, loss: float) -> None:
    gap = forecast_gap(5.5, 0.0, 0.25, moisture_change(28.0, 12.0, group))
    assert gap.gap_service == pytest.approx(loss, abs=0.005)
    assert gap.to_set == pytest.approx(0.25 - loss, abs=0.005)


def test_overlap_of_board_on_board() -> None:
    overlap = forecast_overlap(5.5, 3.5, moisture_change(28.0, 12.0))
    assert overlap.overlap_now == 1.0
    assert overlap.overlap_service == pytest.approx(0.81, abs=0.005)


@pytest.mark.parametrize(("green", "dry"), [(5.625, 5.5), (3.5625, 3.5)])
def test_green_lumber_sizes_dry_to_the_dry_ones(green: float, dry: float) -> None:
    """The two sizes, printed to 1/16 in, differ by what the line gives from green to 15 to 19 per cent."""
    at_limit = forecast_gap(green, 0.0, 0.0, moisture_change(28.0, 19.0)).width_service
    at_fifteen = forecast_gap(green, 0.0, 0.0, moisture_change(28.0, 15.0)).width_service
    assert at_fifteen < dry < at_limit + 1 / 32
