"""A fence resumed from where its last board really ends."""

import importlib.util
import sys
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hollow import HOLLOW, a_job
from msgspec import structs

from fencegrade.building.record import with_lists
from fencegrade.building.resume import Resumed, record_to_keep, resume_fence
from fencegrade.building.resume_ask import named_run, read_ask
from fencegrade.fence.pickets.relay import RelayKind
from fencegrade.job.as_built import (
    AsBuilt,
    BuiltRun,
    MeasuredGround,
    PostSet,
    built_text,
    parse_as_built,
)
from fencegrade.job.read import Job, read_job
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan, plan_fence
from fencegrade.problems import JobMistakesError
from fencegrade.sheets.screen.resume_text import board_table, change_table, resume_lines
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Truths

GATE = '[[run.gate]]\nstation = "16 ft"\nwidth = "4 ft"'


def resumed(job: Job, plan: FencePlan, after: int, beyond: float = 0.0, **texts: str) -> Resumed:
    at = float(plan.runs[0].slots.right[after - 1]) + beyond
    return resume_fence(job, read_ask(job, after=after, texts={"at": f"{at!r} in", **texts}))


def test_boards_up_stay_and_the_rest_fills_the_run_within_the_limit(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    plan = plan_fence(job)
    found = resumed(job, plan, 30, 1.0)
    again = found.again
    assert again is not None
    assert found.new.slots.right[29] == pytest.approx(plan.runs[0].slots.right[29] + 1.0)
    assert found.new.slots.right[-1] == pytest.approx(480.0)
    assert np.abs(np.diff(np.append(again.gap, again.relay.gaps))).max() <= 0.125 + 1e-9


def test_pickets_past_a_gate_are_counted_on(tmp_path: Path) -> None:
    job = a_job(tmp_path, run=GATE)
    plan = plan_fence(job)
    found = resumed(job, plan, 10, 4.5, width="5-1/2 in")
    first = int((plan.runs[0].slots.right <= 192.0 + 1e-6).sum())
    assert len(found.new.slots) == len(plan.runs[0].slots) - 1
    assert found.new.slots.left[first - 1 :] == pytest.approx(plan.runs[0].slots.left[first:])
    assert found.planned_number(11) == 11
    assert found.planned_number(first) == first + 1
    assert found.planned_number(first - 1) == first - 1


def test_what_is_to_be_bought_is_told_as_the_buying_list_has_it(tmp_path: Path) -> None:
    """Pickets of the gate come from the same pile, and so do the spares of both: the table counts them, and
    so does the warning."""
    job = a_job(tmp_path, run=GATE, pickets="spare = 0.1")
    ask = read_ask(job, after=0, left=["6 ft:20", "8 ft:30"])
    found = resume_fence(job, ask)
    rows: list[list[Any]] = [list(row) for row in board_table(found).rows]
    bought = Counter({row[0]: row[5] for row in rows})
    lines = [x for x in buying_list(found.after).lines if x.part in ("pickets", "gate pickets")]
    assert len({x.part for x in lines}) == 2
    wanted: Counter[float | None] = Counter()
    for line in lines:
        wanted[line.length] += int(line.to_buy)
    assert bought == wanted
    assert all(row[4] - row[6] + row[5] - row[3] == row[2] == row[1] for row in rows)
    assert sum(row[3] for row in rows) >= 0.1 * sum(line.need for line in lines)
    assert f"than are needed with the spares: {sum(bought.values())} more" in " ".join(
        map(str, found.problems)
    )


def test_two_rows_keep_their_numbers_where_boards_past_a_gate_are_fewer(tmp_path: Path) -> None:
    """Wider boards past the gate are fewer; those of the stretch laid again are still met one by one."""
    job = a_job(tmp_path, run=GATE, pickets='pattern = "shadowbox"\nspacing = "2 in"\n')
    plan = plan_fence(job)
    found = resumed(job, plan, 47, 0.1, width="5-3/4 in")
    rows = [tuple(row) for row in change_table(found).rows]
    past = 47 + found.relaid
    assert len(found.new.slots) < len(plan.runs[0].slots)
    assert found.again is not None
    assert found.relaid == found.again.replaced
    assert [row[1] for row in rows[: found.relaid]] == list(range(48, past + 1))
    assert sorted(row[1] for row in rows if row[1]) == list(range(48, len(plan.runs[0].slots) + 1))
    said = " ".join(resume_lines(found))
    assert f"are now {past + 1}-{len(found.new.slots)}" in said


def test_a_width_no_tape_reads_is_told_with_what_it_comes_to_and_laid_everywhere(tmp_path: Path) -> None:
    """Thirty boards half an inch farther on: a sixtieth each, and a gap told by one rounding."""
    job = a_job(tmp_path)
    plan = plan_fence(job)
    found = resumed(job, plan, 30, 0.5)
    wide, again, said = found.new.slots.width, found.again, "\n".join(resume_lines(found))
    assert again is not None
    assert np.ptp(wide) < 1e-9
    assert wide[0] == pytest.approx(again.width) == pytest.approx(5.5 + 0.5 / 30)
    assert "boards run 5.517 in wide on average, planned 5.500 in: 1/2 in more over 30 boards" in said
    gap = plan.words.space(float(again.relay.gaps[-1]))
    assert f"  gap {gap} instead of " in said
    off = (float(Fraction(gap.removesuffix(" in"))) - float(again.relay.gaps[-1])) * len(again.relay)
    far = "too far" if off > 0 else "too near"
    assert f" (by a spacer of {gap} the last board comes {plan.words.space(abs(off))} {far})" in said
    assert {row[2] for row in change_table(found).written(plan.words)} == {gap}


def test_ways_told_by_one_gap_are_apart_by_where_their_spacer_ends(tmp_path: Path) -> None:
    """Many boards a little wider: other counts have the same gap to half a millimetre, not the same end."""
    job = a_job(tmp_path, pickets='spacing = "1-1/2 in"', survey="station [ft],drop [in]\n0,30\n400,30\n")
    found = resumed(job, plan_fence(job), 60, 0.6, width="5.51 in")
    _, _, rest = "\n".join(resume_lines(found)).partition("\nSet ")
    ways = [line.split(": ", 1)[-1].strip() for line in rest.split("\n\n")[0].split("\n")[1:]]
    assert len(ways) > 3
    assert sum(", as before (by a spacer of " in way for way in ways) > 1
    assert len(set(ways)) == len(ways)


@pytest.mark.parametrize("beyond", [-4.5, -0.2, 0.0, 4.5])
def test_every_picket_of_the_plan_is_met_once_or_falls_away(tmp_path: Path, beyond: float) -> None:
    job = a_job(tmp_path, run=GATE)
    plan = plan_fence(job)
    found = resumed(job, plan, 10, beyond)
    rows = [tuple(row) for row in change_table(found).rows]
    assert sorted(row[1] for row in rows if row[1] is not None) == list(
        range(11, len(plan.runs[0].slots) + 1)
    )
    assert [row[0] for row in rows if row[0] is not None] == list(range(11, len(found.new.slots) + 1))
    added = len(found.new.slots) - len(plan.runs[0].slots)
    assert sum(row[1] is None for row in rows) == max(0, added)
    assert added == {-4.5: 1, -0.2: 0, 0.0: 0, 4.5: -1}[beyond]


def test_nothing_left_to_set(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    plan = plan_fence(job)
    found = resumed(job, plan, len(plan.runs[0].slots), -0.2)
    assert found.again is not None
    assert found.again.relay.kind is RelayKind.NOTHING
    assert not found.new.layout.coming.any()
    assert not found.after.stock.bought.any()


def test_a_board_that_stands_with_no_length_the_tape_shows_is_on_no_list(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    up = '[[run]]\nname = "{}"\n[[run.picket]]\nnumber = 3\nfar_edge = "17 in"\nkept = "0.001 in"\n'
    built = parse_as_built(up.format(job.runs[0].name))
    plan = plan_fence(replace(job, built=built))
    (run,) = with_lists(built, plan).run
    listed = [n for cut in run.cut for n in cut.numbers]
    assert listed
    assert 3 not in listed
    assert all(cut.kept > 0 for cut in run.cut)


def test_what_is_kept_one_by_one_is_what_is_kept_at_once(tmp_path: Path) -> None:
    """Two edges kept on two days, the record written and read between: the fence of both written at once."""
    job = a_job(tmp_path, run=GATE)
    plan = plan_fence(job)
    first = record_to_keep(resumed(job, plan, 12, 0.6))
    read = parse_as_built(built_text(first, UnitSystem.IMPERIAL))
    assert read.of("lane side").top
    day = replace(job, built=read)
    mid = plan_fence(day)
    last = resumed(day, mid, 40, -0.4)
    second = parse_as_built(built_text(record_to_keep(last), UnitSystem.IMPERIAL))
    by_hand = replace(second, run=(replace(second.run[0], top=(), style=None),))
    for built in (second, by_hand):
        now = plan_fence(replace(job, built=built))
        assert now.runs[0].slots.left == pytest.approx(last.new.slots.left, abs=1e-9)
        assert now.runs[0].cuts.kept.tolist() == last.new.cuts.kept.tolist()
        assert now.runs[0].slots.right[:12] == pytest.approx(mid.runs[0].slots.right[:12], abs=1e-9)


@pytest.mark.parametrize(
    ("keys", "texts", "words"),
    [
        ({"after": 30}, {}, "at: the far edge of picket 30 was not measured"),
        ({}, {}, "after: it is not said how many pickets are up"),
        ({}, {"at": "3 ft"}, "after: it is not said how many pickets are up; say which picket ends there"),
        ({"after": 3, "run": "lane sdie"}, {"at": "2 ft"}, 'run: no run is called "lane sdie"; did you mean'),
        ({"after": 0}, {"at": "2 ft"}, "at: no picket is up, so none ends anywhere"),
        ({"after": 3}, {"at": "18 in", "limit": "-1 in"}, "limit: a limit is more than zero"),
        ({"after": 3}, {"at": "18 in", "gap": "-1 in"}, 'gap: "-1 in" cannot be'),
        ({"after": 3}, {"at": "18 in", "width": "0 in"}, 'width: "0 in" cannot be'),
        ({"after": 3, "left": ["6 ft:2", "72 in:1"]}, {"at": "18 in"}, "left: one length comes twice"),
        ({"after": 3, "left": ["six:2"]}, {"at": "18 in"}, "left: six cannot be read"),
        ({"after": 3, "left": ["6 ft"]}, {"at": "18 in"}, 'left: "6 ft" is no length with a count'),
    ],
)
def test_mistakes(tmp_path: Path, keys: dict[str, Any], texts: dict[str, str], words: str) -> None:
    with pytest.raises(JobMistakesError) as caught:
        read_ask(a_job(tmp_path), texts=texts, **keys)
    assert words in str(caught.value)


def test_several_runs_need_a_name(tmp_path: Path) -> None:
    job = a_job(tmp_path, rest='[[run]]\nname = "garden side"\nsurvey = "lane.csv"\n')
    with pytest.raises(JobMistakesError, match="the job has 2 runs; name one: lane side, garden side"):
        read_ask(job, after=3, texts={"at": "18 in"})
    found = resume_fence(job, read_ask(job, after=3, texts={"at": "18 in"}, run="garden side"))
    assert found.new.run.name == "garden side"
    assert not found.after.runs[0].flags or found.after.runs[0].layout.coming.all()


def test_builds_end_at_the_post_when_laid_again_at_every_bay() -> None:
    """Twenty builds of 96 ft, boards 0.02 in wider than planned and not alike, hands that err.

    By a spacer alone every one misses the post by inches; to the edges of the sheet, laid again at every
    post, every one ends within a mark of 1/8 in.
    """
    path = Path(__file__).parents[2] / "benchmarks" / "bench_build_simulation.py"
    spec = importlib.util.spec_from_file_location("bench_build_simulation", path)
    assert spec is not None
    assert spec.loader is not None
    bench = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = bench
    spec.loader.exec_module(bench)
    hands = bench.Hands(off=0.02, spread=0.02, laying=0.01)
    never = bench.ends(hands, 20, lambda: bench.never)
    spaced = bench.ends(hands, 20, bench.at_bays)
    taped = bench.ends(hands, 20, bench.at_bays, marked=True)
    assert np.abs(never).min() > 2.0
    assert np.abs(spaced).max() < 0.6
    assert np.abs(taped).max() <= 0.125


class TestListsAndPiles:
    """What was on the saw list stays what is cut, and a pile counted once goes down with what is hung."""

    @staticmethod
    def kept(job: Job, plan: FencePlan, after: int, beyond: float = 0.0, left: tuple[str, ...] = ()) -> Job:
        at = float(plan.runs[0].slots.right[after - 1]) + beyond
        ask = read_ask(job, after=after, texts={"at": f"{at!r} in"}, left=left)
        record = built_text(record_to_keep(resume_fence(job, ask)), job.units)
        return replace(job, built=parse_as_built(record))

    def test_no_board_changes_that_need_not(self, tmp_path: Path) -> None:
        """An edge an eighth off its plan, and a ground that turns out to lie a little lower past it: what
        stands keeps its lengths, and a board to come has another only where its own leaves its limits."""
        job = a_job(tmp_path, pickets='most_gap = "4 in"\n')
        plan = plan_fence(job)
        was = plan.runs[0].boards
        now = self.kept(job, plan, 30, 0.125)
        (tmp_path / "lane.csv").write_text(HOLLOW + "8,21.25\n22,28.5\n")
        again = plan_fence(replace(read_job(tmp_path), built=now.built)).runs[0]
        assert (again.boards.cuts.kept[:30] == was.cuts.kept[:30]).all()
        tail = slice(30, min(len(again.slots), len(was)))
        same = again.boards.cuts.kept[tail] == was.cuts.kept[tail]
        assert same.mean() > 0.8
        alone = plan_fence(replace(read_job(tmp_path), built=replace(now.built, run=(
            replace(now.built.run[0], cut=()),)))).runs[0]  # fmt: skip
        assert (alone.boards.cuts.kept[tail] == was.cuts.kept[tail]).mean() < same.mean()
        assert again.boards.cuts.gap[30:][again.doubt.from_chart[30:]].max() <= job.pickets.most_gap + 0.2

    @pytest.mark.parametrize("ends", ["pointed", "flat"])
    def test_a_pile_goes_down_by_what_went_up_since(self, tmp_path: Path, ends: str) -> None:
        job = a_job(tmp_path, pickets=f'top_end = "{ends}"\n')
        plan = plan_fence(job)
        first = self.kept(job, plan, 20, left=("6 ft:40", "8 ft:30"))
        before = plan_fence(first)
        second = self.kept(first, plan, 40)
        used = Counter(
            board.stock
            for board in before.families.pickets.traced()
            if {f"picket {k}" for k in range(21, 41)}.intersection(board.names)
        )
        assert sum(used.values()) == 20
        rows = {row.length: row.count for row in second.built.left or ()}
        assert rows == {72.0: 40 - used[576], 96.0: 30 - used[768]}
        assert self.kept(second, plan, 40).built.left == second.built.left
        counted, *_ = self.kept(first, plan, 40, left=("6 ft:7",)).built.left or ()
        assert counted.count == 7


@pytest.mark.parametrize("style", ["level", "sloped", "stepped", "racked", "contour"])
def test_the_line_kept_is_its_corners_in_short_figures_and_changes_nothing(
    tmp_path: Path, style: str
) -> None:
    """Points on the straight between others are not written, nor digits that no cut needs; posts, whose
    stations are no short figures, and rails are those planned before."""
    job = a_job(tmp_path, run=f'style = "{style}"', rest='[posts]\nspacing = "6 ft"\n')
    plan = plan_fence(job)
    built = record_to_keep(resumed(job, plan, 30))
    line, top = built.of("lane side").top, plan.runs[0].choice.top
    corners = np.unique([p.station for p in line])
    between = (corners[1:] + corners[:-1]) / 2
    read = structs.replace(
        top,
        stations=np.array([p.station for p in line]),
        elevations=np.array([p.elevation for p in line]),
    )
    assert np.abs(top.at(between) - read.at(between)).max() < 0.02
    assert len(line) <= len(top.stations)
    text = built_text(built, job.units).splitlines()
    assert max(len(row.split('"')[1]) for row in text if row.startswith("elevation")) <= 10
    kept = plan_fence(replace(job, built=built))
    assert np.array_equal(kept.runs[0].cuts.kept, plan.runs[0].cuts.kept)
    assert np.array_equal(kept.runs[0].stock[30:], plan.runs[0].stock[30:])
    assert kept.runs[0].posts.top == pytest.approx(plan.runs[0].posts.top, abs=0.02)
    assert kept.runs[0].rail_pieces.length == pytest.approx(plan.runs[0].rail_pieces.length, abs=0.001)


STEEP = "station [ft],drop [in]\n0,10\n8,30\n16,35\n20,52\n26,75\n34,80\n40,99\n"


@pytest.mark.parametrize("style", ["stepped", "contour"])
def test_what_stands_is_taped_as_the_sheets_are_where_the_survey_lay_along_the_slope(
    tmp_path: Path, style: str
) -> None:
    """One ruler: edge, post, board measured in place and the line kept, where the plan tells them."""
    job = a_job(tmp_path, STEEP, run=f'style = "{style}"\nstations_taped = "along the slope"\n')
    plan = plan_fence(job)
    (run,) = plan.runs
    assert run.end < 478  # in, of 480 taped
    posts = tuple(PostSet(number=k + 1, station=float(x)) for k, x in enumerate(run.posts.station[:4]))
    on_board = MeasuredGround(number=50, drop=(40.0,), left_edge=float(run.slots.left[50]), confirmed=True)
    with_posts = AsBuilt(run=(BuiltRun(name="lane side", post=posts, measured=(on_board,)),))
    found = resumed(replace(job, built=with_posts), plan, 30)
    assert found.again is None
    assert not found.doubts
    assert found.at == run.slots.right[29]
    record = built_text(record_to_keep(found), job.units)
    (again,) = plan_fence(replace(job, built=parse_as_built(record))).runs
    assert again.posts.station == pytest.approx(run.posts.station, abs=1e-9)
    assert again.slots.left == pytest.approx(run.slots.left, abs=1e-9)
    assert np.flatnonzero(again.layout.measured).tolist() == [50], "the board that stands there, by its edge"
    same = np.abs(np.arange(len(run.slots)) - 50) > 20  # beyond the readings beside it
    assert np.array_equal(again.cuts.kept[same], run.cuts.kept[same])
    assert again.cuts.top == pytest.approx(run.cuts.top, abs=0.02)


@pytest.mark.parametrize("settings", ["fewest", "every length"])
@pytest.mark.parametrize("after", [7, 20, 41])
def test_boards_of_two_pickets_keep_their_cuts_and_what_they_took_of_the_pile(
    tmp_path: Path, settings: str, after: int
) -> None:
    """Pickets shortened so that two share a board are on the list so, and stay so with the first ones up; so
    do those of a run that is not begun."""
    keys = f'top_end = "flat"\nmost_gap = "4 in"\nstop_settings = "{settings}"\n'
    back = '[[run]]\nname = "back"\nsurvey = "lane.csv"\nstyle = "racked"\n[top]\nleast_height = "38 in"\n'
    job = a_job(tmp_path, pickets=keys, run='style = "contour"', rest=back)
    piled = tuple(replace(s, on_hand=n) for s, n in zip(job.pickets.stock, (15, 9), strict=True))
    job = replace(job, pickets=replace(job.pickets, stock=piled))
    plan = plan_fence(job)
    run, other = plan.runs
    assert (run.boards.needs.full - run.cuts.kept).max() > 2
    ask = read_ask(
        job, after=after, run="lane side", texts={"at": f"{float(run.slots.right[after - 1])!r} in"}
    )
    found = resume_fence(job, ask)
    kept = plan_fence(replace(job, built=record_to_keep(found)))
    for now, before, first in zip(kept.runs, (run, other), (after, 0), strict=True):
        assert now.cuts.kept.tolist() == before.cuts.kept.tolist()
        assert now.doubt.from_chart[first:].tolist() == before.doubt.from_chart[first:].tolist()
    sawn = record_to_keep(found)
    none_up = replace(sawn, run=tuple(replace(r, picket=(), top=()) for r in sawn.run))
    first_sawn = plan_fence(replace(job, built=none_up)).runs[0]
    assert first_sawn.cuts.kept.tolist() == run.cuts.kept.tolist(), "sawn before the first one is hung"
    (number, *_) = none_up.run[0].cut[0].numbers
    for less, held in ((2, 2), (60, 0)):
        shorter = replace(none_up.run[0].cut[0], kept=none_up.run[0].cut[0].kept - less * job.tape)
        again = replace(none_up, run=(replace(none_up.run[0], cut=(shorter,)), *none_up.run[1:]))
        cut = plan_fence(replace(job, built=again)).runs[0].cuts.kept[number - 1]
        assert (cut == run.cuts.kept[number - 1] - less) == (held == less), "as far as the gap allows it"
    up = np.arange(len(run.slots) + len(other.slots)) < after
    cut = plan.families.pickets
    started, done = cut.boards_with(up), cut.boards_given(up)
    begun = [a - b for a, b in zip(started, done, strict=True)]
    left = [max(0, s.on_hand - n) for s, n in zip(piled, started, strict=True)]
    assert [s.on_hand for s in kept.families.pickets.offered] == [
        n + b for n, b in zip(left, begun, strict=True)
    ]
    assert [row[4] for row in board_table(found).rows] == left
    listed, mine = (begun_boards(p, after) for p in (plan, kept))
    assert (mine, len(mine)) == (listed, sum(begun)), "what is cut in part goes on as it was to be cut"
    assert any(begun)
    all_there = tuple(replace(s, on_hand=int(n)) for s, n in zip(piled, plan.stock.used, strict=True))
    job = replace(job, pickets=replace(job.pickets, stock=all_there))
    anew = plan_fence(replace(job, built=sawn))
    assert anew.first is not None
    assert anew.first.known or not any(anew.families.pickets.begun)
    lacking = int(anew.stock.bought.sum())
    assert lacking <= (0 if anew.first.known else 1), "of boards cut in part that are not known one at most"


@pytest.mark.parametrize("settings", ["fewest", "every length"])
@pytest.mark.parametrize("after", [7, 20, 41])
def test_a_pile_counted_once_has_the_boards_that_were_not_begun(
    tmp_path: Path, settings: str, after: int
) -> None:
    """Of boards that give two: those bought by the list are enough, and none is thought there that is not."""
    keys = f'top_end = "flat"\nmost_gap = "4 in"\nstop_settings = "{settings}"\n'
    back = '[[run]]\nname = "back"\nsurvey = "lane.csv"\nstyle = "racked"\n[top]\nleast_height = "38 in"\n'
    job = a_job(tmp_path, pickets=keys, run='style = "contour"', rest=back)
    plan = plan_fence(job)
    for up in (after, after + 1, after + 9):
        pile = pile_after(plan, np.arange(plan.picket_count) < up)
        left = [f"{s.length:g} in:{n}" for s, n in zip(plan.stock.offered, pile, strict=True)]
        texts = {"at": f"{float(plan.runs[0].slots.right[up - 1])!r} in"}
        ask = read_ask(job, after=up, run="lane side", left=left if up == after else [], texts=texts)
        later = resume_fence(job, ask)
        assert [row.count for row in later.ask.built.left or ()] == pile
        assert not later.after.stock.bought.any()
        job = replace(job, built=record_to_keep(later))


def begun_boards(plan: FencePlan, up: int) -> list[tuple[int, list[str]]]:
    """Stock and pickets of every board that gave some of the first run's pickets up and has others."""
    names = {f"lane side picket {k + 1}" for k in range(up)}
    boards = [(b.stock, sorted(b.names)) for b in plan.families.pickets.traced()]
    return sorted(b for b in boards if names & set(b[1]) and not names >= set(b[1]))


def pile_after(plan: FencePlan, up: Truths) -> list[int]:
    """Boards of each length that are not begun when some pickets are up."""
    started = plan.families.pickets.boards_with(up)
    return [int(n) - taken for n, taken in zip(plan.stock.used, started, strict=True)]


@pytest.mark.parametrize("after", [20, 38])
def test_boards_cut_by_their_list_get_boards_as_long_from_the_pile_as_counted(
    tmp_path: Path, after: int
) -> None:
    """Longer boards of the pile went to pickets a shorter one would do for; they are cut and for no gate."""
    rest = '[top]\nleast_height = "71 in"\n'
    job = a_job(tmp_path, run=GATE, pickets='most_gap = "5 in"\n', rest=rest)
    piled = tuple(replace(s, on_hand=n) for s, n in zip(job.pickets.stock, (0, 24), strict=True))
    job = replace(job, pickets=replace(job.pickets, stock=piled))
    plan = plan_fence(job)
    families = [f for f in (plan.families.pickets, plan.families.gate_pickets) if f is not None]
    all_of = np.sum([f.counts(there) for f in families for there in (True, False)], axis=0)
    up = plan.families.pickets.boards_with(np.arange(len(plan.runs[0].slots)) < after)
    left = [f"{s.length:g} in:{n}" for s, n in zip(piled, (all_of - up).tolist(), strict=True)]
    at = f"{float(plan.runs[0].slots.right[after - 1])!r} in"
    ask = read_ask(job, after=after, left=left, texts={"at": at})
    again = plan_fence(replace(job, built=record_to_keep(resume_fence(job, ask))))
    assert again.runs[0].cuts.kept.tolist() == plan.runs[0].cuts.kept.tolist()
    assert not again.stock.bought.any()


def test_points_on_a_straight_are_not_written(tmp_path: Path) -> None:
    (tmp_path / "even").mkdir()
    job = a_job(tmp_path / "even", run='style = "contour"')
    (tmp_path / "even" / "lane.csv").write_text("station [ft],drop [in]\n0,20\n10,25\n20,30\n30,35\n40,40\n")
    job = read_job(tmp_path / "even")
    plan = plan_fence(job)
    assert len(plan.runs[0].choice.top.stations) > 50
    line = record_to_keep(resumed(job, plan, 30)).of("lane side").top
    assert [p.station for p in line] == [0.0, 480.0]


def test_rows_added_at_the_end_of_the_record_are_of_the_run_being_built(tmp_path: Path) -> None:
    other = '[[run]]\nname = "back"\nsurvey = "lane.csv"\n'
    job = a_job(tmp_path, rest=other)
    plan = plan_fence(job)
    for name, edges in ((job.runs[k].name, plan.runs[k].slots.right) for k in (0, 1, 0)):
        ask = read_ask(job, after=9, run=name, texts={"at": f"{float(edges[8])!r} in"})
        built = record_to_keep(resume_fence(job, ask))
        text = built_text(built, UnitSystem.IMPERIAL) + '\n[[run.measured]]\nnumber = 20\ndrop = "60 in"\n'
        again = parse_as_built(text)
        assert [len(again.of(r.name).measured) for r in again.run] == [0] * (len(again.run) - 1) + [1]
        assert again.of(name).measured
        begun = {r.name for r in built.run if r.picket}
        assert {r.name for r in built.run if r.cut} == begun, "of no other is it known that a board is cut"
        job = replace(job, built=built)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({}, ["after: it is not said how many pickets are up; say how many, or write them in built.toml"]),
        (
            {"texts": {"at": "60 in"}},
            ["after: it is not said how many pickets are up; say which picket ends there"],
        ),
        ({"after": -1}, ["after: -1 pickets cannot be up; write how many are"]),
        (
            {"after": 0, "texts": {"at": "60 in"}},
            [
                "at: no picket is up, so none ends anywhere; where the first post stands elsewhere, write "
                "[[run.post]] in built.toml"
            ],
        ),
        (
            {"after": 5},
            ["at: the far edge of picket 5 was not measured; say its station from the start of the run"],
        ),
        ({"after": 0}, []),
        ({"after": 5, "texts": {"at": "29 in", "gap": "0 in"}}, []),
        (
            {"after": 5, "texts": {"at": "29 in", "limit": "0 in"}},
            ['limit: a limit is more than zero; write such as "1/8 in"'],
        ),
        (
            {"after": 5, "texts": {"at": "29 in", "gap": "-1/8 in", "width": "0 in"}},
            [
                'gap: "-1/8 in" cannot be; check the number and its sign',
                'width: "0 in" cannot be; check the number and its sign',
            ],
        ),
        (
            {"after": 5, "texts": {"at": "29 in"}, "left": ["6 ft", "6 ft:x", "0 ft:3", "8 ft:10000001"]},
            [
                'left: "6 ft" is no length with a count; write such as "6 ft:14" for 14 boards of 6 ft',
                'left: "6 ft:x" is no length with a count; write such as "6 ft:14" for 14 boards of 6 ft',
                'left: "0 ft" cannot be; check the number and its sign',
                'left: "8 ft:10000001" is no length with a count; write such as "6 ft:14" for 14 boards of 6 '
                "ft",
            ],
        ),
        (
            {"after": 5, "texts": {"at": "29 in"}, "left": ["6 ft:2", "72 in:3"]},
            ["left: one length comes twice; add the two up"],
        ),
        ({"run": "pond", "after": 0}, ['run: no run is called "pond"; known here: lane side']),
    ],
)
def test_what_is_said_of_the_last_picket_up(tmp_path: Path, asked: dict[str, Any], told: list[str]) -> None:
    job = a_job(tmp_path)
    try:
        read_ask(job, **asked)
        found = []
    except JobMistakesError as error:
        found = [str(p) for p in error.problems]
    assert found == told


def test_what_was_not_said_is_assumed(tmp_path: Path) -> None:
    job = a_job(tmp_path)
    asked = read_ask(job, after=5, texts={"at": "29 in"})
    assert asked.assumed == (
        ("left", "not counted: every board to come is listed as to buy"),
        ("limit", "1/8 in"),
    )
    assert not asked.counted
    full = read_ask(job, after=5, texts={"at": "29 in", "limit": "1/4 in"}, left=["8 ft:3", "6 ft: 10000000"])
    assert full.assumed == ()
    assert full.counted
    assert full.built.left is not None
    assert [(row.length, row.count) for row in full.built.left] == [(72.0, 10_000_000), (96.0, 3)]
    assert full.built.of("lane side").limit == 0.25
    stock = tuple(replace(s, on_hand=2) for s in job.pickets.stock)
    held = replace(job, pickets=replace(job.pickets, stock=stock))
    assert read_ask(held, after=0).assumed[0] == (
        "left",
        "not counted: those on hand in the job file, less what the list gave to the pickets that are up",
    )
    known = replace(job, built=asked.built)
    with pytest.raises(JobMistakesError, match="but 4 are said to be"):
        read_ask(known, after=4)
    again = read_ask(known, after=5, texts={"at": "29-1/4 in"}).built.of("lane side").picket
    assert [(p.number, p.far_edge) for p in again] == [(5, 29.25)]


def test_one_of_several_runs_is_named() -> None:
    names = [f"run {k}" for k in range(1, 12)]
    index, (told,) = named_run(names, None)
    assert (index, str(told)) == (0, f"run: the job has 11 runs; name one: {', '.join(names[:10])}")
    assert named_run(names, "run 3") == (2, [])
    assert named_run(names[:1], None) == (0, [])
