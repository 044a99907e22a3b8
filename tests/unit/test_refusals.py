"""What the package says, word for word, to a program that gives it what it cannot use."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from straight_ground import straight_ground

import fencegrade
from fencegrade.cutting import NoPlanFoundError, Piece, TooFewBoardsError, cut_plan
from fencegrade.fence.enough_stock import spare_boards
from fencegrade.fence.gates.gates import leaf_fits
from fencegrade.fence.posts.wind import required_depth
from fencegrade.fence.tops.line_on_ground import ground_alone, pieces_between
from fencegrade.fence.wood.drying import (
    forecast_gap,
    forecast_overlap,
    moisture_change,
    read_moisture,
    width_shrinkage,
)
from fencegrade.fence.wood.widths import off_chance, sample_widths, sliver_chance
from fencegrade.figures.shrinkage import SpeciesGroup
from fencegrade.ground.cubics import cubics_under
from fencegrade.ground.fit import ground_profile
from fencegrade.ground.profile import ground_line
from fencegrade.problems import JobMistakesError
from fencegrade.units import parse_length
from fencegrade.units.marks import marks_up
from fencegrade.units.quantities import parse_money, parse_share

LINE = straight_ground([0.0, 96.0, 192.0], [0.0, 4.0, 2.0])
STRANGE = "no_such_thing"
NONE = np.zeros(0, dtype=np.int64)
JOB = {"job": {"title": "Yard", "units": "imperial"}, "run": [{"name": "a", "survey": "a"}]}
BOARDS = {"pickets": {"stock": [{"length": "6 ft"}]}}


def job(**surveys: Any) -> object:
    return fencegrade.job_from({**JOB, **BOARDS}, surveys)


REFUSED: list[tuple[Callable[[], object], str]] = [
    (
        lambda: cut_plan([5.5, 0], [10]),
        "pieces 1, length: 5.5 is not a whole number; give it in whole tape marks\n"
        "pieces 2, length: 0 is too small; give a whole number that is 1 or more",
    ),
    (
        lambda: cut_plan([Piece(length=5, slack=5)], [10]),
        "pieces 1, slack: 5 leaves nothing of 5; give a smaller slack",
    ),
    (
        lambda: cut_plan([5], [(10, "x"), (12, "0"), (14, 1e-9), (16, 1e12)]),
        "stock 1, price: 'x' is not a price; give a plain number\n"
        + "\n".join(
            f"stock {k}, price: {price} is no price of a board; give one from 0.0001 to 1,000,000,000, or "
            "count free boards as on hand"
            for k, price in ((2, "0"), (3, "1e-09"), (4, "1000000000000.0"))
        ),
    ),
    (lambda: cut_plan([5], []), "stock: there is no board to cut; give at least one length"),
    (
        lambda: cut_plan([5], [(10, 3), (12, None)]),
        "stock 2, price: length 12 has no price but others have; give every length a price, or none",
    ),
    (
        lambda: cut_plan([Piece(length=15, slack=2)], [10]),
        "pieces 1, length: length 15 even 2 shorter is longer than the longest stock, "
        "10; offer a longer stock or make the piece shorter",
    ),
    (
        lambda: _raise(NoPlanFoundError([(n, 2) for n in range(20, 25)], (), 2.5)),
        "stock: no plan found in 2.5 s of work; the best leaves 10 pieces over (2 of 24, 2 of "
        "23, 2 of 22, 2 of 21 and others); raise a limit, or give the search more time",
    ),
    (
        lambda: _raise(TooFewBoardsError([(n, 2) for n in range(20, 25)], 1, 40)),
        "stock: the boards that can be had leave 10 pieces over (2 of 24, 2 of 23, 2 of "
        "22, 2 of 21 and others); raise a limit: 1 board more of 40 would serve",
    ),
    (
        lambda: spare_boards(np.zeros((1, 0), dtype=np.int64), np.zeros(0), 1.5),
        "the chance to cover lies between 0 and 1, such as 0.9",
    ),
    (
        lambda: leaf_fits(0.0, 0.1, 0.1, 2.0),
        "reach and angle must be over zero, the angle no more than half a turn",
    ),
    (
        lambda: required_depth(1.0, -1.0, 4.0, 100.0),
        "width and bearing must be over zero, force and arm not below it",
    ),
    (
        lambda: read_moisture("soggy"),
        "'soggy' is no moisture content. Write wet, damp or dry, or a meter's figure such as 16 %.",
    ),
    (lambda: read_moisture("0.12 %"), "'0.12 %' is under one per cent. Write it in per cent, such as 12 %."),
    (
        lambda: width_shrinkage(3.0, next(iter(SpeciesGroup))),
        "no shrinkage is published under 8 %, not for 3.0",
    ),
    (
        lambda: forecast_gap(5.5, -1.0, 0.25, moisture_change(28.0, 12.0)),
        "width 5.5 must be over zero, gaps -1.0 and 0.25 not below it",
    ),
    (
        lambda: forecast_overlap(5.5, -1.0, moisture_change(28.0, 12.0)),
        "width 5.5 must be over zero and the gap -1.0 not below it",
    ),
    (lambda: sample_widths([5.5]), "two or more widths are needed, each over zero"),
    (lambda: off_chance(9, sample_widths([5.4, 5.6]), 0.0, 0.25), "the limit must be over zero, not 0.0"),
    (
        lambda: sliver_chance(0.0, -0.25, sample_widths([5.4, 5.6])),
        "the length 0.0 must be over zero and the gap -0.25 not below it",
    ),
    (
        lambda: pieces_between(ground_alone(LINE), np.array([5.0]), np.array([5.0])),
        "a stretch has no length",
    ),
    (
        lambda: cubics_under(LINE, np.array([5.0]), np.array([300.0])),
        "a stretch must lie within the readings, 0 to 192 in, and run forward",
    ),
    (
        lambda: LINE.highest(np.array([9.0]), np.array([3.0])),
        "stations must lie within the readings, 0 to 192 in, and run forward",
    ),
    (lambda: ground_profile(LINE, 0.0), "the reading error must be a length over zero"),
    (lambda: ground_profile(LINE, breaks=[5.0]), "a break must stand at the station of a reading"),
    (lambda: ground_profile(LINE).quantile(5.0, 1.0), "a level lies between 0 and 1, such as 0.95"),
    (lambda: ground_profile(LINE).spread.at(np.array([500.0])), "stations must lie within the readings"),
    (
        lambda: ground_profile(LINE).spread.at(np.array([50.0])).half_width(1.0),
        "the level of a band lies between 0 and 1, such as 0.95",
    ),
    (lambda: ground_line([0], [1]), "a ground line needs two readings or more, one elevation a station"),
    (lambda: ground_line([0, np.inf], [1, 2]), "stations and elevations must be finite numbers"),
    (lambda: ground_line([0, 0, 5], [1, 2, 3]), "a face needs readings on both sides of it"),
    (
        lambda: ground_line([0, 4, 2], [1, 2, 3]),
        "stations must ascend; only a face has two readings at one station",
    ),
    (lambda: job(b="station [ft],drop [in]\n0,20\n"), "a: no such survey was given; those given are: b"),
    (
        lambda: job(a={"station [ft]": [0, 4, 8], "drop [in]": [20, 21]}),
        "a: columns of 2 and 3 values; give every column a value for each reading",
    ),
    (lambda: marks_up(4.0, 0.0), "the tape mark must be over zero, not 0.0"),
    (lambda: parse_share("110 %"), "110 % is not between 0 and 100 %. Write it as in 10 % or 0.1."),
    (lambda: parse_money(float("nan")), "nan is not a finite number. Write it as in 4.10."),
    (
        lambda: parse_money(1e300),
        "1e+300 is larger than any price known here. Check the number and its unit.",
    ),
    (
        lambda: parse_money("1,234"),
        "1,234 may mean 1234 or 1.234. Write two decimals, as in 1234.00 or 1.23.",
    ),
    (
        lambda: parse_length("1,234"),
        "1,234 has no unit. Write the unit after it: 1,234 ft, 1,234 in, 1,234 m or 1,234 mm, "
        "whichever was read.",
    ),
    (lambda: getattr(fencegrade, STRANGE), "module 'fencegrade' has no attribute 'no_such_thing'"),
]


def _raise(error: Exception) -> None:
    raise error


@pytest.mark.parametrize("k", range(len(REFUSED)))
def test_every_word_of_a_refusal(k: int) -> None:
    ask, words = REFUSED[k]
    with pytest.raises((ValueError, AttributeError, JobMistakesError)) as refused:
        ask()
    assert str(refused.value) == words
