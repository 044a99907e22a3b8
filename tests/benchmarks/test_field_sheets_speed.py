"""Time of the field sheets of a long fence."""

import time
from pathlib import Path

import numpy as np
import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.paper.field_sheets import field_sheets

JOB = """
[job]
title = "Long paddock"
units = "imperial"
[[run]]
name = "far side"
survey = "far.csv"
[top]
style = "contour"
[[pickets.stock]]
length = "6 ft"
[[pickets.stock]]
length = "8 ft"
"""


@pytest.mark.benchmark
@pytest.mark.parametrize("feet", [100, 480, 2400])
def test_sheets_of_a_long_fence(tmp_path: Path, feet: int) -> None:
    """100, 480 and 2,400 ft: about 210, 1,000 and 5,000 pickets; under 2 s a thousand on one core."""
    rows = "".join(f"{x},{6 * np.sin(x / 23) - x / 20:.2f}\n" for x in range(0, feet + 1, 4))
    (tmp_path / "job.toml").write_text(JOB)
    (tmp_path / "far.csv").write_text(f"station [ft],elevation [in]\n{rows}")
    plan = plan_fence(read_job(tmp_path))
    started = time.process_time()
    pdf = field_sheets(plan)
    seconds = time.process_time() - started
    count = len(plan.runs[0].slots)
    print(f"{count} pickets: {seconds:.2f} s, {len(pdf) / 1e6:.2f} MB")
    assert seconds < 0.5 + 2.0 * count / 1000
