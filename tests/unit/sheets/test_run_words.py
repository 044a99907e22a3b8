"""Gates, patterns, corners, wind and concrete in words."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from fencegrade.fence.pickets.patterns import DEFINITIONS
from fencegrade.job.choices import Pattern
from fencegrade.job.read import Job
from fencegrade.planning.plan import plan_fence
from fencegrade.planning.run import RunPlan
from fencegrade.sheets.gates_and_wind_json import gate_records
from fencegrade.sheets.run_words import (
    concrete_lines,
    corner_lines,
    frame_lines,
    gate_lines,
    gate_table,
    leaf_space_words,
    least_overlap,
    pattern_lines,
    wind_lines,
)
from fencegrade.sheets.tables import Table
from fencegrade.units import parse_length
from fencegrade.units.words import Words

WriteJob = Callable[..., Job]

LANE = "station [ft],drop [in]\n0,20\n6,20\n10,24\n14,30\n18,22\n24,20\n"
GATE = '[[run.gate]]\nstation = "8 ft"\nwidth = "4 ft"\nslope_across = "6 %"'
CORNER = {
    "west": "station [ft],elevation [in]\n0,0\n8,3\n16,8\n",
    "north": ("station [ft],elevation [in]\n0,8\n8,2\n16,-12\n", 'join = "west"'),
}


def records(table: Table) -> list[dict[str, Any]]:
    return [dict(zip(table.heads, row, strict=True)) for row in table.rows]


def leaves_fill_the_opening(run: RunPlan, words: Words) -> bool:
    """Whether leaves and the spaces beside them, in words as in JSON, make up the opening."""
    (plan,), (gate,) = run.layout.gates, gate_records(run, words)
    told = re.findall(r"([\d/-]+ in)", leaf_space_words(plan, words))
    leaf, hinges, latch = (parse_length(text) for text in told)
    for hung in gate["hung"]:
        assert (hung["width"], hung["space_at_hinge"], hung["space_at_latch"]) == (leaf, hinges, latch)
    return bool(len(plan.chosen) * (leaf + hinges) + latch == gate["end"] - gate["start"])


class TestGates:
    def test_every_way_to_hang_it_and_one_chosen(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=(LANE, GATE)))
        rows = records(gate_table(plan))
        assert len(rows) == 8
        assert len({(r["hinge at"], r["opens to"], r["bottom"]) for r in rows}) == 8
        (chosen,) = [r for r in rows if r["chosen"]]
        heights = [max(r["over ground at hinge"], r["over ground at latch"]) for r in rows]
        assert heights == sorted(heights)
        assert max(chosen["over ground at hinge"], chosen["over ground at latch"]) == heights[0]

    def test_two_leaves_hang_on_their_own_posts(self, write_job: WriteJob) -> None:
        keys = '[[run.gate]]\nstation = "8 ft"\nwidth = "8 ft"\nleaves = 2'
        plan = plan_fence(write_job(lane=(LANE, keys)))
        rows = records(gate_table(plan))
        assert {(r["leaf"], r["hinge at"]) for r in rows} == {(1, "nearer the start"), (2, "nearer the end")}
        assert sum(r["chosen"] is not None for r in rows) == 2
        (told,) = gate_lines(plan.runs[0], Words.of(plan.job.job))
        assert told.count("leaf hinged nearer") == 2
        assert leaves_fill_the_opening(plan.runs[0], plan.words)

    def test_the_screen_says_how_to_hang_it(self, write_job: WriteJob) -> None:
        plan = plan_fence(write_job(lane=(LANE, GATE)))
        (told,) = gate_lines(plan.runs[0], Words.of(plan.job.job))
        (frame,) = frame_lines(plan)
        assert "up to the top at the latch" in frame
        assert "before its ends are cut" in frame
        assert told.startswith("  gate 1, 4' 0\" wide at 8' 0\": a ")
        assert "leaf hinged nearer the" in told
        assert leaves_fill_the_opening(plan.runs[0], plan.words)

    def test_a_frame_is_told_as_its_pieces_are_cut(self, write_job: WriteJob) -> None:
        """Every length of the frame in words is one that the list of boards cuts, on ground that falls."""
        plan = plan_fence(write_job(lane=("station [ft],elevation [in]\n0,30\n40,-4\n", GATE)))
        (frame,) = frame_lines(plan)
        words = plan.words
        cut: dict[str, str] = {}
        for board in plan.families.rails.traced():
            for piece, name in zip(board.pieces, board.names, strict=True):
                cut[name] = words.length(piece * plan.mark)
        for name, text in (("hinge stile", "stiles"), ("latch stile", "and"), ("brace", "brace")):
            assert f"{text} {cut[f'leaf 1 {name}']} " in frame
        assert f"rails {cut['leaf 1 rail 1']}," in frame
        assert cut["leaf 1 hinge stile"] != cut["leaf 1 latch stile"]


class TestPatterns:
    def test_side_by_side_needs_no_words(self, write_job: WriteJob) -> None:
        assert list(pattern_lines(plan_fence(write_job()))) == []

    def test_overlap_and_angle_of_a_shadowbox(self, write_job: WriteJob) -> None:
        """5-1/2 in pickets 2-1/2 in apart overlap 1-1/2 in; over a 1-1/2 in rail that hides 45 degrees."""
        level = "station [in],elevation [in]\n0,0\n100,0\n213.5,0\n"
        plan = plan_fence(write_job(pickets='pattern = "shadowbox"\nspacing = "2-1/2 in"', lane=level))
        assert least_overlap(plan) == pytest.approx(1.5)
        assert list(pattern_lines(plan)) == [
            DEFINITIONS[Pattern.SHADOWBOX],
            "  pickets of the two rows overlap by 1-1/2 in or more, before they dry",
            "  nobody sees through from less than 45.0 deg off straight on",
        ]

    def test_board_on_board_is_closed(self, write_job: WriteJob) -> None:
        level = "station [in],elevation [in]\n0,0\n100,0\n213.5,0\n"
        plan = plan_fence(write_job(pickets='pattern = "board on board"\nspacing = "2-1/2 in"', lane=level))
        lines = list(pattern_lines(plan))
        assert lines[0].startswith("Board on board: two rows on the same face")
        assert len(lines) == 2

    def test_rows_too_far_apart_leave_a_view(self, write_job: WriteJob) -> None:
        level = "station [in],elevation [in]\n0,0\n100,0\n213.5,0\n"
        plan = plan_fence(write_job(pickets='pattern = "shadowbox"\nspacing = "7-1/2 in"', lane=level))
        assert least_overlap(plan) == pytest.approx(-1.0)
        assert list(pattern_lines(plan))[1] == "  the rows leave 1 in open to see straight through"

    @pytest.mark.parametrize(
        ("width", "spacing", "told"),
        [
            ("105-1/2 in", "4-1/2 in", "pickets of the two rows overlap by 1/2 in or more, before they dry"),
            ("104-1/2 in", "5-1/2 in", "the rows leave 0 in open to see straight through"),
        ],
    )
    def test_rows_that_just_overlap(self, write_job: WriteJob, width: str, spacing: str, told: str) -> None:
        """Over a rail an inch thick a half inch of overlap hides 26.6 degrees: atan(1/2)."""
        ends = float(width.split("-")[0].split(" ")[0]) + (0.5 if "1/2" in width else 0)
        level = f"station [in],elevation [in]\n0,0\n50,0\n{ends},0\n"
        pickets = f'pattern = "shadowbox"\nspacing = "{spacing}"'
        plan = plan_fence(write_job('[rails]\nthickness = "1 in"', pickets=pickets, lane=level))
        lines = [line.strip() for line in pattern_lines(plan)][1:]
        assert lines[0] == told
        hidden = "nobody sees through from less than 26.6 deg off straight on"
        assert lines[1:] == ([hidden] if "overlap" in told else [])

    def test_a_gate_is_no_neighbour(self, write_job: WriteJob) -> None:
        level = "station [in],elevation [in]\n0,0\n100,0\n288,0\n"
        keys = '[[run.gate]]\nstation = "101.5 in"\nwidth = "48 in"'
        plan = plan_fence(
            write_job(pickets='pattern = "shadowbox"\nspacing = "2-1/2 in"', lane=(level, keys))
        )
        overlap = least_overlap(plan)
        assert overlap is not None
        assert overlap > 1.0


def test_corners_meet_or_say_their_step(write_job: WriteJob) -> None:
    job = write_job(**CORNER)
    level = plan_fence(job, "level")
    last = len(level.runs[0].slots)
    assert list(corner_lines(level)) == [
        "corner of west and north: the tops meet; one post serves both; "
        f"picket {last} of west and picket 1 of north reach it"
    ]
    plan = plan_fence(job, "stepped")
    step = plan.runs[1].top.elevations[0] - plan.runs[0].top.elevations[-1]
    (line,) = corner_lines(plan)
    assert ("the tops meet" in line) == (abs(step) < 1e-6)
    assert list(corner_lines(plan_fence(write_job()))) == []


def test_wind_is_a_screen_that_names_what_it_takes(write_job: WriteJob) -> None:
    plan = plan_fence(write_job('[site]\nwind_pressure = "20 psf"', lane=LANE))
    lines = list(wind_lines(plan))
    screen = plan.runs[0].wind
    assert screen is not None
    worst = int(np.argmax(screen.moment))
    assert f"20.0 psf on the fence; most at post {worst + 1}: " in lines[0]
    assert f"{screen.moment[worst]:,.0f} ft lbf at the ground" in lines[0]
    assert lines[2:] == [f"  taken: {text}" for text in screen.assumptions]
    assert "a licensed engineer decide" in lines[-1]
    assert list(wind_lines(plan_fence(write_job(lane=LANE)))) == []


def test_much_concrete_is_better_delivered(write_job: WriteJob) -> None:
    small = plan_fence(
        write_job('[top]\nleast_height = "6 ft"\n[posts]\nhole_diameter = "11 in"\n', lane=LANE)
    )
    shared, each = small.concrete.bags_in_all, int(small.concrete.bags.sum())
    assert shared < each
    assert list(concrete_lines(small)) == [
        f"  {shared} bags of concrete where what is left of one goes on to the next hole; "
        f"whole bags for each hole would be {each}",
        "  a bag of 80 lb is a lift for two, or for a cart",
    ]
    wide = plan_fence(write_job('[posts]\nhole_diameter = "24 in"\nbag = "50 lb"', lane=LANE))
    assert wide.concrete.delivered
    (line,) = concrete_lines(wide)
    assert re.search(r"ask for \d+(\.5)? yd3 of ready-mix, delivered$", line)
    ordered, asked = (float(v) for v in re.findall(r"(\d+\.?\d*) (?:cubic yards|yd3)", line))
    assert ordered == pytest.approx(wide.concrete.yards, abs=0.005)
    assert 0 <= asked - wide.concrete.yards < 0.5


@pytest.mark.parametrize(
    ("units", "ordered", "told"),
    [
        ("imperial", 27.0, "1.00 cubic yards of concrete, 4000 lb in bags: ask for 1 yd3 of ready-mix"),
        ("imperial", 27.3, "1.01 cubic yards of concrete, 4000 lb in bags: ask for 1.5 yd3 of ready-mix"),
        ("imperial", 40.5, "1.50 cubic yards of concrete, 4000 lb in bags: ask for 1.5 yd3 of ready-mix"),
        ("metric", 35.32, "1.00 cubic metres of concrete, 1814 kg in bags: ask for 1.5 m3 of ready-mix"),
        ("metric", 35.31, "1.00 cubic metres of concrete, 1814 kg in bags: ask for 1 m3 of ready-mix"),
    ],
)
def test_ready_mix_is_asked_for_by_halves(write_job: WriteJob, units: str, ordered: float, told: str) -> None:
    plan = plan_fence(write_job(units=units, lane=LANE))
    concrete = replace(plan.concrete, ordered=ordered, weight=4000.0, bag_weight=50.0, delivered=True)
    assert next(concrete_lines(replace(plan, concrete=concrete))) == f"  {told}, delivered"


def test_bags_are_told_where_holes_share_them_and_where_they_are_heavy(write_job: WriteJob) -> None:
    plan = plan_fence(write_job(lane=LANE))

    def told(*bags: int, in_all: int, each: float = 50.0) -> list[str]:
        concrete = replace(plan.concrete, bags=np.array(bags), bags_in_all=in_all, bag_weight=each)
        return list(concrete_lines(replace(plan, concrete=replace(concrete, delivered=False))))

    assert told(2, 2, in_all=4) == []
    assert told(2, 2, in_all=3) == [
        "  3 bags of concrete where what is left of one goes on to the next hole; whole bags for each hole "
        "would be 4"
    ]
    much = replace(plan.concrete, bags=np.array([2, 2]), bags_in_all=3, bag_weight=50.0, delivered=True)
    assert list(concrete_lines(replace(plan, concrete=much)))[1:] == told(2, 2, in_all=3)
    assert told(in_all=0, each=80.0) == []
    assert told(1, in_all=1, each=80.0) == ["  a bag of 80 lb is a lift for two, or for a cart"]
