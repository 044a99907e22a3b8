"""Everything the check of a run tells, in one record."""

from typing import Any

import pytest

from fencegrade.ground.report import ground_report
from fencegrade.units import UnitSystem


def test_report_gathers_everything(under_string: Any, ground_of: Any) -> None:
    rows = [(4 * i, 30 + z) for i, z in enumerate([0, 1, 0.5, 4, 2, 3, 9, 8, 3, 1, 0, 0.5, 1])]
    ground = ground_of(under_string(rows))
    report = ground_report(ground, UnitSystem.IMPERIAL, 0.125)
    relief = report.relief
    assert (relief.spacing, relief.widest) == (48, 48)
    assert (relief.lowest, relief.highest) == (-39, -30)
    assert relief.steepest == pytest.approx(6 / 48)
    assert report.worst >= report.within > 0
    assert 0 < report.worst_at < 576
    assert report.problems[: len(ground.notes)] == ground.notes
    assert len(report.problems) > len(ground.notes)
    assert len(report.advice.chance) == 96
    assert len(report.from_chart) == 0


def test_a_run_that_takes_a_part_of_its_survey_tells_of_that_part(under_string: Any, ground_of: Any) -> None:
    """Steep and rough over its first 20 ft, as level as a table past them."""
    survey = under_string([(0, 20), (5, 34), (10, 21), (20, 40), (30, 40), (40, 40), (44, 40)])
    whole = ground_report(ground_of(survey), UnitSystem.IMPERIAL, 0.125)
    part = ground_report(ground_of(survey, start=240.0, end=480.0), UnitSystem.IMPERIAL, 0.125)
    assert (whole.relief.count, part.relief.count) == (7, 3)
    assert (part.relief.first, part.relief.last) == (240, 480)
    assert 240 <= part.worst_at <= 480
    assert whole.relief.steepest > 0.2 > part.relief.steepest == 0
    steep = [any("on the whole as steep" in p.found for p in r.problems) for r in (whole, part)]
    assert steep == [True, False]
