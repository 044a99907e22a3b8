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
