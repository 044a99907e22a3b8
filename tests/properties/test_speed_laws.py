"""What is planned does not depend on how fast the machine is."""

from pathlib import Path
from random import Random
from time import perf_counter

import pytest
from in_json import json_text

from fencegrade.cutting import effort
from fencegrade.job.read import read_job
from fencegrade.planning.plan import plan_fence

JOB = """
[job]
title = "long search"
units = "imperial"
tape = "1/16 in"
[[run]]
name = "lane side"
survey = "lane.csv"
[top]
least_height = "30 in"
[pickets]
width = "3-1/2 in"
spacing = "1 in"
top_end = "flat"
"""
STOCK = {6: 3.10, 8: 4.55, 10: 6.20, 12: 7.05, 16: 9.90}


def planned(folder: Path) -> str:
    return json_text(plan_fence(read_job(folder)))


def test_a_machine_thirty_times_as_slow_plans_the_same_fence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pickets with two or three to a board: half a second of search, a quarter of a minute there."""
    chance, drop, rows = Random(2), 20.0, ["station [ft],drop [in]"]
    for station in range(0, 81, 4):
        drop = min(40.0, max(6.0, drop + chance.uniform(-5, 5)))
        rows.append(f"{station},{drop:.2f}")
    (tmp_path / "lane.csv").write_text("\n".join(rows) + "\n")
    stock = [f'[[pickets.stock]]\nlength = "{feet} ft"\nprice = {price}\n' for feet, price in STOCK.items()]
    (tmp_path / "job.toml").write_text(JOB + "".join(stock))
    here = planned(tmp_path)
    monkeypatch.setattr(effort, "perf_counter", lambda: 30 * perf_counter())
    assert planned(tmp_path) == here
