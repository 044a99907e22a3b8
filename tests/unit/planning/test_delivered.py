"""Boards as they come: widths and moisture held against the plan, and boards in doubt marked in place."""

from pathlib import Path

import numpy as np
import pytest
from hollow import a_job

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.wood.drying import GapForecast, OverlapForecast
from fencegrade.planning.delivered import board_findings, board_width, drying_of, widths_of
from fencegrade.planning.layout import survey_grounds
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.mark_in_place import (
    how_to_mark,
    left_long,
    mark_in_place_lines,
    numbered_steps,
    to_scribe,
)
from fencegrade.sheets.page.views import chart_words
from fencegrade.sheets.screen.delivered_text import board_lines
from fencegrade.units.words import numbered


def test_boards_left_in_doubt_are_marked_in_place(tmp_path: Path) -> None:
    plan = plan_fence(a_job(tmp_path, survey="station [ft],drop [in]\n0,20\n20,34\n40,20\n"))
    run = plan.runs[0]
    flagged = run.flags[PicketFlag.MARK_IN_PLACE]
    assert flagged.any()
    lines = list(mark_in_place_lines(plan))
    low = float((run.cuts.kept * plan.mark - run.doubt.half)[flagged].min())
    first = next(line for line in lines if "lane side, picket" in line)
    assert any("measure plumb from the line of the tops" in line for line in lines)
    assert " in to " in first
    assert any(f"{int(low)}" in line for line in lines if "lane side" in line)
    read = "".join(f"{x},20\n" for x in range(0, 41, 2))
    sure = plan_fence(a_job(tmp_path, survey=f"station [ft],drop [in]\n{read}"))
    assert not sure.runs[0].flags[PicketFlag.MARK_IN_PLACE].any()
    assert not list(mark_in_place_lines(sure))


@pytest.mark.parametrize("soil", [True, False])
def test_boards_marked_in_place_and_scribed_have_one_instruction(tmp_path: Path, soil: bool) -> None:
    """A trench between two readings: a straight cut leaves too much open over its sides."""
    survey = "station [ft],drop [in]\n0,20\n16,20\n17,36\n18,20\n40,20\n"
    kept = "" if soil else '[[run.no_soil]]\nstart = "14 ft"\nend = "20 ft"'
    plan = plan_fence(a_job(tmp_path, survey=survey, run=kept))
    (run,) = plan.runs
    which = to_scribe(run)
    assert which.any()
    assert np.array_equal(which, run.flags[PicketFlag.GAP] & run.flags[PicketFlag.MARK_IN_PLACE])
    *_, last = how_to_mark(plan)
    named = numbered("picket", np.flatnonzero(which))
    assert last.startswith(f"but scribe {named}{' or fill beneath' * soil}: measure so at both edges")
    told = numbered_steps(how_to_mark(plan))
    assert any(told in line for line in chart_words(plan))
    lines = list(mark_in_place_lines(plan))
    assert f"  4. {last}" in lines
    lowest = (run.cuts.kept * plan.mark + run.cuts.gap - run.zones.clearance)[which].max()
    assert max(g.high for g in left_long(plan, 0)) >= min(lowest, 96.0)


def test_boards_as_delivered(tmp_path: Path) -> None:
    widths = 'widths = ["5.56 in", "5.53 in", "5.55 in", "5.52 in", "5.54 in", "5.54 in"]'
    moisture = 'moisture_now = "28 %"\nmoisture_service = "15 %"'
    job = a_job(tmp_path, pickets=f"{widths}\n{moisture}")
    grounds, _ = survey_grounds(job)
    assert board_width(job.pickets) == pytest.approx(5.54)
    text = [str(p) for p in board_findings(job, grounds)]
    assert any("[pickets] width: the boards measured average" in t for t in text)
    assert widths_of(job, grounds).sample.count == 6
    forecast = drying_of(job.pickets).forecast
    assert isinstance(forecast, GapForecast)
    assert forecast.gap_service == pytest.approx(0.25 + 0.028 * 5.54, abs=0.002)
    lines = "\n".join(board_lines(job, grounds))
    assert "6 boards measured: 5.540 in" in lines
    assert "Moisture 28 % now, 15 % in service" in lines
    assert "lane side, 0" in lines


def test_two_rows_of_wet_boards_lose_overlap(tmp_path: Path) -> None:
    pickets = (
        'pattern = "shadowbox"\nspacing = "3-1/2 in"\nmoisture_now = "wet"\nspecies = "redwood and cedars"'
    )
    job = a_job(tmp_path, pickets=pickets)
    assert isinstance(drying_of(job.pickets).forecast, OverlapForecast)
    assert "overlap" in "\n".join(board_lines(job, survey_grounds(job)[0]))


@pytest.mark.parametrize(
    ("pickets", "words"),
    [
        ('moisture_now = "soggy"', "job.toml [pickets] moisture_now: 'soggy' is no moisture content"),
        (
            'moisture_now = "dry"\nmoisture_service = "3 %"',
            "[pickets] moisture_service: a moisture content of 3 %",
        ),
        ('widths = ["5-1/2 in"]', "[pickets] widths: one width says nothing"),
        (
            'widths = ["5-1/2 in", "5-1/2 in", "1-1/2 in"]',
            "[pickets] widths 3: 1-1/2 in is far from the others",
        ),
        ('spacing = "0 in"\nmoisture_now = "dry"\nmoisture_service = "wet"', "press on their neighbours"),
    ],
)
def test_boards_that_cannot_be(tmp_path: Path, pickets: str, words: str) -> None:
    found = board_findings(a_job(tmp_path, pickets=pickets))
    assert any(words in str(p) for p in found)
