"""Enormous jobs: that time grows in proportion to the pickets, and memory stays small.

Processor time: pytest tests/benchmarks/bench_large.py -m benchmark -s   (ten minutes or so)
"""

import json
import resource
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from time import process_time
from typing import Any, TypeVar

import numpy as np
import pytest

from fencegrade.cutting import cut_plan
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.doubt import doubts
from fencegrade.ground.fit import fit_ground
from fencegrade.ground.readings import Levels
from fencegrade.job.records import Stock
from fencegrade.planning.families import family
from fencegrade.planning.layout import read_and_survey
from fencegrade.planning.plan import plan_on
from fencegrade.sheets.charts import chart_text
from fencegrade.sheets.plan_json import write_plan_json
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.units import UnitSystem

pytestmark = pytest.mark.benchmark

MAIN = "from fencegrade.cli.main import main; main()"
HUNDRED_MILES = 1_000_000
T = TypeVar("T")
LongJob = Callable[[int], Path]
Growth = Callable[[str, Sequence[int], Sequence[float]], float]


def timed(work: Callable[..., T], *given: Any) -> tuple[float, T]:
    start = process_time()
    result = work(*given)
    return process_time() - start, result


def test_a_million_boards_from_job_to_files(
    cost_of: Callable[..., Any], long_job: LongJob, tmp_path: Path
) -> None:
    """About 100 miles over 100,000 readings: tables and JSON, written row by row.

    Under 60 s of processor time and 600 MB.
    """
    words = ["fencegrade", "plan", str(long_job(HUNDRED_MILES)), "--out", str(tmp_path / "sheets")]
    took = cost_of("-c", f"import sys; sys.argv = {words!r}; {MAIN}", times=1)
    written = sorted((tmp_path / "sheets").glob("[a-z]*"))
    print(f"\n{HUNDRED_MILES:,} pickets: {took.seconds:.0f} s, {took.memory:.0f} MB; written:")
    for path in written:
        print(f"  {path.name:18} {path.stat().st_size / 1e6:8.1f} MB")
    with (tmp_path / "sheets" / "cut_chart.csv").open() as chart:
        assert sum(1 for _ in chart) == HUNDRED_MILES + 1
    assert took.seconds < 60
    assert took.memory < 600


def test_a_hundred_thousand_points(cost_of: Callable[..., Any], long_job: LongJob) -> None:
    """A survey of points along 200,000 pickets is checked within 10 s of processor time."""
    folder, length = long_job(200_000), 200_000 * 5.75
    stations = np.linspace(0, length, 100_000)
    off, ground = np.random.default_rng(1).normal(0, [[2.0], [0.3]], (2, len(stations)))
    rows = zip(stations, off, 40 + 6 * np.sin(stations / 900) + ground, strict=True)
    lines = "".join(f"{x:.3f},{y:.3f},{z:.3f}\n" for x, y, z in rows)
    (folder / "far.csv").write_text(f"x [in],y [in],z [in]\n{lines}")
    job = (folder / "job.toml").read_text()
    ends = f'from_xy = ["0 in", "0 in"]\nto_xy = ["{length:.3f} in", "0 in"]\n'
    (folder / "job.toml").write_text(job.replace('start = "0 in"', f'{ends}start = "0 in"'))
    took = cost_of("-c", f"import sys; sys.argv = ['fencegrade', 'check', {str(folder)!r}]; {MAIN}", times=1)
    print(f"\n100,000 points: {took.seconds:.1f} s, {took.memory:.0f} MB")
    assert took.seconds < 10


def test_a_contour_that_goes_straight_on(cost_of: Callable[..., Any], tmp_path: Path) -> None:
    """Ten miles to a reading whose decimal point slipped, 106,537 pickets: 5 to 7 s of processor time,
    where one programme after another took 16 to 18."""
    (tmp_path / "far.csv").write_text(
        "station [m],elevation [m]\n0,12.1\n2.5,12.3\n5,12.2\n7.5,11.9\n10,12\n15554.4,12\n"
    )
    words = ["fencegrade", "plan", str(tmp_path / "far.csv"), "--top", "contour", "--json"]
    took = cost_of("-c", f"import sys; sys.argv = {words!r}; {MAIN}", times=1)
    print(f"\na contour ten miles straight on: {took.seconds:.1f} s, {took.memory:.0f} MB")
    assert took.seconds < 10


def test_growth_of_a_plan(long_job: LongJob, growth: Growth) -> None:
    sizes = [1_000, 10_000, 100_000]
    read, plan, told, out = [], [], [], []
    for size in sizes:
        folder = long_job(size)
        took, (job, grounds, found) = timed(read_and_survey, folder)
        read.append(took)
        took, made = timed(plan_on, job, grounds, [TopStyle.LEVEL], found)
        plan.append(took)
        told.append(timed(lambda plan: list(summary_lines(plan)), made)[0])
        with (folder / "plan.json").open("w") as file:
            out.append(timed(write_plan_json, made, file)[0])
        assert len(json.loads((folder / "plan.json").read_text())["runs"][0]["pickets"]) == size
    growth("reading the job, pickets (a reading for every nine)", sizes, read)
    assert growth("planning a level top, pickets", sizes, plan) < 1.3
    growth("words on the screen, pickets", sizes, told)
    assert growth("plan.json, pickets", sizes, out) < 1.3


@pytest.mark.parametrize("style", list(TopStyle))
def test_growth_of_every_top(long_job: LongJob, growth: Growth, style: TopStyle) -> None:
    """The longest is 10,000 bays; the contour's linear programme is left at 1,200."""
    sizes = [2_000, 20_000, 167_000] if style is not TopStyle.CONTOUR else [2_000, 20_000]
    seconds = []
    for size in sizes:
        job, grounds, found = read_and_survey(long_job(size))
        seconds.append(timed(plan_on, job, grounds, [style], found)[0])
    growth(f"whole plan, {style} top, pickets", sizes, seconds)
    print(f"  memory so far {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


@pytest.mark.parametrize("low", ["soil", "cheapest"])
def test_growth_of_closing_low_ground(long_job: LongJob, growth: Growth, low: str) -> None:
    """Soil and kickboards on offer in every bay."""
    sizes = [1_700, 17_000, 170_000]
    seconds = []
    for size in sizes:
        folder = long_job(size)
        with (folder / "job.toml").open("a") as file:
            file.write(f'[soil]\nlow_ground = "{low}"\nprice = 40.0\n')
            file.write('[[soil.kickboard]]\nlength = "8 ft"\nprice = 9.0\n')
        job, grounds, found = read_and_survey(folder)
        seconds.append(timed(plan_on, job, grounds, [TopStyle.LEVEL], found)[0])
    assert growth(f"plan with {low} for low ground, pickets", sizes, seconds) < 1.4


def test_growth_of_the_printed_chart(long_job: LongJob, growth: Growth) -> None:
    sizes = [2_000, 20_000]
    seconds = []
    for size in sizes:
        job, grounds, found = read_and_survey(long_job(size))
        made = plan_on(job, grounds, [TopStyle.LEVEL], found)
        seconds.append(timed(chart_text, made)[0])
    growth("cut chart and saw list as text, pickets", sizes, seconds)


@pytest.mark.parametrize("one_piece", [True, False])
def test_a_million_pieces_cut_and_laid(one_piece: bool, growth: Growth) -> None:
    sizes = [10_000, 100_000, 1_000_000]
    offered = [Stock(length=96.0, price=6.85), Stock(length=72.0, price=4.1)]
    planned, laid = [], []
    for size in sizes:
        asked = np.random.default_rng(1).integers(440, 560, size)
        cut = partial(family, one_piece=one_piece)
        took, made = timed(cut, asked, str, sorted(offered, key=lambda s: s.length), 0.125)
        planned.append(took)
        took, pieces = timed(lambda cut: sum(len(members) for _, members in cut.laid()), made)
        laid.append(took)
        assert pieces == size
    growth(f"cut plan, {'one piece' if one_piece else 'several pieces'} a board, pieces", sizes, planned)
    growth("every piece given its board, pieces", sizes, laid)


def test_a_hundred_thousand_doubtful_readings(growth: Growth) -> None:
    """One reading in a hundred is a slip of a foot."""
    sizes = [1_000, 10_000, 100_000]
    seconds = []
    for size in sizes:
        rng = np.random.default_rng(1)
        z = np.cumsum(rng.normal(0, 1, size)) + 12.0 * (np.arange(size) % 100 == 50)
        levels = Levels(
            stations=np.arange(float(size)) * 48.0,
            elevations=z,
            lines=tuple((k,) for k in range(size)),
            count=np.ones(size, dtype=np.intp),
            raw=z,
            upward=True,
            marks=(frozenset(),) * size,
            repeat_squares=0.0,
            repeat_freedom=0,
        )
        took, found = timed(doubts, levels, UnitSystem.IMPERIAL)
        seconds.append(took)
        assert len(found) > size // 200
    assert growth("doubting the readings", sizes, seconds) < 1.3


def test_cost_of_a_list_with_many_lengths(growth: Growth) -> None:
    """Boards of one piece each, every length different."""
    sizes = [100, 1_000, 10_000]
    cut, boards = partial(cut_plan, one_piece=True), {30_000: 9, 20_000: 7}
    seconds = [timed(cut, {8_000 + k: 1 for k in range(n)}, boards)[0] for n in sizes]
    growth("one piece a board, different lengths", sizes, seconds)


def test_marked_in_place_over_a_hundred_thousand_readings(growth: Growth) -> None:
    """The band decides board by board."""
    sizes = [2_000, 20_000, 100_000]
    seconds = []
    for size in sizes:
        x = np.arange(size) * 48.0
        profile = fit_ground(x, np.cumsum(np.random.default_rng(1).normal(0, 1, size)))
        left = np.arange(0, x[-1] - 6, 5.75)
        foot = profile.highest(left, left + 5.5) + 2
        seconds.append(timed(profile.chance_outside, left, left + 5.5, foot, 1, 3)[0])
    assert growth("boards to mark in place, readings", sizes, seconds) < 1.3
