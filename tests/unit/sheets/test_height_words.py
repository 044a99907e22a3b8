"""What a line moved by a few inches spares, in one sentence."""

from typing import Any

import pytest

from fencegrade.planning.higher_or_lower import Bought, LineMoved
from fencegrade.sheets.height_words import moved_words
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

WORDS = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")
BEFORE: dict[str, Any] = {
    "boards": ((72.0, 40), (96.0, 10)),
    "posts": ((96.0, 5), (120.0, 1)),
    "rails": ((192.0, 9),),
    "cuts": 12,
    "cost": 300.0,
    "timber": 4000.0,
}
"""Boards, posts and rails by length (in), boards cut, money, and length of all timber (in)."""


def told(by: float = 2.0, before: dict[str, Any] | None = None, **after: Any) -> str:
    """The sentence where all stays as it is but what is named."""
    kept = BEFORE | (before or {})
    first, second = (Bought(pickets=50, **bought) for bought in (kept, kept | after))
    return moved_words(LineMoved(by=by, least_height=70.0, before=first, after=second), WORDS)


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ({}, "same price"),
        ({"cost": 299.996}, "same price"),
        ({"cost": 299.99}, "$0.01 less"),
        ({"cuts": 11}, "1 board fewer to cut, same price"),
        ({"cuts": 1}, "11 boards fewer to cut, same price"),
        ({"cuts": 0}, "no board need be cut, same price"),
        ({"cuts": 13}, "1 board more to cut, same price"),
        ({"cuts": 15}, "3 boards more to cut, same price"),
        ({"boards": ((72.0, 39), (96.0, 10))}, "1 board fewer, same price"),
        ({"boards": ((72.0, 38), (96.0, 9))}, "3 boards fewer, same price"),
        ({"boards": ((72.0, 41), (96.0, 12))}, "3 boards more, same price"),
        ({"boards": ((72.0, 43), (96.0, 7))}, "3 boards of 6 ft instead of 8 ft, same price"),
        ({"boards": ((72.0, 44), (96.0, 7))}, "boards 4 of 6 ft instead of 3 of 8 ft, same price"),
        (
            {"boards": ((72.0, 42), (84.0, 4), (96.0, 4))},
            "boards 2 of 6 ft, 4 of 7 ft instead of 6 of 8 ft, same price",
        ),
        ({"rails": ((192.0, 6),), "cost": 250.0}, "3 rail boards fewer, $50.00 less"),
        ({"posts": ((96.0, 6),)}, "1 post of 8 ft instead of 10 ft, same price"),
        (
            {"boards": ((72.0, 41), (96.0, 9)), "posts": ((96.0, 5),), "cuts": 2, "cost": 250.0},
            "1 board of 6 ft instead of 8 ft, 10 boards fewer to cut, 1 post fewer, $50.00 less",
        ),
    ],
)
def test_what_it_spares(after: dict[str, Any], said: str) -> None:
    assert told(**after) == f"2 in higher: {said}"


def test_without_prices_what_is_spared_is_timber() -> None:
    unpriced = {"cost": None}
    assert told(before=unpriced) == "2 in higher: nothing more to buy"
    assert told(before=unpriced, timber=3999.5) == "2 in higher: nothing more to buy"
    assert told(before=unpriced, timber=3999.375) == '2 in higher: 5/8" of timber less'
    assert told(cost=None, timber=3900.0) == "2 in higher: 8' 4\" of timber less"


def test_a_lower_line_says_the_least_height_there() -> None:
    assert told(by=-1.5) == "1-1/2 in lower (least 5' 10\"): same price"
