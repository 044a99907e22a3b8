"""A whole column in the wrong unit, and a pull in the wrong unit."""

from typing import Any

import numpy as np
import pytest
from written import written

from fencegrade.ground.report import ground_report
from fencegrade.ground.wrong_unit import _Column
from fencegrade.job.records import StringLine
from fencegrade.job.survey import LevelBook, LevelRow
from fencegrade.job.survey_csv import survey_of
from fencegrade.units import UnitSystem

STATIONS = range(0, 48, 4)
INCHES = np.array([24, 25.5, 24.75, 26.25, 29, 31.5, 33, 32.25, 30.5, 28, 27.125, 26])
HUNDREDTHS = np.round(INCHES / 12, 2)
TENTHS = np.round(INCHES * 2.54, 1)


def told(ground: Any) -> list[str]:
    return [p.found for p in ground.slips]


CASES = [
    (HUNDREDTHS, 1.0, "decimal feet written as inches"),
    (INCHES, 1 / 25.4, "inches written as millimetres"),
    (TENTHS, 1.0, "centimetres written as inches"),
    (np.round(INCHES * 25.4), 1.0, "millimetres written as inches"),
    (TENTHS, 1 / 25.4, "centimetres written as millimetres"),
]


@pytest.mark.parametrize(
    ("figures", "unit", "looks", "kind"),
    [(*case, "string") for case in CASES] + [(*case, "sights") for case in CASES if case[0] is not TENTHS],
)
def test_a_whole_column_in_another_unit(
    under_string: Any, ground_of: Any, figures: np.ndarray, unit: float, looks: str, kind: str
) -> None:
    """Sights of a metre are read every day, so centimetres as inches are not told from a staff's figures."""
    system = UnitSystem.IMPERIAL if unit == 1.0 else UnitSystem.METRIC
    if kind == "string":
        survey = under_string(zip(STATIONS, figures * unit, strict=True))
    else:
        rows = [LevelRow(line=2, station=0.0, backsight=figures[0] * unit)]
        rows += [
            LevelRow(line=i + 3, station=12.0 * x, intermediate=d * unit)
            for i, (x, d) in enumerate(zip(STATIONS[1:], figures[1:], strict=True))
        ]
        survey = LevelBook(source="book.csv", rows=tuple(rows))
    ground = ground_of(survey, system)
    assert any(looks in t for t in told(ground)), told(ground)
    assert ground.provisional
    assert not ground_of(survey, system, confirmed=True).provisional


@pytest.mark.parametrize(
    ("unit", "figures", "looks"),
    [
        ("ft", INCHES, "look like inches under a heading in feet"),
        ("in", HUNDREDTHS, "look like decimal feet under a heading in inches"),
        ("ft", HUNDREDTHS, ""),
        ("in", INCHES, ""),
        ("mm", np.round(INCHES * 25.4), ""),
        ("cm", TENTHS, ""),
        ("m", np.round(INCHES * 25.4), "look like millimetres under a heading in metres"),
        ("m", np.round(INCHES * 0.0254, 3), ""),
    ],
)
def test_a_column_is_judged_by_the_unit_of_its_heading(
    ground_of: Any, unit: str, figures: np.ndarray, looks: str
) -> None:
    lines = [f"{x},{d}" for x, d in zip(STATIONS, figures, strict=True)]
    survey, _ = survey_of("\n".join([f"station [ft],drop [{unit}]", *lines]), "lane.csv")
    assert any(looks in t for t in told(ground_of(survey))) if looks else not told(ground_of(survey))


def test_elevations_in_decimal_feet_under_inches(heights: Any, ground_of: Any) -> None:
    feet = 100 + np.round(INCHES / 12, 2)
    assert any("decimal feet" in t for t in told(ground_of(heights(zip(STATIONS, feet, strict=True)))))
    assert not told(ground_of(heights(zip(STATIONS, feet * 12, strict=True))))


@pytest.mark.parametrize(
    "drops",
    [
        INCHES,
        HUNDREDTHS * 12,
        INCHES - 20,
        INCHES + 40,
        np.round(INCHES * 25.4) / 25.4,
        np.round(INCHES, 1) + 0.03,
        np.full(12, 20.0),
    ],
)
def test_honest_columns_are_not_doubted(under_string: Any, ground_of: Any, drops: np.ndarray) -> None:
    """Fractions, decimal feet, a low string, a high one, millimetres, odd decimals, a level patio."""
    for system in UnitSystem:
        assert not told(ground_of(under_string(zip(STATIONS, drops, strict=True)), system))


@pytest.mark.parametrize(
    ("pull", "words"),
    [
        ("12 N", "12 kgf would be"),
        ("45 kgf", "45 N would be"),
        ("21 N", ""),
        ("45 N", ""),
        ("10 lbf", ""),
        ("5 kgf", ""),
    ],
)
def test_a_pull_no_hand_pulls_with(under_string: Any, ground_of: Any, pull: str, words: str) -> None:
    survey = under_string(zip(STATIONS, INCHES, strict=True))
    ground = ground_of(survey, string=(written(StringLine, weight="1.4 g/m", pull=pull),))
    assert [words in t for t in told(ground)] == [True] * bool(words)


def column(what: str, *values: float, spacing: float = 48.0) -> _Column:
    return _Column(
        what=what,
        stations=np.array([spacing * k for k in range(len(values))]),
        values=np.array(values, dtype=float),
    )


@pytest.mark.parametrize(
    ("found", "fails"),
    [
        # the middling drop: badly out under 3 and over 96 in, odd under 6 and over 48
        (column("drop", *[3.0] * 4), (False, 1)),
        (column("drop", *[2.9375] * 4), (True, 1)),
        (column("drop", *[6.0] * 4), (False, 0)),
        (column("drop", *[5.9375] * 4), (False, 1)),
        (column("drop", *[48.0] * 4), (False, 0)),
        (column("drop", *[48.0625] * 4), (False, 1)),
        (column("drop", *[96.0] * 4), (False, 1)),
        (column("drop", *[96.0625] * 4), (True, 1)),
        (column("sight", *[8.0] * 4), (False, 0)),
        (column("sight", *[144.0] * 4), (False, 0)),
        (column("sight", *[240.0625] * 4), (True, 1)),
        # decimals: more than a quarter of the figures no sixteenths
        (column("drop", 20.0, 20.0, 20.0, 20.01), (False, 0)),
        (column("drop", 20.0, 20.0, 20.02, 20.01), (False, 1)),
        # steeper than 35 % between middling neighbours; elevations flatter than 2 in all along
        (column("drop", 20.0, 40.0, 20.0, 40.0), (False, 1)),
        (column("drop", 20.0, 36.5, 20.0, 36.5), (False, 0)),
        (column("elevation", 0.0, 1.0, 2.0, 1.0), (False, 0)),
        (column("elevation", 0.0, 1.0, 1.9375, 1.0), (False, 1)),
        (column("drop", 20.0, 40.0, 20.0, 40.0, spacing=0.0), (False, 0)),
    ],
)
def test_what_fails_of_a_column_in_inches(found: _Column, fails: tuple[bool, int]) -> None:
    assert found.fails("in", "in") == fails


def test_figures_taken_as_another_unit() -> None:
    """2.00, 2.25 and so on, written as inches: drops of some 2 ft in decimal feet, or of 2 cm."""
    written_as = column("drop", 2.0, 2.25, 2.13, 2.31)
    assert written_as.fails("in", "in") == (True, 2)
    assert written_as.fails("ft", "in") == (False, 0)
    assert written_as.fails("cm", "in") == (True, 2)


@pytest.mark.parametrize(
    ("feet", "drop", "doubted"),
    [
        # a common line hangs 0.1411 in times (span/100 ft)^2 x 10 low: 1.41, 12.70 and 50.81 in
        (100, 6.0, False),
        (300, 25.5, False),
        (300, 25.25, True),
        (600, 30.0, True),
    ],
)
def test_a_string_too_long_for_what_was_read_under_it(
    under_string: Any, ground_of: Any, feet: int, drop: float, doubted: bool
) -> None:
    """Figures of the parabola, w L^2 / 8 T with 1.4 g/m and 10 lbf: Beer & Johnston, Statics, chapter 7."""
    survey = under_string((x, drop) for x in range(0, feet + 1, 10))
    ground = ground_of(survey)
    plain = [p.found for p in ground.notes if "not corrected for sag" in p.found]
    assert bool(plain) is not doubted, "told once, either way"
    confirmed = ground_of(survey, confirmed=True)
    assert any("not corrected for sag" in p.found for p in confirmed.notes)
    assert any(f"one string over {feet}' 0\" hangs some" in t for t in told(ground)) is doubted
    assert ground.provisional is doubted
    problems = ground_report(ground, UnitSystem.IMPERIAL, 0.125).problems
    assert not (doubted and any("readings are enough" in p.found for p in problems))
    assert not ground_of(survey, confirmed=True).provisional
    assert not ground_of(survey, string=(StringLine(sag=12.0),)).provisional


@pytest.mark.parametrize(
    ("sag", "doubted"), [("0 in", True), ("1/4 in", True), ("8 in", True), ("8-1/8 in", False)]
)
def test_a_measured_sag_that_no_line_is_pulled_to_is_doubted(
    under_string: Any, ground_of: Any, sag: str, doubted: bool
) -> None:
    """640 ft of 1.4 g/m pulled with 70 lbf hang 8.26 in: w L^2 / 8 T, Beer & Johnston, Statics, chapter 7."""
    survey = under_string((x, 60.0) for x in range(0, 641, 10))
    ground = ground_of(survey, string=(written(StringLine, sag=sag),))
    assert any("asks for a harder pull than a line stands" in t for t in told(ground)) is doubted
    assert not any("not corrected for sag" in p.found for p in ground.notes)
    assert not any("one string over" in t for t in told(ground))
    straight = (written(StringLine, sag="0 in"),)
    short = ground_of(under_string((x, 20.0) for x in range(0, 101, 10)), string=straight)
    assert not told(short)
