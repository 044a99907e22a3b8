"""The heights tables on the screen, as tables and as JSON."""

import dataclasses
import json
from collections.abc import Callable

import numpy as np
import pytest
from heights import job_heights
from msgspec import structs

from fencegrade.job.read import Job
from fencegrade.planning.heights import Drop, JobHeights, RunHeights
from fencegrade.sheets.screen.heights_text import heights_json, heights_lines, heights_table
from fencegrade.units import UnitSystem

WriteJob = Callable[..., Job]

SWALE = "station [ft],elevation [in]\n0,0\n8,-4\n16,-19\n24,-11\n32,-1\n"


@pytest.fixture(scope="module")
def found(write_once: WriteJob) -> JobHeights:
    return job_heights(write_once(job='currency = "$"', lane=SWALE))


@pytest.fixture(scope="module")
def lines(found: JobHeights) -> list[str]:
    """What the screen tells of them."""
    return list(heights_lines(found))


def test_json_holds_every_row(found: JobHeights) -> None:
    tree = json.loads(json.dumps(heights_json(found), allow_nan=False))
    assert tree["format"] == "fencegrade-heights/1"
    assert tree["stock"] == [72.0, 96.0]
    for run, entry in zip(tree["runs"], found.tables, strict=True):
        assert (run["name"], run["top"]) == (entry.run, entry.style)
        assert [h["moved_by"] for h in run["heights"]] == pytest.approx(entry.table.offset, abs=1e-4)
        assert [h["boards"] for h in run["heights"]] == entry.table.boards.tolist()
        for height in run["heights"]:
            assert sum(height["boards"]) + height["unserved"] == entry.table.boards[0].sum()


@pytest.mark.parametrize("price", [4.10, None])
def test_costs_are_told_to_the_cent_and_lengths_in_the_job_s_unit(
    found: JobHeights, price: float | None
) -> None:
    pickets = found.job.pickets
    stock = tuple(dataclasses.replace(s, price=price and price * k) for k, s in enumerate(pickets.stock, 1))
    metric = dataclasses.replace(
        found.job,
        job=dataclasses.replace(found.job.job, units=UnitSystem.METRIC),
        pickets=dataclasses.replace(pickets, stock=stock),
    )
    other = job_heights(metric)
    told = [h["cost"] for run in heights_json(other)["runs"] for h in run["heights"]]
    cost = [float(c) for entry in other.tables for c in entry.table.cost]
    assert told == ([round(c, 2) for c in cost] if price else [round(c * 25.4, 4) for c in cost])
    assert told != cost


def test_a_table_has_a_column_a_stock_length(found: JobHeights) -> None:
    table = heights_table(found, found.tables[0])
    assert table.heads == (
        "moved by", "boards of 6 ft", "boards of 8 ft", "without board", "cut", "cost", "lowest",
        "tallest", "mark",
    )  # fmt: skip
    rows = list(table.rows)
    assert len(rows) == len(found.tables[0].table)
    prices = np.array([4.0, 6.5])
    for row in rows:
        assert row[5] == pytest.approx(float(np.array(row[1:3], dtype=float) @ prices))


def test_heights_over_the_local_limit_are_marked(found: JobHeights) -> None:
    """The limit is that of the row before the tallest: what is as tall or less is not over it."""
    level = found.tables[0]
    limit = float(level.table.tallest[-2])
    limited = dataclasses.replace(level.job, top=dataclasses.replace(level.job.top, most_height=limit))
    marks = [row[-1] or "" for row in heights_table(found, structs.replace(level, job=limited)).rows]
    assert [str(mark).endswith("over the limit") for mark in marks] == [False] * (len(marks) - 1) + [True]
    assert not level.over_limit.any()


def test_stock_is_told_by_length_however_it_was_written(found: JobHeights) -> None:
    pickets = found.job.pickets
    longest_first = dataclasses.replace(pickets, stock=pickets.stock[::-1])
    other = structs.replace(found, job=dataclasses.replace(found.job, pickets=longest_first))
    assert [s.length for s in other.job.pickets.stock] == [96.0, 72.0]
    assert heights_table(other, other.tables[0]).heads == heights_table(found, found.tables[0]).heads
    assert heights_json(other)["stock"] == [72.0, 96.0]


def test_a_long_table_is_thinned_to_knees_and_the_present_line(found: JobHeights, lines: list[str]) -> None:
    (note,) = [line for line in lines if line.endswith("the knees, and those about the present line")][:1]
    shown, of = note.split(" heights")[0].split(" of ")
    assert int(of) == len(found.tables[0].table)
    assert int(shown) < int(of)


def test_advice_names_what_a_lower_line_saves(found: JobHeights, lines: list[str]) -> None:
    every = " ".join(x.strip() for x in lines).replace("Drop", "\nDrop").splitlines()
    for entry in found.tables:
        drop = entry.drop
        if drop is None or not drop.shorter:
            continue
        saved = f"which saves ${drop.saved:.2f} of boards" if drop.saved > 0.005 else "which saves nothing"
        told = [x for x in every if x.startswith("Drop the line ") and saved in x]
        said = [x for x in told if f"and {drop.shorter} board" in x]
        assert said
        assert any((f" (${drop.drawn:.2f} as drawn" in x) is (drop.saved < drop.drawn - 0.005) for x in said)
        low = float(entry.table.shortest[drop.row]) < found.job.top.least_height - 1e-6
        assert any((" wanted" in x) is low for x in said)


def test_a_lower_line_that_shortens_no_board_is_no_advice(
    found: JobHeights, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Boards taken longer in doubt may use up all that the boards as drawn would save."""
    monkeypatch.setattr(JobHeights, "moved", lambda found, style: None)  # another advice
    told = []
    for shorter in (1, 0):
        monkeypatch.setattr(RunHeights, "drop", Drop(row=0, shorter=shorter, saved=0.0, drawn=5.0))
        told.append(any("Drop the line" in line for line in heights_lines(found)))
    assert told == [True, False]


def test_pickets_without_a_board_have_a_column(write_job: WriteJob) -> None:
    deep = "station [ft],elevation [in]\n0,0\n8,0\n12,-90\n16,0\n24,0\n"
    found = job_heights(write_job(lane=deep))
    entry = found.tables[0]
    assert entry.table.unserved.any()
    assert [r[3] or 0 for r in heights_table(found, entry).rows] == entry.table.unserved.tolist()
    assert any("without board" in line for line in heights_lines(found))


def test_a_line_over_the_last_row_is_said(write_job: WriteJob) -> None:
    deep = "station [ft],elevation [in]\n0,0\n8,0\n12,-50\n16,0\n24,0\n"
    found = job_heights(write_job(lane=deep))
    assert found.tables[0].table.offset[-1] < -21
    text = " ".join(" ".join(heights_lines(found)).split())
    assert "The line as it stands is 24 in over the last row: more pickets than there are" in text


def test_pickets_that_get_a_board_by_a_lower_line_are_told_and_save_nothing(
    found: JobHeights, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(JobHeights, "moved", lambda found, style: None)  # another advice
    drop = Drop(row=0, shorter=3, saved=7.5, drawn=7.5, served=2)
    monkeypatch.setattr(RunHeights, "drop", drop)
    text = " ".join(" ".join(heights_lines(found)).split())
    gained = "2 pickets that no stock serves now have a board then; the fence is then "
    assert f"3 boards go to a shorter stock, which saves $7.50 of boards; {gained}" in text


def test_without_prices_lengths_are_saved(write_job: WriteJob) -> None:
    stock = '[[pickets.stock]]\nlength = "6 ft"\n[[pickets.stock]]\nlength = "8 ft"\n'
    lines = list(heights_lines(job_heights(write_job(stock=stock, lane=SWALE))))
    assert '" of boards (' in " ".join(" ".join(lines).split())


def test_only_the_top_of_each_run_stands_there_unless_all_are_asked_for(
    found: JobHeights, lines: list[str]
) -> None:
    own = list(heights_lines(found, more="--details"))
    titles = [line for line in own if line.startswith("HEIGHTS OF")]
    assert titles == [f"HEIGHTS OF THE {found.job.top.style} LINE, {r.name}".upper() for r in found.job.runs]
    assert own[own.index("The tables of other tops: --details.") - 1] == ""
    every = [line for line in lines if line.startswith("HEIGHTS OF")]
    assert len(every) == len(found.tables) > len(titles)
