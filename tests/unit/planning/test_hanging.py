"""What is hung by: heights over the string as it hung, and clear openings."""

from collections.abc import Callable

import numpy as np
import pytest

from fencegrade.job.read import Job
from fencegrade.planning.hanging import openings, pickets_over_line, run_spaces, tops_over_line
from fencegrade.planning.plan import plan_fence

WriteJob = Callable[..., Job]

LANE = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"'


def test_a_sagging_string_is_farther_under_a_level_top_at_mid_span(write_job: WriteJob) -> None:
    """Source: own derivation; the sag measured at mid-span is what the string hangs below its ends."""
    sag = '[[run.string]]\nstart = "0 ft"\nend = "24 ft"\nheight = "0 in"\nsag = "1/2 in"'
    (run,) = plan_fence(write_job(lane=(LANE, sag)), "level").runs
    over = tops_over_line(run, np.array([0.0, 144.0, 288.0]))
    assert over[1] - over[0] == pytest.approx(0.5, abs=1e-3)
    assert over[0] == pytest.approx(over[2])


def test_a_top_over_the_string_and_the_drop_make_the_height_over_ground(write_job: WriteJob) -> None:
    (run,) = plan_fence(write_job(lane=LANE), "contour").runs
    stations, drops = np.array([0.0, 72.0, 120.0]), np.array([20.0, 20.0, 24.0])
    over_ground = run.top.at(stations) - run.ground.profile.line.elevation(stations)
    assert tops_over_line(run, stations) + drops == pytest.approx(over_ground)
    assert len(pickets_over_line(run)) == len(run.slots)


def test_openings_and_spaces_with_the_boards_fill_the_run(write_job: WriteJob) -> None:
    (run,) = plan_fence(write_job(lane=(LANE, GATE)), "level").runs
    start, gate, end = openings(run)
    assert (gate.gate, gate.posts) == (1, 48.0)
    assert gate.clear == pytest.approx(48.0)
    spaces = sum(s.gap * s.spaces for s in run_spaces(run))
    boards = float(run.slots.width.sum())
    assert start.clear + boards + spaces + gate.clear + end.clear == pytest.approx(run.end - run.start)
