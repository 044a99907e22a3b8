"""The cut chart and the saw list: every picket once, as the tape reads, and nothing a spreadsheet runs."""

import csv
import dataclasses
import io
import re
from collections.abc import Callable

import numpy as np
import pytest

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.stock import NO_STOCK
from fencegrade.job.as_built import AsBuilt, BuiltRun, PicketUp
from fencegrade.job.records import Gate
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.charts import chart_text, end_to_cut, settings
from fencegrade.sheets.drawings.elevation import legend
from fencegrade.sheets.hanging import look_at
from fencegrade.sheets.mark_in_place import how_to_mark, in_place, left_long
from fencegrade.sheets.plan_tables import plan_tables
from fencegrade.sheets.screen.summary import summary_lines
from fencegrade.sheets.tables import csv_text
from fencegrade.units import UnitSystem, parse_length
from fencegrade.units.words import numbered

MakePlan = Callable[..., FencePlan]


def chart(plan: FencePlan) -> list[dict[str, str]]:
    """The cut chart as its file has it."""
    return list(csv.DictReader(io.StringIO(csv_text(dict(plan_tables(plan))["cut_chart"], plan.words))))


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_the_csv_has_every_picket_with_its_figures(make_plan: MakePlan, bottom: str) -> None:
    plan = make_plan(bottom=bottom)
    rows, run = chart(plan), plan.runs[0]
    assert [int(r["picket"]) for r in rows] == list(range(1, len(run.slots) + 1))
    for i, row in enumerate(rows):
        kept, told = run.cuts.kept[i] * plan.mark, row["kept as the tape reads"]
        assert float(row["kept [in]"]) == kept
        assert (row["cut"] == "LEAVE LONG") == bool(in_place(run)[i])
        if in_place(run)[i]:
            low, high = (parse_length(f"{t} in") for t in told.strip("about in").split(" to "))
            assert low <= kept <= high
        else:
            assert parse_length(told) == kept
        assert float(row["gap [in]"]) == pytest.approx(run.cuts.gap[i], abs=1e-4)
        assert float(row["stock [in]"]) == plan.stock.offered[run.stock[i]].length
        assert float(row["kept [in]"]) + float(row["trim [in]"]) == pytest.approx(float(row["stock [in]"]))
        short = min(run.cuts.kept_left[i], run.cuts.kept_right[i]) * plan.mark
        assert row["short side [in]"] == ("" if short == kept else str(float(short)))


def test_the_charts_alone_say_which_side_is_short_and_which_row_a_board_is_of(make_plan: MakePlan) -> None:
    """A valley: going down the left side is the shorter, going up the right; square boards have none."""
    plan = make_plan(bottom="scribed", pickets='pattern = "board on board"')
    run, text = plan.runs[0], chart_text(plan)
    off = run.cuts.kept_left - run.cuts.kept_right
    assert {*np.sign(off).tolist()} >= {-1, 1}
    lines = text.partition("CUT CHART")[2].splitlines()[3 : 3 + len(off)]
    told = {-1: "start", 1: "end", 0: ""}
    for i, (row, line) in enumerate(zip(chart(plan), lines, strict=True)):
        assert row["short toward"] == told[int(np.sign(off[i]))]
        assert row["row"] == ("back row", "front row")[int(run.layout.row[i])]
        assert line.split()[:2] == [str(i + 1), row["row"].split()[0]]
        assert (f" {row['short toward']} " in line) or in_place(run)[i] or not row["short toward"]
    by_saw = {n: s.toward for s in settings(plan, 0) for n in s.pickets}
    assert all(chart(plan)[n - 1]["short toward"] == toward for n, toward in by_saw.items())


def test_flags_are_on_the_chart(make_plan: MakePlan) -> None:
    plan = make_plan()
    over = plan.runs[0].flags[PicketFlag.OVER_HEIGHT]
    assert over.any()
    rows = chart(plan)
    assert ["over height" in r["flags"] for r in rows] == over.tolist()


def test_boards_kept_open_are_told_for_no_miscut_is_seen_in_them(make_plan: MakePlan) -> None:
    """Cut shorter than their neighbours, where water passes; marked in place over the clearance of theirs."""
    water = '[[run.keep_open]]\nstart = "12 ft"\nend = "16 ft"\nheight = "5 in"\n'
    plan = make_plan(top=water, survey=DOUBTFUL)
    run, open_ = plan.runs[0], plan.runs[0].zones.open
    assert 5 < open_.sum() < 12
    assert ["kept open" in r["flags"] for r in chart(plan)] == open_.tolist()
    first = int(np.flatnonzero(open_)[0])
    gap = plan.words.length(float(run.cuts.gap[first]))
    assert f"{gap} kept open below, as asked" in look_at(run, first, plan.words, whole=True)
    marked = numbered("picket", np.flatnonzero(open_ & in_place(run)))
    assert f"less the clearance, 2 in (5 in at {marked}), that is its length" in " ".join(how_to_mark(plan))


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", '=HYPERLINK(\\"http://x\\")'])
def test_no_cell_is_a_formula(make_plan: MakePlan, name: str) -> None:
    for row in chart(make_plan(name=name)):
        assert row["run"].startswith("'")
        for cell in row.values():
            assert not re.match(r"[=+@\t\r]", cell)


def test_the_text_names_each_picket_and_the_end_to_cut(make_plan: MakePlan) -> None:
    plan = make_plan()
    text = chart_text(plan)
    assert text.splitlines()[0] == "Herb garden"
    assert "bottom end" in text
    assert "check the first three boards" in text
    table = text.split("SAW LIST")[0]
    numbers = [int(m) for m in re.findall(r"^\s*(\d+) +\S+", table, flags=re.MULTILINE)]
    assert numbers == list(range(1, len(plan.runs[0].slots) + 1))
    assert "over height" in table


def test_the_text_leaves_out_what_is_up(make_plan: MakePlan) -> None:
    plan = make_plan()
    run, slots = plan.job.runs[0].name, plan.runs[0].slots
    for up in (7, len(slots)):
        edge = PicketUp(number=up, far_edge=float(slots.right[up - 1]))
        built = AsBuilt(run=(BuiltRun(name=run, picket=(edge,)),))
        text = chart_text(plan_fence(dataclasses.replace(plan.job, built=built)))
        assert f"Pickets 1-{up} are up and left out here." in text
        listed = re.findall(r"^ +(\d+)  ", text.partition("SAW LIST")[0], re.MULTILINE)
        assert [int(n) for n in listed] == list(range(up + 1, len(slots) + 1))
        assert ("SAW LIST" in text) == (up < len(slots))


def test_a_flat_top_keeps_its_factory_end_up(make_plan: MakePlan) -> None:
    assert "factory end up" in chart_text(make_plan(pickets='top_end = "flat"'))
    assert "tip of the top" in chart_text(make_plan(pickets='top_end = "pointed"'))


def test_a_board_that_gives_several_pickets_is_cut_by_the_list_of_boards(make_plan: MakePlan) -> None:
    alone = make_plan(pickets='top_end = "flat"')
    assert all(len(b.pieces) == 1 for b in alone.families.pickets.plan.boards)
    assert "list of boards" not in end_to_cut(alone)
    shared = make_plan(top='least_height = "30 in"', pickets='top_end = "flat"')
    assert any(len(b.pieces) > 1 for b in shared.families.pickets.plan.boards)
    assert end_to_cut(shared).endswith(
        "A board that gives more than one picket is cut by the list of boards."
    )


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_the_saw_list_holds_each_board_once_by_its_stack_longest_first(
    make_plan: MakePlan, bottom: str
) -> None:
    plan = make_plan(bottom=bottom)
    run, found = plan.runs[0], settings(plan, 0)
    assert [(s.stock, -s.kept) for s in found] == sorted((s.stock, -s.kept) for s in found)
    for s in found:
        which = np.array(s.pickets) - 1
        assert set((run.cuts.kept[which] * plan.mark).tolist()) == {s.kept}
        assert {plan.stock.offered[k].length for k in run.stock[which]} == {s.stock}
        assert s.cut == bool((plan.trims[0][which] > 1e-6).any() or s.short is not None)
    listed = sorted(n for s in found for n in s.pickets)
    assert listed == (np.flatnonzero(~in_place(run)) + 1).tolist()
    text = chart_text(plan).split("SAW LIST")[1]
    assert all(re.search(rf"(?<!\d){len(s.pickets)}  .*{s.pickets[0]}", text) for s in found)


@pytest.mark.parametrize("bottom", ["square", "scribed"])
def test_boards_left_long_are_in_no_row_of_the_saw_list(make_plan: MakePlan, bottom: str) -> None:
    plan = make_plan(bottom=bottom, survey=DOUBTFUL)
    doubt = set((np.flatnonzero(in_place(plan.runs[0])) + 1).tolist())
    assert doubt
    cut = [n for s in settings(plan, 0) for n in s.pickets]
    assert sorted([*cut, *doubt]) == list(range(1, len(plan.runs[0].slots) + 1))
    marked = [n for g in left_long(plan, 0) for n in g.pickets]
    assert sorted(marked) == sorted(doubt)


def test_a_board_without_stock_is_not_to_be_marked_in_place(make_plan: MakePlan) -> None:
    """No board is there to mark; the screen counts those that are once."""
    plan = make_plan(top='least_height = "6 ft"', survey=DOUBTFUL.replace("24,40", "24,54"))
    (run,) = plan.runs
    short = ~run.doubt.from_chart & (run.stock == NO_STOCK)
    assert 0 < short.sum() < (~run.doubt.from_chart).sum()
    assert not (in_place(run) & short).any()
    text = " ".join(" ".join(summary_lines(plan)).split())
    marked, again = (re.search(p, text) for p in (r"(\d+) are marked in place", r"Marked in place: (\d+)"))
    assert marked is not None
    assert again is not None
    assert marked[1] == again[1] == str(in_place(run).sum())


DOUBTFUL = "station [ft],drop [in]\n0,20\n8,38\n16,18\n24,40\n"


def test_each_ripped_board_has_its_own_width_the_same_wherever_it_is_told(make_plan: MakePlan) -> None:
    flat = "station [ft],drop [in]\n0,20\n12,20\n24,20\n"
    plan = make_plan(pickets='fit = "rip last"\nwidth = "95 mm"\nspacing = "38 mm"', survey=flat)
    gate = Gate(station=(133 * 5 + 67.5) / 25.4, width=1050 / 25.4)
    settled = dataclasses.replace(plan.job.job, units=UnitSystem.METRIC, tape=1 / 25.4)
    run = dataclasses.replace(plan.job.runs[0], gate=(gate,))
    plan = plan_fence(dataclasses.replace(plan.job, job=settled, runs=(run,)))
    words, number = plan.words, len(plan.runs[0].slots)
    listed = {n: words.fine(s.rip) for s in settings(plan, 0) if s.rip is not None for n in s.pickets}
    assert listed == {6: "68 mm", number: "80 mm"}
    drawn = [text for _, text in legend(plan.runs[0], plan, np.arange(number)) if text.startswith("rip to")]
    assert drawn == [f"rip to {wide}: picket {n}" for n, wide in listed.items()]
    for n, wide in listed.items():
        assert f"rip to {wide}" in look_at(plan.runs[0], n - 1, words)
        assert f"{n}, ripped to {wide}" in chart_text(plan).split("SAW LIST")[1]


def test_titles_with_control_characters_print_as_plain_text(make_plan: MakePlan) -> None:
    text = chart_text(make_plan(title=r"\u001b[2J\u202eHerb\tgarden"))
    assert all(c.isprintable() or c == "\n" for c in text)
