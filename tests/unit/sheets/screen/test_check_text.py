"""What `check` says of the readings, in words and as JSON."""

import dataclasses
import json
from collections.abc import Callable
from typing import Any

import pytest

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.read import Job
from fencegrade.planning.check import ground_reports
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.screen.check_text import check_json, check_lines

WriteJob = Callable[..., Job]

LANE = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"


def told(job: Job) -> tuple[str, dict[str, Any]]:
    plan = plan_fence(job)
    reports = ground_reports(plan)
    return "\n".join(check_lines(plan, reports)), json.loads(
        json.dumps(check_json(plan, reports), allow_nan=False)
    )


def test_the_readings_in_words(write_job: WriteJob) -> None:
    text, _ = told(write_job(lane=LANE))
    lines = text.splitlines()
    assert lines[0] == "Herb garden"
    assert "lane: 6 readings" in lines
    assert any(x.startswith('  from 0" to 24\' 0", usually 4\' 0" apart, at most 6\' 0"') for x in lines)
    assert "  the ground rises and falls by 10 in; steepest 17 %" in lines
    assert any("assumed; read some stations twice to know" in x for x in lines)


@pytest.mark.parametrize(("drops", "says"), [((30, 26, 26, 20), "climbs"), ((20, 26, 26, 30), "falls")])
def test_ground_that_goes_one_way_is_told_which(
    write_job: WriteJob, drops: tuple[int, ...], says: str
) -> None:
    rows = "".join(f"{8 * i},{d}\n" for i, d in enumerate(drops))
    text, _ = told(write_job(lane=f"station [ft],drop [in]\n{rows}"))
    assert f"  the ground {says} 10 in from start to end; steepest 6 %" in text.splitlines()


def test_repeats_and_sag_and_closure(write_job: WriteJob) -> None:
    survey = "station [ft],drop [in],string\n0,20,A\n8,20,A\n8,20.25,A\n16,21,A\n16,21,B\n24,20,B\n"
    keys = (
        '[[run.string]]\nid = "A"\nstart = "0 ft"\nend = "16 ft"\nheight = "0 in"\nsag = "1/4 in"\n'
        '[[run.string]]\nid = "B"\nstart = "16 ft"\nend = "24 ft"\n'
    )
    text, tree = told(write_job(lane=(survey, keys)))
    assert "from repeat readings" in text
    assert "string A sags 1/4 in in the middle; corrected" in text
    assert {s["string"]: s["sag"] for s in tree["runs"][0]["sags"]}["A"] == 0.25


def test_the_only_string_is_called_the_string(write_job: WriteJob) -> None:
    text, _ = told(write_job(lane=(LANE, '[[run.string]]\nsag = "1/4 in"')))
    assert "  the string sags 1/4 in in the middle; corrected" in text


def test_boards_to_mark_in_place_are_named_as_in_the_plan(write_job: WriteJob) -> None:
    job = write_job(lane=LANE)
    text, tree = told(job)
    flags = plan_fence(job).runs[0].flags[PicketFlag.MARK_IN_PLACE]
    assert [not p["from_chart"] for p in tree["runs"][0]["pickets"]] == flags.tolist()
    assert f"leave long and mark in place: {int(flags.sum())} boards, pickets " in text


def test_json_tells_each_problem_once(write_job: WriteJob) -> None:
    _, tree = told(write_job(west=LANE, north=LANE))
    assert tree["format"] == "fencegrade-check/1"
    assert [r["name"] for r in tree["runs"]] == ["west", "north"]
    keys = [(p["place"], p["message"]) for p in tree["problems"]]
    assert len(keys) == len(set(keys)) > 0


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_lengths_are_in_the_job_s_unit(write_job: WriteJob, units: str) -> None:
    stock = '[[pickets.stock]]\nlength = "8 ft"\n'
    _, tree = told(write_job(units=units, stock=stock, lane=LANE))
    (run,) = tree["runs"]
    factor = 1.0 if units == "imperial" else 25.4
    assert tree["length_unit"] == ("in" if units == "imperial" else "mm")
    assert (run["start"], run["end"], run["widest"]) == pytest.approx((0, 288 * factor, 72 * factor))


def test_a_closure_is_told_as_finely_in_its_line_as_in_the_page_check(write_job: WriteJob) -> None:
    """Backsight 60-3/16 on a known 0, sights 62 and 62, and a foresight of 60 back on 0: 3/16 in high."""
    book = (
        "station [ft],backsight [in],intermediate [in],foresight [in],known [in]\n"
        ",60.1875,,,0\n0,,62,,\n12,,62,,\n24,,62,,\n,,,60,0\n"
    )
    job = write_job(lane=book)
    text, as_json = told(dataclasses.replace(job, job=dataclasses.replace(job.job, tape=1.0)))
    assert "  closes to 3/16 in; " in text
    assert "the page closes to 3/16 in; " in text
    assert as_json["runs"][0]["closures"][0]["misclosure"] == 0.1875
