"""What is told at a threshold and on both sides of it."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hollow import a_job
from msgspec.structs import replace

from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.table import TopStyle
from fencegrade.planning.plan import FencePlan, RunPlan, plan_fence
from fencegrade.sheets.cautions import TALL
from fencegrade.sheets.facts import (
    from_to,
    height_words,
    run_facts,
    space_sizes,
    space_words,
    spacers,
    tops_words,
    under_or_over,
)
from fencegrade.sheets.hanging import bays_to_hang, step_at_a_post
from fencegrade.sheets.page.views import _where
from fencegrade.sheets.paper.hang import counted_from
from fencegrade.sheets.plan_cautions import cautions
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

MakePlan = Callable[..., FencePlan]
WORDS = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")


def with_cuts(plan: FencePlan, **arrays: Any) -> FencePlan:
    """The plan with other figures of its cuts, one each for all pickets or (n,)."""
    run = plan.runs[0]
    full = {k: np.broadcast_to(np.asarray(v, dtype=float), len(run.slots)) for k, v in arrays.items()}
    cuts = replace(run.cuts, **full)
    return replace(plan, runs=(replace(run, boards=replace(run.boards, cuts=cuts)),))


def spaced(run: RunPlan, gaps: Sequence[float], posts: Sequence[int] = ()) -> RunPlan:
    """The run with pickets 5 in wide so far apart, and posts over some of those spaces, counted from 0."""
    left = np.concatenate([[0.0], np.cumsum(np.asarray(gaps) + 5.0)])
    slots = Slots(left=left, right=left + 5.0)
    at = np.array([slots.right[k] + gaps[k] / 2 for k in posts])
    none = np.zeros(len(left), dtype=int)
    layout = replace(run.layout, style=TopStyle.STEPPED, slots=slots, row=none, standing=None)
    return replace(run, layout=layout, posts=replace(run.posts, station=at))


def test_a_fence_is_tall_over_six_feet(make_plan: MakePlan) -> None:
    plan = make_plan()
    for tallest, tall in ((71.9, False), (72.0, False), (72.01, True)):
        told = [c.short for c in cautions(with_cuts(plan, tallest=tallest))]
        assert (TALL.short in told) == tall


def test_spaces_by_stretches_up_to_four_of_them(make_plan: MakePlan) -> None:
    run = make_plan().runs[0]

    def told(*gaps: float) -> str:
        return space_words(spaced(run, [g for g in gaps for _ in (0, 1)]), WORDS)

    assert told(0.5) == "1/2 in"
    assert told(0.5, 1) == "1/2 in (1-3), 1 in (3-5)"
    assert told(0.5, 0.5 + 1 / 128, 0.5) == "1/2 in"
    assert told(0.5, 1, 1.5, 2) == "1/2 in (1-3), 1 in (3-5), 1-1/2 in (5-7), 2 in (7-9)"
    assert told(0.5, 1, 1.5, 2, 0.5) == f"{told(0.5, 1, 1.5, 2)} and 1 more"
    assert told() == space_sizes(spaced(run, []), WORDS) == "none"


def test_sizes_of_spaces_up_to_four_of_them(make_plan: MakePlan) -> None:
    run = make_plan().runs[0]

    def told(*gaps: float) -> str:
        return space_sizes(spaced(run, [g for g in gaps for _ in (0, 1)]), WORDS)

    assert told(2, 0.5, 1, 2, 1.5) == "2 in, 1/2 in, 1 in, 1-1/2 in"
    assert told(2, 0.5, 1, 1.5, 0.75) == "1/2 in to 2 in, 5 sizes"
    two_rows = spaced(run, [0.5, 0.5])
    two_rows = replace(two_rows, layout=replace(two_rows.layout, row=np.array([0, 1, 0])))
    assert space_sizes(two_rows, WORDS) == space_words(two_rows, WORDS) == "6 in in each row"


def test_where_bays_meet_the_space_left_is_told_at_up_to_four_posts(make_plan: MakePlan) -> None:
    run = make_plan().runs[0]

    def told(*meet: float) -> str:
        gaps, posts = [0.5, 0.5], list[int]()
        for gap in meet:
            posts.append(len(gaps))
            gaps += [gap, 0.5, 0.5]
        return space_words(spaced(run, gaps, posts), WORDS).partition("; ")[2]

    assert told(0.25) == "1/4 in at 1' 4-1/8\", where two bays meet"
    assert told(0.25, 0.25) == "1/4 in at 1' 4-1/8\", 2' 8-3/8\", where two bays meet"
    assert told(0.25, 1) == ""
    assert told(*[0.25] * 4).count("'") == 4
    assert told(*[0.25] * 5) == "1/4 in at 5 posts, where two bays meet"
    assert told(1 / 65).startswith("boards touch at ")
    assert told(1 / 64).startswith("1/32 in at ")


def test_a_spacer_is_cut_for_more_than_a_mark_the_one_used_most_first(make_plan: MakePlan) -> None:
    run = make_plan().runs[0]
    assert spacers(spaced(run, [0.5, 0.5, 1, 1, 1, 2, 0.5, 2, 2]), WORDS) == ["1 in", "1/2 in", "2 in"]
    assert spacers(spaced(run, [1 / 32, 1 / 32]), WORDS) == []
    assert spacers(spaced(run, [3 / 64, 3 / 64]), WORDS) == ["1/16 in"]


def test_under_is_half_a_mark_below_or_more() -> None:
    assert [under_or_over(x, WORDS) for x in (1.0, 0.0, -1 / 32, -0.0313)] == ["over"] * 3 + ["under"]


def test_heights_over_the_ground_and_what_they_are_held_against(make_plan: MakePlan) -> None:
    plan = make_plan(top='least_height = "70 in"')
    count = len(plan.runs[0].slots)

    def told(least: float, most: float, plan: FencePlan = plan) -> str:
        low = np.full(count, 75.0)
        low[2:4] = least
        flagged = with_cuts(plan, height=low, tallest=most)
        run = flagged.runs[0]
        flags = {**run.flags, PicketFlag.OVER_HEIGHT: np.full(count, most > 78.0)}
        flagged = replace(flagged, runs=(replace(run, flags=flags),))
        return height_words(flagged, run_facts(flagged, flagged.runs[0]), WORDS)

    assert told(70.0, 76.0) == "5' 10\" to 6' 4\"; within the limit of 6' 6\""
    assert told(75.0, 75.0) == "6' 3\" throughout; within the limit of 6' 6\""
    assert told(69.9375, 76.0).startswith("5' 10\" to 6' 4\"; within")
    assert told(69.93, 76.0) == (
        "5' 9-7/8\" to 6' 4\"; 2 pickets under the 5' 10\" asked: 3-4; within the limit of 6' 6\""
    )
    assert told(70.0, 79.0) == f"5' 10\" to 6' 7\"; {count} pickets over the limit of 6' 6\""
    assert from_to(70.0, 70.03, WORDS) == "5' 10\" throughout"


def test_tops_over_the_string(make_plan: MakePlan, monkeypatch: pytest.MonkeyPatch) -> None:
    run = make_plan(style="contour").runs[0]

    def told(*over: float) -> str:
        monkeypatch.setattr("fencegrade.sheets.facts.pickets_over_line", lambda _: np.array(over))
        return tops_words(run, WORDS)

    assert told(8.0, 9.5, np.nan) == "8 in to 9-1/2 in over the string"
    assert told(8.0, 8.03) == "8 in over the string"
    assert told(-8.0, -9.5) == "8 in to 9-1/2 in under the string"
    assert told(-2.0, 3.0) == "2 in under to 3 in over the string"
    assert told(np.nan) == "no string hung along these pickets"


def test_no_height_is_told_over_a_string_where_none_hung(tmp_path: Path) -> None:
    """Two strings with a stretch between them, in which a post stands and boards hang."""
    strings = "".join(
        f'[[run.string]]\nid = "{name}"\nstart = "{start} ft"\nend = "{end} ft"\nheight = "0 in"\n'
        for name, start, end in (("A", 0, 16), ("B", 26, 40))
    )
    rows = "0,20,A\n8,21,A\n16,22,A\n26,22,B\n34,21,B\n40,20,B\n"
    plan = plan_fence(a_job(tmp_path, f"station [ft],drop [in],string\n{rows}", run=strings))
    (run,) = plan.runs
    between = (run.slots.centre > 192) & (run.slots.centre < 312)
    assert between.any()
    assert [len(told) == 1 for told in _where(run, plan.words)] == between.tolist()
    assert not step_at_a_post(run, bays_to_hang(plan, 0), plan.words.fine_mark)


@pytest.mark.parametrize(
    ("start", "told"), [(0.0, True), (-0.2 / 25.4, True), (0.6 / 25.4, False), (96.0, False)]
)
def test_edges_count_from_the_run_s_start_where_the_tape_reads_nought(
    make_plan: MakePlan, start: float, told: bool
) -> None:
    """A point put on the line of its run may lie before it by less than a tape shows."""
    run = make_plan().runs[0]
    run = replace(run, layout=replace(run.layout, start=start))
    words = Words.of_readings(UnitSystem.METRIC)
    assert counted_from(run, words) == ("the run's start" if told else "station 0 of the survey")
