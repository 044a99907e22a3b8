"""Fences of all kinds through every room of wood and posts: each room gives what it gave when last read."""

from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from pins import as_pinned, drawn, pinned
from post_runs import checked_posts
from written import written

from fencegrade.fence.bays.bays import lay_bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.gates.frame import frame_notes, leaf_frame
from fencegrade.fence.gates.gates import leaf_pickets, plan_gate
from fencegrade.fence.pickets.cuts import cut_pickets
from fencegrade.fence.pickets.patterns import lay_pattern
from fencegrade.fence.pickets.relay import Rest, lay_again
from fencegrade.fence.pickets.spacing import laid_spaces, other_spaces, space_remarks
from fencegrade.fence.pickets.stop_settings import fewest_settings
from fencegrade.fence.posts.concrete import concrete_for
from fencegrade.fence.posts.wind import wind_screen
from fencegrade.fence.rails.pieces import long_pieces
from fencegrade.fence.rails.rails import rail_rows
from fencegrade.fence.rails.screws import crossings, picket_screws, rail_screws
from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.figures.lumber import Wood
from fencegrade.ground.profile import ground_line
from fencegrade.job.choices import BottomCut, Fit, HingePost, LeafShape, Pattern, SwingSide
from fencegrade.job.records import Gate
from fencegrade.job.site import Fasteners, Site
from fencegrade.problems import JobMistakesError
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

KEPT = Path(__file__).parent / "kept"
GROUNDS = {
    "level": ([0, 240, 480], [0, 0, 0]),
    "rising": ([0, 240, 480], [0, 24, 48]),
    "falling": ([0, 120, 240, 360, 480], [0, -12, -30, -60, -72]),
    "hump": ([0, 96, 132, 168, 480], [0, 2, 9, 1, -6]),
    "wall": ([0, 160, 160, 320, 480], [0, 4, -20, -22, -18]),
}
WORDS = [Words(system=UnitSystem.IMPERIAL, mark=1 / 8), Words(system=UnitSystem.METRIC, mark=1 / 25.4)]
RUNS: dict[str, list[Any]] = {
    "ground": list(GROUNDS),
    "run": [
        {},
        {"no_post": [{"start": "90 in", "end": "100 in"}]},
        {"existing_post": [{"station": "96 in"}, {"station": "300 in", "height": "60 in"}]},
        {
            "keep_open": [{"start": "180 in", "end": "200 in", "height": "5 in"}],
            "root": [{"start": "10 ft", "end": "11 ft"}],
        },
        {"gate": [{"station": "96 in", "width": "48 in"}]},
        {
            "gate": [
                {"station": "3-1/2 in", "width": "36 in"},
                {"station": "250 in", "width": "10 ft", "leaves": 2},
            ]
        },
    ],
    "posts": [
        {},
        {"least_depth": "30 in", "depth_share": 0.25},
        {"gate_width": "5-1/2 in", "frost_depth": "36 in", "height": "2 in"},
        {"width": "5-1/2 in", "hole_diameter": "12 in", "spacing": "6 ft"},
        {"stock": [{"length": "8 ft", "price": 14.0}, {"length": "10 ft", "price": 13.0}]},
    ],
    "rails": [
        {},
        {"joint": "lapped"},
        {"count": 2, "bearing": "1 in"},
        {"top_reveal": "2 in", "bottom_reveal": "10 in"},
    ],
    "stock": [("8 ft",), ("10 ft",), ("8 ft", "12 ft"), ("16 ft",)],
    "height": [36.0, 48.0, 49.0, 72.0, 84.0, 84.125, 100.0],
    "racked": [False, True],
    "pattern": list(Pattern),
    "fit": list(Fit),
    "spacing": [0.0, 0.25, 2.0, 4.5],
    "clearance": [0.0, 2.0, 3.0],
    "cut": list(BottomCut),
    "site": [
        {"wind_speed": "115 mph", "soil": "sand"},
        {"wind_pressure": "20 psf", "paved": True},
        {"wind_speed": "45 m/s", "exposure": "B", "isolated_poles": True},
        {"wind_pressure": "5 psf", "lateral_bearing": "200 psf"},
    ],
    "say": WORDS,
}


def test_runs_of_bays_boards_posts_and_rails(make: SimpleNamespace) -> None:
    def lines() -> Iterator[str]:
        for n, case in enumerate(drawn(RUNS, 40, 3)):
            yield f"{n}: {case['ground']} {case['run']} {case['posts']} {case['rails']} {case['height']:g}"
            try:
                yield from _a_run(make, **case)
            except JobMistakesError as mistakes:
                yield pinned("refused", [str(p) for p in mistakes.problems])

    as_pinned(KEPT / "runs.txt", lines())


def _a_run(make: SimpleNamespace, **case: Any) -> Iterator[str]:
    """Lines about one run, room by room."""
    line, run, say = ground_line(*GROUNDS[case["ground"]]), make.run(**case["run"]), case["say"]
    posts, rails = make.posts(**case["posts"]), make.rails(*case["stock"], **case["rails"])
    bays, problems = lay_bays(run, posts, rails, line, 0.0, 480.0)
    yield pinned("bays", (bays, problems))
    if bays is None:
        return
    high = float(line.highest(np.array([0.0]), np.array([480.0]))[0]) + case["height"]
    tops = line.elevation(bays.posts) + case["height"] if case["racked"] else np.full(len(bays.posts), high)
    top = TopLine(style=TopStyle.RACKED, stations=bays.posts, elevations=tops)
    slots, row = lay_pattern(case["pattern"], 0.0, 480.0, 5.5, case["spacing"], case["fit"]).in_order()
    cuts = cut_pickets(line, slots, top, np.full(len(slots), case["clearance"]), case["cut"], say.mark)
    yield pinned("cuts", cuts)
    yield pinned(
        "settings", fewest_settings(cuts.kept, cuts.kept - row * 8, cuts.kept_left - cuts.kept_right)
    )
    spaces = laid_spaces(slots, row, [(g.station, g.station + g.width) for g in run.gate])
    others = other_spaces(spaces, bays.posts, case["spacing"])
    yield pinned(
        "spaces",
        (spaces, list(space_remarks("yard", others, case["spacing"], case["fit"] is Fit.EVEN_GAPS, say))),
    )
    schedule, found = checked_posts(run, bays, top, line, posts, say)
    yield pinned("posts", (schedule, found))
    yield pinned(
        "concrete", concrete_for(schedule.depth, np.array([k is PostKind.GATE for k in bays.kinds]), posts)
    )
    rows, told = rail_rows(run, bays, top, line, rails, case["clearance"], say)
    pieces = long_pieces(rows, bays, top)
    yield pinned("rails", (rows, told, pieces))
    crossed = np.array([crossings(slots.centre[row == k], bays, rows) for k in np.unique(row)])
    use = Fasteners()
    screws = picket_screws(crossed, 0.625, rails.thickness, case["pattern"], use, say.system)
    yield pinned(
        "screws",
        (
            screws,
            rail_screws(
                int(pieces.on_posts.sum()), rails.thickness, posts.width, use, say.system, len(run.gate)
            ),
        ),
    )
    heights = top.at(bays.posts) - line.elevation(bays.posts)
    yield pinned("wind", wind_screen(run, written(Site, **case["site"]), bays, schedule, heights, posts, say))


GATES: dict[str, list[Any]] = {
    "ground": list(GROUNDS),
    "station": [100.0, 120.0, 132.0],
    "width": [36.0, 48.0, 60.75, 60.875, 121.0, 130.0],
    "leaves": [1, 2],
    "hinge": [None, *HingePost],
    "swing": [None, *SwingSide],
    "leaf": [None, *LeafShape],
    "slope": [-0.1, 0.0, 0.05],
    "rise": [None, None, (1.0, 1.5, 2.0), (2.0, -1.0, 0.0)],
    "angle": [None, None, 1.0, 3.1, 3.2],
    "most_gap": [3.0, 4.0, 12.0],
    "clearance": [0.5, 1.0, 2.0],
    "top": [(48.0, 48.0), (72.0, 72.0), (84.0, 90.0)],
    "pattern": list(Pattern),
    "fit": list(Fit),
    "spacing": [0.0, 0.25, 1.0, 3.5],
    "wood": list(Wood),
    "posts": [{}, {"gate_width": "5-1/2 in"}],
    "say": WORDS,
}


def test_gates_their_leaves_and_frames(make: SimpleNamespace) -> None:
    def lines() -> Iterator[str]:
        for n, case in enumerate(drawn(GATES, 80, 4)):
            words = [f"{k} {case[k]}" for k in ("station", "width", "leaves", "hinge", "swing", "leaf")]
            yield f"{n}: {case['ground']}, {', '.join(words)}"
            yield from _a_gate(make, **case)

    as_pinned(KEPT / "gates.txt", lines())


def _a_gate(make: SimpleNamespace, **case: Any) -> Iterator[str]:
    line, say = ground_line(*GROUNDS[case["ground"]]), case["say"]
    names = {"slope": "slope_across", "rise": "swing_rise", "angle": "open_angle"}
    keys = {
        names.get(k, k): case[k] for k in ("station", "width", "leaves", "hinge", "swing", "leaf", *names)
    }
    plan, problems = plan_gate("yard", Gate(**keys), line, case["clearance"], say, case["most_gap"])
    yield pinned("gate", (plan.leaf_width, plan.along, plan.chosen, problems))
    ends = line.elevation(np.array([case["station"], case["station"] + case["width"]])) + case["top"]
    for leaf in range(case["leaves"]):
        boards = leaf_pickets(
            plan, leaf, line, ends, 5.5, case["spacing"], case["fit"], say.mark, case["pattern"]
        )
        frame = leaf_frame(plan, leaf, boards, case["wood"], 0.625, make.rails(), say.mark)
        notes = list(frame_notes("yard", plan, frame, make.posts(**case["posts"]), "90 lb", say))
        yield pinned("leaf", (boards, boards.ripped()))
        yield pinned("frame", (frame, frame.rail_edges(), list(frame.pieces()), frame.screws, notes))


REST: dict[str, list[Any]] = {
    "at": [231.5, 240.0, 460.0, 470.0, 474.0, 479.75, 480.0],
    "width": [3.5, 5.5, 5.53],
    "gap": [0.0, 0.25, 2.0],
    "limit": [0.02, 0.125, 0.5],
    "fit": list(Fit),
    "shift": [0.0, 0.25, 1.0],
    "planned": [0, 1, 3],
}


def test_ways_to_lay_the_rest() -> None:
    def lines() -> Iterator[str]:
        for n, case in enumerate(drawn(REST, 80, 5)):
            left = case["at"] + case["gap"] + np.arange(case["planned"]) * (case["width"] + case["gap"])
            planned = Slots(left=left, right=left + case["width"])
            yield pinned(f"{n}", lay_again(Rest(**{**case, "planned": planned, "end": 480.0})))

    as_pinned(KEPT / "rest.txt", lines())
