"""From an empty folder to sheets, the way a newcomer goes."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

SHEETS = {"plan.json", "cut_chart.csv", "cut_chart.txt", "elevation.svg", "elevation.png"}

Run = Callable[..., Any]


def fill_in(folder: Path) -> None:
    """Take the marks away and write a reading after each station, as the blank survey asks."""
    survey = folder / "north.csv"
    text = survey.read_text()
    survey.write_text(re.sub(r"^# (\d+),$", r"\1,20", text, flags=re.MULTILINE))
    assert survey.read_text() != text


@pytest.mark.parametrize("metric", [False, True])
def test_new_then_edit_then_plan(run: Run, tmp_path: Path, metric: bool) -> None:
    folder = tmp_path / "yard"
    made = run("new", folder, *(["--metric"] if metric else []))
    assert made.status == 0
    assert f"fencegrade plan {folder}" in made.out
    blank = run("plan", folder)
    assert blank.status == 1
    assert "no readings" in blank.err
    fill_in(folder)
    planned = run("plan", folder, "--out", folder / "sheets")
    assert (planned.status, planned.err) == (0, "")
    assert {p.name for p in (folder / "sheets").iterdir()} >= SHEETS
    plan = json.loads((folder / "sheets" / "plan.json").read_text())
    assert plan["length_unit"] == ("mm" if metric else "in")
    kept = {p["length"] for p in plan["runs"][0]["pickets"]}
    assert kept == ({1800.0} if metric else {72.0})  # level ground: the least height less the clearance


def test_new_keeps_what_the_builder_wrote(run: Run, tmp_path: Path) -> None:
    run("new", tmp_path)
    (tmp_path / "north.csv").write_text("mine")
    again = run("new", tmp_path)
    assert again.status == 1
    assert again.errors == [
        f"{tmp_path}/north.csv: this file was not written by fencegrade, or was changed since; "
        "move it away, choose another folder, or write over it with --force"
    ]
    assert (tmp_path / "north.csv").read_text() == "mine"
    assert run("new", tmp_path, "--force").status == 0
    assert (tmp_path / "north.csv").read_text() != "mine"


def test_a_bare_survey_gives_a_cut_chart(run: Run, job: Path) -> None:
    done = run("plan", job / "lane.csv")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("lane: level top")
    assert "[pickets] stock = 6 ft, 8 ft, 10 ft" in done.out
    assert "[job] units = imperial" in done.out


def test_a_folder_its_job_file_and_its_plan_are_one_job(run: Run, job: Path) -> None:
    assert run("plan", job, "--json").out == run("plan", job / "job.toml", "--json").out


@pytest.mark.parametrize("style", ["level", "sloped", "stepped", "racked", "contour"])
def test_top_style(run: Run, job: Path, style: str) -> None:
    done = run("plan", job, "--top", style, "--json")
    assert done.status == 0
    assert json.loads(done.out)["top"] == style


@pytest.mark.usefixtures("no_paper")
def test_json_alone_is_on_standard_output_and_is_the_file(run: Run, job: Path, tmp_path: Path) -> None:
    done = run("plan", job, "--json", "--out", tmp_path / "out")
    assert (done.status, done.err) == (0, "")
    assert json.loads(done.out)["format"] == "fencegrade-plan/1"
    assert done.out == (tmp_path / "out" / "plan.json").read_text()
    assert run("plan", job, "--json").out == done.out


@pytest.mark.usefixtures("no_paper")
def test_out_twice_renews_the_sheets_but_none_with_pencil_marks(run: Run, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run("plan", job, "--out", out)
    first = {p.name: p.read_bytes() for p in out.iterdir()}
    assert run("plan", job, "--out", out).status == 0
    assert {p.name: p.read_bytes() for p in out.iterdir()} == first
    assert run("plan", job, "--out", out, "--top", "contour").status == 0
    before = (out / "plan.json").read_bytes()
    assert before != first["plan.json"]
    (out / "cut_chart.txt").write_text("ticked off: 1, 2, 3")
    refused = run("plan", job, "--out", out)
    assert refused.status == 1
    assert refused.out == ""
    assert "--force" in refused.err
    assert (out / "cut_chart.txt").read_text() == "ticked off: 1, 2, 3"
    assert (out / "plan.json").read_bytes() == before
    assert run("plan", job, "--out", out, "--force").status == 0
    assert {p.name: p.read_bytes() for p in out.iterdir()} == first


def test_check_reports_the_readings(run: Run, job: Path) -> None:
    done = run("check", job)
    assert (done.status, done.err) == (0, "")
    assert "6 readings" in done.out
    assert "lane side" in done.out


def test_check_finds_what_plan_finds(run: Run, job: Path) -> None:
    (job / "lane.csv").write_text("station [ft],drop [in]\n0,20\n8,-3\n16,20\n24,20\n")
    checked, planned = run("check", job), run("plan", job)
    assert checked.status == planned.status == 1
    assert checked.err == planned.err != ""


def test_version_and_help(run: Run) -> None:
    from fencegrade import __version__

    assert run("--version").out == f"fencegrade {__version__}\n"
    for words in (["--help"], ["plan", "--help"], ["check", "--help"], ["new", "--help"]):
        shown = run(*words)
        assert shown.status == 0
        assert "Usage" in shown.out
    for option in ("--top", "--out", "--json", "--force", "JOB"):
        assert option in run("plan", "--help").out
