"""How sure the ground is, as far as boards and stock hang on it."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.as_built import AsBuilt, BuiltRun, MeasuredGround
from fencegrade.job.choices import StopSettings
from fencegrade.job.read import Job
from fencegrade.planning.check import ground_reports
from fencegrade.planning.plan import plan_fence
from fencegrade.problems import Severity
from fencegrade.sheets.mark_in_place import from_chart, in_place, mark_in_place_lines
from fencegrade.sheets.screen.check_text import check_lines

WriteJob = Callable[..., Job]


def test_one_report_a_run_in_order(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n8,0\n16,0\n24,0\n"
    reports = ground_reports(plan_fence(write_job(west=level, north=level)))
    assert [r.ground.name for r in reports] == ["west", "north"]
    assert [len(r.ground.stations) for r in reports] == [4, 4]


def test_boards_of_the_report_are_the_pickets_of_the_plan(write_job: WriteJob) -> None:
    plan = plan_fence(write_job())
    (report,) = ground_reports(plan)
    assert len(report.from_chart) == len(plan.runs[0].slots)
    flagged = plan.runs[0].flags[PicketFlag.MARK_IN_PLACE]
    assert report.from_chart.tolist() == (~flagged).tolist()


def test_closely_read_ground_is_surer(write_job: WriteJob) -> None:
    """Twice as many readings on the same smooth ground leave fewer boards to mark in place."""

    def readings(step: int) -> str:
        rows = "".join(f"{x},{6 * np.sin(x / 8):.3f}\n" for x in range(0, 49, step))
        return f"station [ft],elevation [in]\n{rows}"

    doubtful = []
    for step in (8, 2):
        (report,) = ground_reports(plan_fence(write_job(lane=readings(step))))
        doubtful.append(int((~report.from_chart).sum()))
    assert doubtful[1] < doubtful[0]


def test_what_measuring_the_sag_would_spare_is_told_where_it_counts(write_job: WriteJob) -> None:
    """Level ground under 100 ft of a string that hangs an inch and more: nothing else is in doubt."""
    rows = "station [ft],drop [in]\n" + "".join(f"{x},20\n" for x in range(0, 101, 2))
    plain, levelled = (plan_fence(write_job(lane=(rows, keys))) for keys in ("", "tops_levelled = true"))
    (before,), (after,) = ground_reports(plain), ground_reports(levelled)
    assert before.from_chart.all()
    marked = int((~after.from_chart).sum())
    assert before.sag_boards == after.sag_boards == marked > 20
    told = [" ".join(check_lines(p, ground_reports(p))) for p in (plain, levelled)]
    assert f"{marked} more boards to mark in place; measuring the sag spares them" in told[0]
    assert f"{marked} boards of these for the doubt of the sag alone: measuring it spares most" in told[1]


def test_a_run_without_pickets_is_reported_all_the_same(write_job: WriteJob) -> None:
    level = "station [ft],elevation [in]\n0,0\n2,0\n4,0\n"
    keys = '[[run.gate]]\nstation = "1.75 in"\nwidth = "44.5 in"'
    plan = plan_fence(write_job(west=(level, keys)))
    (report,) = ground_reports(plan)
    assert len(report.ground.stations) == 3


@pytest.mark.parametrize("most_chance", [0.3, 0.5, 1.0])
@pytest.mark.parametrize("settings", ["fewest", "every length"])
def test_boards_told_as_marked_in_place_are_never_cut_from_the_chart(
    write_job: WriteJob, most_chance: float, settings: str
) -> None:
    """A root from 9 to 11 ft and no reading between 24 and 40 ft, told as marked in place until they are
    read: so they are in plan, chart and report, whatever chance is allowed."""
    x = [*range(0, 25, 4), *range(40, 61, 4)]
    flat = "station [ft],elevation [in]\n" + "".join(f"{k},0\n" for k in x)
    job = write_job(lane=(flat, '[[run.root]]\nstart = "9 ft"\nend = "11 ft"\n'))
    keys = replace(job.pickets, most_chance=most_chance, stop_settings=StopSettings(settings))
    plan = plan_fence(replace(job, pickets=keys))
    (run,), (report,) = plan.runs, ground_reports(plan)
    left, right = run.slots.left, run.slots.right
    told = (right > 8.5 * 12) & (left < 11.5 * 12) | (right > 26 * 12) & (left < 38 * 12)
    assert told.any()
    assert in_place(run)[told].all()
    assert not (from_chart(run) | run.doubt.from_chart | report.from_chart)[told].any()
    assert (run.doubt.outside[told] >= 0.5).all()
    assert run.doubt.outside.max() <= 1
    text = "\n".join(mark_in_place_lines(plan))
    assert ("or ground that is to be read first" in text) == told.any()


def test_boards_over_a_root_that_was_not_read_are_marked_in_place_in_plan_and_report(
    write_job: WriteJob,
) -> None:
    flat = "station [ft],drop [in]\n0,20\n4,20\n8,20\n12,20\n16,20\n20,20\n"
    root = '[[run.root]]\nstart = "9 ft"\nend = "11 ft"\n'
    plain, plan = (plan_fence(write_job(lane=(flat, keys))) for keys in ("", root))
    run = plan.runs[0]
    over = (run.slots.right > 8.5 * 12) & (run.slots.left < 11.5 * 12)
    assert plain.runs[0].doubt.from_chart.all()
    assert (run.doubt.from_chart == ~over).all()
    assert (ground_reports(plan)[0].from_chart == run.doubt.from_chart).all()
    assert any("root" in p.found and p.severity is Severity.WARNING for p in plan.problems)
    assert not any("root" in p.found for p in plain.problems)


def test_ground_measured_under_boards_is_no_reading_to_be_had_again(write_job: WriteJob) -> None:
    """What is measured in place lies between the readings, and is judged no more."""
    job = write_job(lane="station [ft],drop [in]\n0,20\n6,24\n12,20\n18,26\n24,20\n")
    measured = tuple(MeasuredGround(number=k, drop=(74.0, 74.5)) for k in (4, 5, 20))
    built = AsBuilt(run=(BuiltRun(name="lane", measured=measured),))
    plain, (report,) = (ground_reports(plan_fence(j)) for j in (job, replace(job, built=built)))
    assert report.ground.stations.tolist() == plain[0].ground.stations.tolist()
    assert report.from_chart[[3, 4, 19]].all()
    ends = {(s.start, s.end) for s in report.advice.stretches}
    assert ends
    assert ends <= {(12.0 * a, 12.0 * (a + 6)) for a in range(0, 24, 6)}


def test_what_is_doubted_of_the_record_is_told_by_the_check(write_job: WriteJob) -> None:
    job = write_job(lane="station [ft],drop [in]\n0,20\n6,24\n12,20\n18,26\n24,20\n")
    built = AsBuilt(run=(BuiltRun(name="lane", measured=(MeasuredGround(number=9, drop=(150.0,)),)),))
    plan = plan_fence(replace(job, built=built))
    told = " ".join(" ".join(check_lines(plan, ground_reports(plan))).split())
    assert "built.toml, drop: the ground there is then" in told
