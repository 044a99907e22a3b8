"""Gaps and overlaps when boards dry or swell."""

import pytest

from fencegrade.fence.wood.drying import (
    MoistureChange,
    forecast_gap,
    forecast_overlap,
    gap_problems,
    moisture_change,
    moisture_problems,
    overlap_problems,
    read_moisture,
    width_shrinkage,
)
from fencegrade.figures.shrinkage import MOISTURE_WORDS, SHRINKAGE, SpeciesGroup
from fencegrade.problems import Severity
from fencegrade.units import UnitError, UnitSystem

DRYING = moisture_change(28.0, 12.0)
SWELLING = moisture_change(12.0, 19.0)
HALVED = MoistureChange(group=SpeciesGroup.SOFTWOOD, now=28.0, service=12.0, factor=0.5)


@pytest.mark.parametrize(
    ("text", "per_cent"),
    [
        ("wet", 28.0),
        (" Damp ", 19.0),
        ("dry", 12.0),
        ("16 %", 16.0),
        ("16%", 16.0),
        ("15,5", 15.5),
        ("120", 120.0),
    ],
)
def test_moisture_as_written(text: str, per_cent: float) -> None:
    assert read_moisture(text) == per_cent


@pytest.mark.parametrize("text", ["", "moist", "-5 %", "12 in", "0.16", "nan", "1e1", "12 % 3"])
def test_moisture_that_cannot_be_read(text: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_moisture(text)
    assert caught.value.remedy


def test_a_share_is_answered_with_its_per_cent() -> None:
    with pytest.raises(UnitError, match="16 %"):
        read_moisture("0.16")


def test_every_word_and_line_names_its_source() -> None:
    assert all(word.source for word in MOISTURE_WORDS.values())
    assert all(line.source for line in SHRINKAGE.values())


@pytest.mark.parametrize("group", SpeciesGroup)
def test_green_is_where_the_line_meets_zero(group: SpeciesGroup) -> None:
    line = SHRINKAGE[group]
    assert line.a - line.b * line.green == pytest.approx(0.0, abs=0.012)
    assert width_shrinkage(line.green, group) == 0
    assert width_shrinkage(80.0, group) == 0


@pytest.mark.parametrize(
    ("moisture", "severity", "words"),
    [
        (7.9, Severity.MISTAKE, "starts at 8 %"),
        (-1.0, Severity.MISTAKE, "outside"),
        (300.0, Severity.MISTAKE, "8 to 250 %"),
        (40.0, Severity.NOTE, "counts as 28 %"),
        (22.0, Severity.NOTE, "above the 19 %"),
    ],
)
def test_moisture_outside_the_published_range(moisture: float, severity: Severity, words: str) -> None:
    (problem,) = moisture_problems("[pickets] moisture_now", moisture, SpeciesGroup.SOFTWOOD)
    assert problem.severity is severity
    assert words in problem.message


@pytest.mark.parametrize("moisture", [8.0, 12.0, 19.0, 28.0])
def test_moisture_within_the_published_range(moisture: float) -> None:
    assert not list(moisture_problems("x", moisture, SpeciesGroup.SOFTWOOD))


@pytest.mark.parametrize("moisture", [7.99, -3.0, float("nan")])
def test_too_dry_is_refused(moisture: float) -> None:
    with pytest.raises(ValueError, match="8 %"):
        moisture_change(28.0, moisture)


def test_gap_by_hand() -> None:
    """A board that halves from 4 in: a gap of 1 opens to 3; for 5 set 3; for 1 even touching opens to 2."""
    gap = forecast_gap(4.0, 1.0, 5.0, HALVED)
    assert (gap.width_service, gap.gap_service, gap.to_set, gap.reached) == (2.0, 3.0, 3.0, 5.0)
    tight = forecast_gap(4.0, 1.0, 1.0, HALVED)
    assert (tight.to_set, tight.reached) == (0.0, 2.0)


def test_overlap_by_hand() -> None:
    overlap = forecast_overlap(4.0, 1.0, HALVED)
    assert (overlap.overlap_now, overlap.overlap_service, overlap.row_gap_service) == (1.5, -0.5, 3.0)


def test_dry_boards_set_touching_are_warned_of() -> None:
    (problem,) = gap_problems("[pickets] spacing", forecast_gap(5.5, 0.0, 0.0, SWELLING), UnitSystem.IMPERIAL)
    assert problem.severity is Severity.WARNING
    assert "set touching" in problem.found
    assert "at least 3/32 in" in problem.remedy
    metric = forecast_gap(140 / 25.4, 1 / 25.4, 0.0, SWELLING)
    (problem,) = gap_problems("[pickets] spacing", metric, UnitSystem.METRIC)
    assert "at least 2.0 mm" in problem.remedy


def test_a_gap_that_takes_the_swelling_is_not_warned_of() -> None:
    assert not list(gap_problems("x", forecast_gap(5.5, 0.125, 0.0, SWELLING), UnitSystem.IMPERIAL))
    assert not list(gap_problems("x", forecast_gap(5.5, 0.0, 0.25, DRYING), UnitSystem.IMPERIAL))


def test_wet_boards_that_cannot_stay_closed_are_warned_of() -> None:
    (problem,) = gap_problems("x", forecast_gap(5.5, 0.0, 0.0, DRYING), UnitSystem.IMPERIAL)
    assert "3/16 in apart in service" in problem.found


def test_overlap_warnings() -> None:
    assert not list(overlap_problems("x", forecast_overlap(5.5, 3.5, DRYING), UnitSystem.IMPERIAL))
    (open_slit,) = overlap_problems("x", forecast_overlap(5.5, 5.25, DRYING), UnitSystem.IMPERIAL)
    assert "closer" in open_slit.remedy
    (pressing,) = overlap_problems("x", forecast_overlap(5.5, 0.0, SWELLING), UnitSystem.IMPERIAL)
    assert "at least" in pressing.remedy


@pytest.mark.parametrize(("width", "gap"), [(0.0, 0.25), (5.5, -0.25), (float("nan"), 0.25)])
def test_sizes_that_cannot_be(width: float, gap: float) -> None:
    with pytest.raises(ValueError, match="must be over zero"):
        forecast_gap(width, gap, 0.25, DRYING)
    with pytest.raises(ValueError, match="must be over zero"):
        forecast_overlap(width, gap, DRYING)
