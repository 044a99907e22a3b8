"""Mistakes between values of the posts, gate and site tables."""

from pathlib import Path

import pytest

from fencegrade.job.read import read_job
from fencegrade.problems import JobMistakesError

JOB = """
[job]
title = "herb garden"
units = "imperial"
[[run]]
name = "north"
survey = "north.csv"
{run}
[[pickets.stock]]
length = "6 ft"
{tables}
"""


GATE = '[[run.gate]]\nstation = "4 ft"\nwidth = "4 ft"\n'


def _mistakes(folder: Path, run: str = "", tables: str = "") -> list[str]:
    (folder / "north.csv").write_text("station [ft],drop [in]\n0,20\n4,21\n8,22\n12,20\n16,19\n")
    (folder / "job.toml").write_text(JOB.format(run=run, tables=tables))
    try:
        read_job(folder)
    except JobMistakesError as error:
        return [str(p) for p in error.problems]
    return []


@pytest.mark.parametrize(
    ("run", "tables", "place", "found"),
    [
        ("", '[posts]\nhole_diameter = "4 in"', "[posts] hole_diameter", "from corner to corner"),
        (
            "",
            '[posts]\nwidth = "12 in"\nspacing = "1 ft"\nhole_diameter = "20 in"',
            "[posts] spacing",
            "cannot stand",
        ),
        (
            "",
            '[site]\nwind_speed = "115 mph"\nwind_pressure = "20 psf"',
            "[site] wind_pressure",
            "as speed and as",
        ),
        ("", "[site]\nsets_depth = true", "[site] sets_depth", "no wind is given"),
        ("", '[site]\nsoil = "mud"', "[site] soil", '"bedrock", "rock", "gravel", "sand" or "clay"'),
        ("", '[site]\nwind_speed = "-3 mph"', "[site] wind_speed", "not more than zero"),
        ("", '[posts]\nheight = "-8 in"', "[posts] height", "leave the top rail without a post"),
        ("", '[posts]\ngate_width = "5-1/2 in"', "[posts] gate_width", "no lengths to buy them in"),
        ("", "[posts]\ndepth_share = 0.9", "[posts] depth_share", "not between 0 and 0.6"),
        (
            f'{GATE}swing_rise = ["0 in", "1 in", "2 in"]',
            "",
            "gate 1, swing_rise",
            "one hinge post and one side",
        ),
        (f'{GATE}open_angle = "200 deg"', "", "open_angle", "half a turn"),
        (f'{GATE}hinge = "middle"', "", "gate 1, hinge", '"start" or "end"'),
        (f"{GATE}leaves = 3", "", "gate 1, leaves", "3 is over 2"),
    ],
)
def test_each_mistake_is_named_with_its_place(
    tmp_path: Path, run: str, tables: str, place: str, found: str
) -> None:
    texts = _mistakes(tmp_path, run, tables)
    assert any(place in t and found in t for t in texts), texts


def test_every_new_key_may_be_given(tmp_path: Path) -> None:
    run = """
[[run.gate]]
station = "4 ft"
width = "4 ft"
hinge = "start"
swing = "left"
leaf = "raked"
slope_across = "6 %"
open_angle = "90 deg"
swing_rise = ["0 in", "1 in", "2 in"]
[[run.existing_post]]
station = "0 ft"
height = "5 ft"
keep = true
"""
    tables = """
[posts]
thickness = "3-1/2 in"
depth_share = 0.25
gate_deeper = "0 in"
gravel = "4 in"
bag = "25 kg"
concrete_extra = 1.05
[rails]
thickness = "1-1/2 in"
bearing = "1 in"
top_reveal = "8 in"
bottom_reveal = "5 in"
[site]
wind_speed = "51 m/s"
exposure = "B"
soil = "sand"
lateral_bearing = "150 psf"
isolated_poles = true
sets_depth = true
[fasteners]
per_crossing = 3
extra = 1.1
box = 100
"""
    assert _mistakes(tmp_path, run, tables) == []
