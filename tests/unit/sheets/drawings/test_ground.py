"""The drawing of the ground as it was read."""

import math
from pathlib import Path

import numpy as np
import pytest
from drawn import INCHES, check, make_job, svg_texts
from kept import drawn_as_kept

from fencegrade.fence.tops.table import TopStyle
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.drawings.canvas import Drawing
from fencegrade.sheets.drawings.ground import LEVEL, OFTEN, ground_figures, stretch_text
from fencegrade.units.words import Words


@pytest.mark.parametrize(
    ("feet", "slope", "units", "face"),
    [
        (24, 0.0, "imperial", False),
        (120, 0.0, "metric", True),
        (60, 4.0, "imperial", True),
        (420, 0.1, "imperial", False),
    ],
)
def test_ground_drawing_fits_and_names_where_to_look(
    tmp_path: Path, feet: int, slope: float, units: str, face: bool
) -> None:
    job = make_job(tmp_path, feet, slope, units, face)
    ground = plan_fence(job, TopStyle.SLOPED).runs[0].ground
    figures = ground_figures(ground, job.job, [(168.0, 240.0), (12.0 * feet - 60, 12.0 * feet)])
    assert len(figures) == math.ceil(feet / 200)
    drawn_as_kept(f"ground_{feet}", figures)
    for figure in figures:
        check(figure)
    texts, look = svg_texts(figures[0]), stretch_text(168.0, 240.0, job.job)
    assert f"look here: {look}" in texts
    figure = figures[0]
    assert isinstance(figure, Drawing)
    assert f" Look again from {look}." in figure.description
    say = Words.of(job.job)
    seen = ground.elevations[ground.stations <= 12 * feet / len(figures) + 1e-6]
    assert f"highest ground read {say.length(seen.max())}" in texts
    assert f"lowest ground read {say.length(seen.min())}" in texts


def test_band_written_is_the_profiles_own(tmp_path: Path) -> None:
    job = make_job(tmp_path, 40)
    ground = plan_fence(job).runs[0].ground
    figure = ground_figures(ground, job.job)[0]
    x = np.unique(np.concatenate([np.linspace(0, 480, 400), ground.stations]))
    low, high = ground.profile.band(x, LEVEL)
    widest = INCHES.length(float((high - low).max()) / 2)
    assert f"in {OFTEN} within ± {widest}, least sure here" in svg_texts(figure)


def test_stretch_text_joins_like_units(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24).job
    assert stretch_text(168, 240, job) == "14 to 20 ft"
    assert stretch_text(171, 240, job) == "14' 3\" to 20 ft"
