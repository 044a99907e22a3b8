"""One length a picket, on small jobs worked by hand: shared boards, ends of fills, two rows over soil."""

from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from in_json import as_json
from msgspec import structs

from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.sheets.charts import cut_chart_data, saw_list
from fencegrade.sheets.mark_in_place import in_place, to_expect, to_scribe

HEAD = '[job]\ntitle = "x"\nunits = "imperial"\n[[run]]\nname = "lane"\nsurvey = "s.csv"\n'
WATER = '[[run.keep_open]]\nstart = "180 in"\nend = "190 in"\nheight = "4 in"\n'
SHALLOW = "0,0\n24,0\n48,-4\n120,-4\n180,-4\n240,-4\n300,-4\n"
STEP = "0,0\n60,0\n120,0\n122,-4\n182,-4\n242,-4\n302,-4\n"
SOIL = '[soil]\nlow_ground = "soil"\nprice = 30.0\n'


def stock(*pairs: tuple[float, float]) -> str:
    return "".join(f'[[pickets.stock]]\nlength = "{a} in"\nprice = {p}\n' for a, p in pairs)


def planned(folder: Path, readings: str, tables: str) -> FencePlan:
    (folder / "job.toml").write_text(HEAD + tables)
    (folder / "s.csv").write_text(f"station [in],elevation [in]\n{readings}")
    return plan_fence(read_job(folder))


@pytest.mark.parametrize("turned", [False, True])
def test_a_piece_shortened_goes_to_a_picket_whose_gap_allows_it(tmp_path: Path, turned: bool) -> None:
    """Pairs of 38 in from 72 in boards: pickets over level ground may lose 10 marks, the others none."""
    points = [(0, 0.0), (40, 0.0), (80, 0.0), (120, 0.0), (121, -1.0), (126, -1.1), (132, -1.2)]
    rows = sorted((132 - x if turned else x, z) for x, z in points)
    plan = planned(
        tmp_path,
        "".join(f"{x},{z}\n" for x, z in rows),
        '[top]\nleast_height = "39 in"\n[pickets]\nwidth = "6 in"\nspacing = "0 in"\ntop_end = "flat"\n'
        f'clearance = "2 in"\nmost_gap = "3-1/4 in"\nmost_chance = 1\n{stock((72, 6.0), (48, 5.0))}',
    )
    (run,) = plan.runs
    assert float(run.cuts.gap.max()) <= 3.25 + 1e-9
    steep = 1 if turned else 20
    assert float(run.cuts.kept[steep]) * plan.mark == 37.0
    assert float(run.cuts.gap[steep]) == pytest.approx(3.1)
    assert plan.families.pickets.plan.cost == 70.0


@pytest.mark.parametrize("rough", [0.25, 0.75, 1.0])
def test_boards_are_shared_at_no_picket_s_sureness(tmp_path: Path, rough: float) -> None:
    """Two of 36 in are a hair too long for a board of 72 in: those that stay sure share one."""
    heights = [0, 3, 1, 5, 2, 2, 6, 3, 7, 4, 4, 8, 5]
    ground = "".join(f"{48 * k},{rough * z}\n" for k, z in enumerate(heights))
    keys = (
        '[top]\nstyle = "contour"\nleast_height = "38 in"\n[pickets]\nclearance = "2 in"\nmost_gap = "4 in"\n'
        'stop_settings = "every length"\n'
    )
    keys += stock((48, 3.4), (72, 5.0), (96, 7.0))
    own, shared = (
        planned(tmp_path, ground, keys.replace("[pickets]", f'[pickets]\ntop_end = "{end}"')).runs[0]
        for end in ("dog-eared", "flat")
    )
    sure = own.doubt.from_chart
    assert sure.any()
    assert (own.cuts.kept - shared.cuts.kept).max() > 0
    assert (shared.cuts.kept <= own.cuts.kept).all()
    assert (shared.doubt.outside <= np.maximum(own.doubt.outside, 0.1) + 1e-9)[sure].all()
    assert not (shared.doubt.may_be_short & sure).any()


@pytest.mark.parametrize(("clearance", "rough"), [(2, 0.75), (2, 1.5), (1, 1.5)])
def test_a_picket_marked_in_place_has_all_that_its_board_has_left(
    tmp_path: Path, clearance: int, rough: float
) -> None:
    """Of two that are marked the first has the whole board, the other what that leaves: one may be short."""
    heights = [0, 3, 1, 5, 2, 2, 6, 3, 7, 4, 4, 8, 5]
    keys = (
        '[top]\nstyle = "contour"\nleast_height = "38 in"\n[pickets]\n'
        f'top_end = "flat"\nclearance = "{clearance} in"\nmost_gap = "{clearance + 2} in"\n'
    )
    plan = planned(
        tmp_path,
        "".join(f"{48 * k},{rough * z}\n" for k, z in enumerate(heights)),
        keys + stock((44, 3.4), (72, 5.0), (96, 5.2)),
    )
    (run,) = plan.runs
    marked, seen, both = in_place(run), 0, 0
    for board, members in plan.families.pickets.laid():
        left = board.stock - (len(members) - 1) * plan.families.pickets.kerf
        last = [i for i in members if marked[i]]
        left -= sum(int(run.cuts.kept[i]) for i in members if not marked[i])
        for i in last:
            if run.cuts.kept[i] == run.boards.needs.full[i]:
                assert run.boards.wood[i] == left
            left -= int(run.cuts.kept[i])
        assert not run.doubt.may_be_short[last[:-1]].any()
        seen, both = seen + len(last), both + (len(last) > 1)
    assert seen == marked.sum()
    assert both
    full, wood = (n * plan.mark for n in (run.boards.needs.full, run.boards.wood))
    low, high = (np.minimum(full + way * run.doubt.half, wood) for way in (-1, 1))
    assert np.allclose(to_expect(plan, 0)[0][marked], low[marked])
    assert np.allclose(to_expect(plan, 0)[1][marked & ~to_scribe(run)], high[marked & ~to_scribe(run)])
    bare = structs.replace(run, boards=structs.replace(run.boards, wood=run.boards.needs.full))
    assert np.allclose(to_expect(structs.replace(plan, runs=(bare,)), 0)[1][marked], full[marked])


def taper_job(folder: Path, boards: str) -> FencePlan:
    return planned(
        folder,
        SHALLOW,
        f'{WATER}[top]\nleast_height = "72 in"\n[pickets]\nwidth = "6 in"\nspacing = "0 in"\n'
        f'clearance = "2 in"\nmost_gap = "3 in"\n{boards}{SOIL}',
    )


def test_boards_over_the_ends_of_a_fill_are_served_by_the_stock_they_are_cut_from(tmp_path: Path) -> None:
    """Soil ends 7 : 1 at the water; pickets 26 and 37 stand over its last inches and need 70 in."""
    plan = taper_job(tmp_path, stock((70, 3.0)))
    (run,) = plan.runs
    assert (run.boards.unserved.nonzero()[0] + 1).tolist() == list(range(27, 37))
    assert run.cuts.kept[[25, 36]].tolist() == [560, 560]
    assert plan.stock.used.tolist() == [40]


def test_a_board_over_the_end_of_a_fill_has_one_length_everywhere(tmp_path: Path) -> None:
    plan = taper_job(tmp_path, stock((70, 3.0), (96, 8.0)))
    (run,) = plan.runs
    assert plan.stock.used.tolist() == [40, 10]
    told = as_json(plan)
    lengths = [p["length"] for p in told["runs"][0]["pickets"]]
    assert lengths[25] == lengths[36] == 70
    boards = told["cutting"]["pickets"]["boards"]
    assert Counter(lengths) == Counter(x for b in boards for x in b["pieces"] * b["count"])
    assert [row[3] for row in cut_chart_data(plan).rows] == lengths
    saw: Counter[float] = Counter()
    rows: Any = saw_list(plan, 0).rows
    for row in rows:
        saw[row[0]] += row[5]
    sure = [p["length"] for p in told["runs"][0]["pickets"] if "mark in place" not in p["flags"]]
    assert saw == Counter(sure)
    assert float(run.cuts.gap[25]) == pytest.approx(2 + 6 / 7)


def test_two_rows_of_pickets_share_their_soil(tmp_path: Path) -> None:
    """Section 12 x 4 + 3 x 16 = 96 sq in under 178 in of fence, whichever row's board stands over it."""
    plan = planned(
        tmp_path,
        STEP,
        '[top]\nleast_height = "72 in"\n[pickets]\nwidth = "6 in"\nspacing = "2 in"\npattern = "shadowbox"\n'
        f'clearance = "2 in"\nmost_gap = "3 in"\n{stock((70, 3.0))}{SOIL}end_slope = 0\n',
    )
    (fill,) = plan.runs[0].closing.fills
    assert fill.end - fill.start == pytest.approx(178)
    assert plan.low_ground.bill.compacted * 1728 == pytest.approx(96 * 178, rel=1e-4)
