"""Two readings written in each other's row are named, both; a slip of one alone stays one."""

from dataclasses import replace
from typing import Any

import pytest

BANK = [20.0, 20.5, 21.0, 22.0, 24.0, 27.0, 31.0, 36.0, 40.0, 42.0, 43.0, 43.5, 43.5, 43.0]


def told(ground: Any) -> list[str]:
    return [str(p) for p in ground.slips]


def rows(drops: list[float]) -> list[tuple[float, float]]:
    return [(4 * i, d) for i, d in enumerate(drops)]


@pytest.mark.parametrize("k", [5, 7])
def test_two_neighbours_in_each_others_row_are_named(under_string: Any, ground_of: Any, k: int) -> None:
    drops = [*BANK[:k], BANK[k + 1], BANK[k], *BANK[k + 2 :]]
    survey = under_string(rows(drops))
    (found,) = told(ground_of(survey))
    here, there = f"{4 * k}' 0\"", f"{4 * k + 4}' 0\""
    assert found == (
        f"north.csv lines {k + 2} and {k + 3}: the readings at {here} and {there} look exchanged: "
        f"{drops[k]:.0f} in fits at {there} and {drops[k + 1]:.0f} in at {here}; check both on the page "
        "or on the ground, and write each beside its own station; if they are right, write confirmed in "
        "their notes"
    )
    assert told(ground_of(under_string(rows(BANK)))) == []
    sure = (replace(r, note="confirmed") if r.line in (k + 2, k + 3) else r for r in survey.rows)
    assert told(ground_of(replace(survey, rows=tuple(sure)))) == []


def test_elevations_are_exchanged_the_other_way_up(heights: Any, ground_of: Any) -> None:
    z = [80 - d for d in BANK]
    (found,) = told(ground_of(heights(rows([*z[:7], z[8], z[7], *z[9:]]))))
    assert found.startswith("north.csv lines 9 and 10: the readings at 28' 0\" and 32' 0\" look exchanged")


@pytest.mark.parametrize("slip", [12.0, -12.0])
@pytest.mark.parametrize("k", [3, 6, 9])
def test_a_slipped_foot_is_no_exchange(under_string: Any, ground_of: Any, k: int, slip: float) -> None:
    (found,) = told(ground_of(under_string(rows([*BANK[:k], BANK[k] + slip, *BANK[k + 1 :]]))))
    assert "a slipped foot" in found


def test_a_string_that_moved_is_no_exchange(under_string: Any, ground_of: Any) -> None:
    (found,) = told(ground_of(under_string(rows([*BANK[:5], *(d + 12 for d in BANK[5:])]))))
    assert "a string that moved" in found
