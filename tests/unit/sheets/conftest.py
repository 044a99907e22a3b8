"""A small yard that has one of everything a sheet must show."""

from collections.abc import Callable
from pathlib import Path

import pytest

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence

JOB = """
[job]
title = "{title}"
units = "{units}"
currency = "$"
[[run]]
name = "{name}"
survey = "lane.csv"
[top]
most_height = "6 ft 6 in"
{top}
[pickets]
bottom_cut = "{bottom}"
{pickets}
[[pickets.stock]]
length = "6 ft"
price = 4.10
on_hand = {there}
[[pickets.stock]]
length = "8 ft"
price = 6.85
"""
SURVEY = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"

MakePlan = Callable[..., FencePlan]


@pytest.fixture(autouse=True)
def nothing_is_drawn_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """The samples are drawn as PNG too; here nobody looks into one that a folder gets."""
    monkeypatch.setattr("fencegrade.sheets.folder.png_bytes", lambda figure: b"")


@pytest.fixture
def make_plan(tmp_path: Path) -> MakePlan:
    """Plans the small yard; the parts of its job may be replaced."""

    def maker(
        *,
        title: str = "Herb garden",
        name: str = "lane side",
        bottom: str = "square",
        there: int = 0,
        pickets: str = "",
        top: str = "",
        survey: str = SURVEY,
        style: str | None = None,
    ) -> FencePlan:
        parts = {"title": title, "name": name, "units": "imperial", "bottom": bottom, "there": there}
        text = JOB.format(**parts, pickets=pickets, top=top)
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        (tmp_path / "lane.csv").write_text(survey, encoding="utf-8")
        return plan_fence(read_job(tmp_path), style)

    return maker
