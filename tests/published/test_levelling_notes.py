"""Worked pages of levelling notes, each reworked from its readings; the oracle is the exact decimal
elevation.

Loop BM Tree: Ghilani & Wolf, Elementary Surveying, from memory. NPTEL, Surveying, module 4, table 14.1 (start
level assumed), seen. The other pages are exercises that cannot be looked up again: no source, but any hand
can rework them, and where a printed figure contradicts the rest that is said beside it.
"""

import math
from typing import Any

import pytest

from fencegrade.ground.levelbook import SETUP_LIMIT, level_page, third_order_limit
from fencegrade.job.survey import LevelBook, LevelRow
from fencegrade.problems import Severity
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SAY = Words(system=UnitSystem.METRIC, mark=1 / 25.4)
INCHES = {"ft": 12.0, "m": 1000 / 25.4}

# backsight, intermediate, foresight, elevation, adjusted elevation (None where the page does not close)
PAGES: dict[str, tuple[str, float | None, list[tuple[Any, ...]]]] = {
    "loop BM Tree": (
        "ft",
        814.08,
        [
            (6.18, None, None, 814.08, 814.08),
            (4.44, None, 7.76, 812.50, 812.48),
            (5.63, None, 5.05, 811.89, 811.85),
            (7.35, None, 2.64, 814.88, 814.82),
            (None, None, 8.07, 814.16, 814.08),
        ],
    ),
    "closed section": (
        "ft",
        94.91,
        [
            (3.10, None, None, 100.00, 100.00),
            (6.44, None, 9.82, 93.28, 93.27),
            (8.76, None, 6.96, 92.76, 92.74),
            (7.12, None, 3.27, 98.25, 98.22),
            (None, None, 10.42, 94.95, 94.91),
        ],
    ),
    "FE guide 7.5": (
        "ft",
        None,
        [
            (4.20, None, None, 100.00, None),
            (5.15, None, 2.50, 101.70, None),
            (3.05, None, 3.50, 103.35, None),
            (None, None, 4.10, 102.30, None),
        ],
    ),
    # the foresight at C is printed 1.497; its printed sum 8.124 and every later level need 1.496
    "rise and fall, closed": (
        "m",
        48.719,
        [
            (2.191, None, None, 49.872, 49.872),
            (None, 2.507, None, 49.556, 49.559),
            (None, 2.325, None, 49.738, 49.741),
            (3.019, None, 1.496, 50.567, 50.570),
            (None, 2.513, None, 51.073, 51.079),
            (1.752, None, 2.811, 50.775, 50.781),
            (None, None, 3.817, 48.710, 48.719),
        ],
    ),
    "collimation with intermediate sights": (
        "m",
        None,
        [
            (2.50, None, None, 100.00, None),
            (1.75, None, 1.95, 100.55, None),
            (None, 2.55, None, 99.75, None),
            (None, 2.70, None, 99.60, None),
            (2.95, None, 3.10, 99.20, None),
            (None, None, 2.75, 99.40, None),
        ],
    ),
    # the backsight at the change point is printed 3.750; its printed sum 5.620 needs 3.050
    "rise and fall, short": (
        "m",
        None,
        [
            (2.570, None, None, 100.0, None),
            (3.050, None, 1.2, 101.37, None),
            (None, None, 3.75, 100.67, None),
        ],
    ),
    "Burnaby Building": (
        "m",
        9.09,
        [
            (1.546, None, None, 10.0, 10.0),
            (1.418, None, 1.562, 9.984, 9.98633),
            (1.011, None, 1.321, 10.081, 10.08567),
            (None, None, 2.009, 9.083, 9.09),
        ],
    ),
    "geoengine": (
        "m",
        98.050,
        [
            (1.751, None, None, 100.0, 100.0),
            (None, 0.540, None, 101.211, 101.21067),
            (0.300, None, 2.100, 99.651, 99.65067),
            (None, 1.100, None, 98.851, 98.85033),
            (None, 1.260, None, 98.691, 98.69033),
            (1.500, None, 2.300, 97.651, 97.65033),
            (None, None, 1.100, 98.051, 98.050),
        ],
    ),
    "NPTEL table 14.1": (
        "m",
        None,
        [
            (3.005, None, None, 100.000, None),
            (None, 2.285, None, 100.720, None),
            (None, 1.560, None, 101.445, None),
            (None, 1.785, None, 101.220, None),
            (None, 2.105, None, 100.900, None),
            (2.875, None, 3.105, 99.900, None),
            (None, 3.465, None, 99.310, None),
            (None, 3.955, None, 98.820, None),
            (None, 3.120, None, 99.655, None),
            (None, 3.015, None, 99.760, None),
            (None, 2.580, None, 100.195, None),
            (None, 1.955, None, 100.820, None),
            (None, None, 1.465, 101.310, None),
        ],
    ),
    # printed as closing exactly, because the side shots were mixed in; they are no foresights
    "loop with side shots": (
        "ft",
        250.0,
        [
            (5.65, None, None, 250.00, 250.0),
            (6.77, None, 4.53, 251.12, 251.145),
            (4.23, None, 2.81, 255.08, 255.13),
            (None, 12.11, None, 247.20, 247.275),
            (None, 11.08, None, 248.23, 248.305),
            (3.96, None, 6.54, 252.77, 252.845),
            (None, None, 6.83, 249.90, 250.0),
        ],
    ),
}


def book(unit: str, known: float | None, rows: list[tuple[float | None, ...]]) -> LevelBook:
    f = INCHES[unit]
    levels: list[LevelRow] = []
    for i, (bs, is_, fs, elevation, _) in enumerate(rows):
        mark = elevation if i == 0 else known if i == len(rows) - 1 else None
        bs, is_, fs, mark = (None if v is None else v * f for v in (bs, is_, fs, mark))
        levels.append(
            LevelRow(line=i + 2, station=None, backsight=bs, intermediate=is_, foresight=fs, known=mark)
        )
    return LevelBook(source="notes.csv", rows=tuple(levels))


@pytest.mark.parametrize("name", PAGES)
def test_elevations_by_height_of_instrument(name: str) -> None:
    unit, known, rows = PAGES[name]
    page, problems = level_page(book(unit, known, rows), SAY, most_misclosure=1e3)
    assert page is not None, problems
    f = INCHES[unit]
    assert [r.elevation / f for r in page.rows] == pytest.approx([r[3] for r in rows], abs=1e-9)
    assert page.checks
    assert page.backsights / f == pytest.approx(sum(r[0] or 0 for r in rows))
    assert page.foresights / f == pytest.approx(sum(r[2] or 0 for r in rows))
    if known is not None:
        assert [r.adjusted / f for r in page.rows] == pytest.approx([r[4] for r in rows], abs=5e-6)


@pytest.mark.parametrize(
    ("name", "misclosure", "setups"),
    [
        ("loop BM Tree", 0.08, 4),
        ("closed section", 0.04, 4),
        ("rise and fall, closed", -0.009, 3),
        ("Burnaby Building", -0.007, 3),
        ("geoengine", 0.001, 3),
        ("loop with side shots", -0.10, 4),
    ],
)
def test_misclosure(name: str, misclosure: float, setups: int) -> None:
    unit, known, rows = PAGES[name]
    page, _ = level_page(book(unit, known, rows), SAY, most_misclosure=1e3)
    assert page is not None
    (closure,) = page.closures
    assert closure.misclosure / INCHES[unit] == pytest.approx(misclosure, abs=1e-9)
    assert closure.setups == setups


def test_burnaby_building_is_accepted_by_the_rule_of_thumb_printed_beside_it() -> None:
    """Allowable 5 sqrt(3) = 8.66 mm, found -7 mm."""
    page, problems = level_page(book(*PAGES["Burnaby Building"]), SAY)
    assert page is not None
    assert page.closures[0].allowed * 25.4 == pytest.approx(8.66, abs=0.005)
    assert not [p for p in problems if p.severity is Severity.MISTAKE]


def test_side_shot_loop_is_refused_with_both_figures() -> None:
    page, problems = level_page(book(*PAGES["loop with side shots"]), SAY)
    assert page is None
    (refused,) = [p for p in problems if p.severity is Severity.MISTAKE]
    assert refused.place == "notes.csv line 8"
    assert "-30 mm" in refused.found
    assert "10 mm" in refused.found


@pytest.mark.parametrize(("printed", "used"), [(1.497, 1.496), (3.750, 3.050)])
def test_misprinted_sights_do_not_give_the_printed_levels(printed: float, used: float) -> None:
    name = "rise and fall, closed" if used == 1.496 else "rise and fall, short"
    unit, known, rows = PAGES[name]
    wrong = [tuple(printed if v == used and k < 3 else v for k, v in enumerate(r)) for r in rows]
    page, _ = level_page(book(unit, known, wrong), SAY, most_misclosure=1e4)
    assert page is not None
    assert page.rows[-1].elevation / INCHES[unit] != pytest.approx(rows[-1][3], abs=0.0005)


def test_full_collimation_check() -> None:
    """Sum of all levels but the first = heights of instrument by their uses less all sights: 68.246 (same
    page).

    Printed: 0.251 + 4.892 + 63.103 = 68.246 = 11.546 + 4 x 11.402 + 11.092; the three intermediate sights are
    known by their sum 0.251 only, so they stand here as one of 0.251 and two of 0.
    """
    unit, known, rows = PAGES["Burnaby Building"]
    sights = [(None, v, None, 0.0, None) for v in (0.251, 0.0, 0.0)]
    page, _ = level_page(book(unit, known, [*rows[:2], *sights, *rows[2:]]), SAY)
    assert page is not None
    f = INCHES["m"]
    levels = sum(r.elevation for r in page.rows[1:]) / f
    assert [h / f for h in page.instrument] == pytest.approx([11.546, 11.402, 11.092], abs=5e-4)
    uses = page.instrument[0] + 4 * page.instrument[1] + page.instrument[2]
    assert uses / f == pytest.approx(68.246, abs=5e-4)
    assert levels == pytest.approx(63.103, abs=5e-4)


def test_third_order_is_tighter_than_a_tape() -> None:
    """12 mm sqrt(km), 0.05 ft sqrt(mile); over 200 ft 0.0097 ft: the classes used until 1998, from
    memory."""
    assert third_order_limit(5280 * 12) / 12 == pytest.approx(0.05, abs=0.0005)
    assert third_order_limit(200 * 12) / 12 == pytest.approx(0.0097, abs=5e-5)
    assert third_order_limit(200 * 12) < SETUP_LIMIT < 0.25
    assert math.isclose(SETUP_LIMIT * 25.4, 5.0)
