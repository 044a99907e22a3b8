"""Enormous jobs: tables and data in full, row by row, and nothing drawn."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from fencegrade.job.read import Job
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets import folder, tables
from fencegrade.sheets.folder import undrawn_words, write_plan_sheets
from fencegrade.sheets.tables import plain_rows

WriteJob = Callable[..., Job]


def names(out: Path) -> set[str]:
    return {p.name for p in out.iterdir() if not p.name.startswith(".")}


def test_a_job_too_long_to_draw_says_so_and_keeps_its_tables(
    write_job: WriteJob, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = plan_fence(write_job())
    write_plan_sheets(plan, tmp_path / "drawn")
    assert undrawn_words(plan) is None
    monkeypatch.setattr(folder, "MOST_DRAWN", len(plan.runs[0].slots) - 1)
    write_plan_sheets(plan, tmp_path / "long")
    drawn, long = tmp_path / "drawn", tmp_path / "long"
    kept = {n for n in names(drawn) if n.endswith((".csv", ".json"))}
    assert names(long) == kept | {"not_drawn.txt"}
    assert all((drawn / n).read_bytes() == (long / n).read_bytes() for n in kept)
    words = (long / "not_drawn.txt").read_text()
    assert f"{len(plan.runs[0].slots)} pickets" in words
    assert "Divide the job" in words


def test_what_was_drawn_for_a_shorter_job_is_cleared_away(
    write_job: WriteJob, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = plan_fence(write_job())
    write_plan_sheets(plan, tmp_path / "out")
    monkeypatch.setattr(folder, "MOST_DRAWN", 1)
    write_plan_sheets(plan, tmp_path / "out")
    assert not [n for n in names(tmp_path / "out") if n.endswith((".svg", ".png", ".pdf", ".html"))]


@pytest.mark.parametrize("count", [0, 1, 3, 4, 7])
def test_rows_in_blocks_are_all_the_rows_as_plain_numbers(
    count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tables, "_BLOCK", 3)
    whole, part = np.arange(count), np.arange(count) / 4
    rows = list(plain_rows(whole, part))
    assert rows == [(k, k / 4) for k in range(count)]
    assert all(type(a) is int and type(b) is float for a, b in rows)
