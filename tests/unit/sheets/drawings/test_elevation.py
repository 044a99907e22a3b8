"""Elevation drawings of varied jobs: nothing overlaps or is cut off, and what is written is the plan's."""

import io
import math
import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from kept import drawn_as_kept
from msgspec import structs
from PIL import Image

from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.posts.posts import PostSchedule, PostStock
from fencegrade.fence.slots import Slots
from fencegrade.job.choices import Pattern, TopEnd
from fencegrade.job.read import read_job
from fencegrade.planning.plan import FencePlan, RunPlan, plan_fence
from fencegrade.sheets.drawings.beside import _moved_apart
from fencegrade.sheets.drawings.elevation import LONGEST, elevation_figures, small_elevation
from fencegrade.sheets.drawings.parts import run_parts
from fencegrade.sheets.drawings.picket_shapes import back_to_front, ground_curve, picket_outlines
from fencegrade.sheets.drawings.picture import BLACK, MIDDLE, WHITE, Picture, Shape, Text
from fencegrade.sheets.drawings.save import png_bytes, svg_bytes
from fencegrade.sheets.drawings.seen import kickboard_outlines
from fencegrade.sheets.drawings.strip import make_strip, strip_picture
from fencegrade.units.words import Words

SVG = "{http://www.w3.org/2000/svg}"


def write_job(folder: Path, **says: str) -> Path:
    """A job folder: `rows` and `head` of its survey, and text for each table of the job file."""
    words = {
        "title": "Paddock lane",
        "name": "lane side",
        "units": "imperial",
        "head": "station [ft],drop [in]",
        "run": "",
        "top": 'style = "level"',
        "pickets": "",
        "stock": "6 ft,8 ft",
    } | says
    folder.mkdir()
    (folder / "lane.csv").write_text(f"{words['head']}\n{words['rows']}\n", encoding="utf-8")
    stock = "".join(f'[[pickets.stock]]\nlength = "{length}"\n' for length in words["stock"].split(","))
    (folder / "job.toml").write_text(
        f"[job]\ntitle = '''{words['title']}'''\nunits = \"{words['units']}\"\n"
        f"[[run]]\nname = '''{words['name']}'''\nsurvey = \"lane.csv\"\n{words['run']}\n"
        f"[top]\n{words['top']}\n[pickets]\n{words['pickets']}\n{stock}",
        encoding="utf-8",
    )
    return folder


def rolling(count: int, step: float, rough: float, slope: float = 0.0) -> str:
    """Readings over rolling ground that falls by `slope` inches a reading."""
    drops = [
        14 + 2 * rough + rough * (math.sin(0.9 * k) + 0.6 * math.sin(2.3 * k + 1)) + slope * k
        for k in range(count)
    ]
    return "\n".join(f"{k * step:g},{drop:.2f}" for k, drop in enumerate(drops))


STRINGS = "".join(
    f'[[run.string]]\nid = "{name}"\nstart = "{12 * k} ft"\nend = "{12 * k + 12} ft"\n'
    + ('height = "0 in"\n' if k == 0 else "")
    for k, name in enumerate("ABCDE")
)
STRING_ROWS = "\n".join(
    f"{x},{20 + 4 * k + 3 * math.sin(x):.2f},{name}"
    for k, name in enumerate("ABCDE")
    for x in range(12 * k, 12 * k + 13, 3)
)
FACES = "0,10,\n6,12,\n12,13,before\n12,27,after\n18,30,\n24,29,\n30,31,before\n30,20,after\n36,20,\n44,22,"
GATES = "".join(
    f'[[run.gate]]\nstation = "{at} ft"\nwidth = "{width}"\n'
    for at, width in ((1, "3 ft"), (12, "12 ft"), (30, "30 in"), (50, "4 ft"))
)
LONG_TITLE = "A fence with very much to say about itself <b>and</b> $x^2$ & more; " * 2

JOBS: dict[str, dict[str, str]] = {
    "20 ft": {"rows": rolling(6, 4, 2)},
    "100 ft": {"rows": rolling(26, 4, 2), "top": 'style = "level"\nmost_height = "7 ft"'},
    "800 ft": {"rows": rolling(201, 4, 4), "top": 'style = "contour"'},
    "steep": {"rows": rolling(16, 3, 2, 7), "top": 'style = "sloped"', "pickets": 'top_end = "pointed"'},
    "metric": {
        "rows": rolling(16, 1.2, 40),
        "head": "station [m],drop [mm]",
        "units": "metric",
        "stock": "1.8 m,2.1 m,2.4 m",
        "run": '[[run.gate]]\nstation = "6 m"\nwidth = "900 mm"',
    },
    "gates": {"rows": rolling(16, 4, 1), "run": GATES},
    "faces": {
        "rows": FACES,
        "head": "station [ft],drop [in],side",
        "pickets": 'bottom_cut = "scribed"',
        "stock": "6 ft,8 ft,10 ft",
    },
    "flags": {
        "rows": rolling(20, 3, 8),
        "top": 'style = "level"\nmost_height = "6 ft 6 in"',
        "pickets": 'fit = "rip last"\nspacing = "1/8 in"\ntop_end = "flat"',
        "stock": "6 ft",
    },
    "level ground": {"rows": "0,36\n10,36\n20,36\n30,36\n40,36"},
    "long title": {
        "rows": rolling(8, 5, 1),
        "title": LONG_TITLE,
        "name": "by the <script>$lane$</script> " * 6,
    },
    "many strings": {"rows": STRING_ROWS, "head": "station [ft],drop [in],string", "run": STRINGS},
    "high string": {
        "rows": "\n".join(f"{4 * k},{60 + 3 * math.sin(k):.2f}" for k in range(16)),
        "top": 'least_height = "2 ft"',
        "run": '[[run.string]]\nfall = "18 in"',
    },
    "water": {
        "rows": rolling(16, 4, 3),
        "run": '[[run.keep_open]]\nstart = "30 ft"\nend = "34 ft"\nheight = "6 in"\n'
        + "".join(f'[[run.existing_post]]\nstation = "{at} ft"\nheight = "9 ft"\n' for at in (0, 24, 40)),
    },
}

Drawn = tuple[FencePlan, list[Picture]]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Drawn]:
    """Every job above with its plan and its drawings."""
    base = tmp_path_factory.mktemp("jobs")
    found = {}
    for name, says in JOBS.items():
        plan = plan_fence(read_job(write_job(base / name, **says)))
        found[name] = (plan, elevation_figures(plan.runs[0], plan))
    return found


def with_posts(run: RunPlan, apart: float = 96.0, depth: float = 36.0) -> RunPlan:
    """The run with posts every `apart` inches, `depth` deep, the first of them standing already."""
    x = np.arange(run.start, run.end + 1e-6, apart)
    ground, top = run.ground.profile.elevation(x), run.top.at(x) - 6
    none = np.zeros(len(x), dtype=np.int64)
    schedule = PostSchedule(
        station=x,
        kinds=(PostKind.LINE,) * len(x),
        standing=np.arange(len(x)) == 0,
        ground=ground,
        crown=top,
        top=top,
        above=top - ground,
        choices=(),
        old=np.arange(len(x)) == 0,
        planned=np.full(len(x), depth),
        depth=np.full(len(x), depth),
        sold=PostStock(line=(), of_gates=(), gate=np.zeros(len(x), dtype=bool), mark=0.125),
        stock=none,
        known=np.ones(len(x), dtype=bool),
        eased=np.zeros(len(x), dtype=bool),
    )
    return structs.replace(run, posts=schedule)


def svg_texts(picture: Picture) -> list[str]:
    root = ElementTree.fromstring(svg_bytes(picture))
    return ["".join(t.itertext()).strip() for t in root.iter(f"{SVG}text")]


Box = tuple[float, float, float, float]


def overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] - 0.1 and b[0] < a[2] - 0.1 and a[1] < b[3] - 0.1 and b[1] < a[3] - 0.1


def faults(picture: Picture) -> list[str]:
    """Texts over one another, over a board, or over the edge."""
    texts = picture.texts
    found = [f"{a.text} / {b.text}" for a, b in combinations(texts, 2) if overlap(a.box, b.box)]
    boards = [
        (min(x), min(y), max(x), max(y))
        for shape in picture.items
        if isinstance(shape, Shape) and (shape.fill == WHITE or shape.accent)
        for x, y in (zip(*outline, strict=True) for outline in shape.outlines)
    ]
    found += [f"{t.text} over a board" for t in texts for board in boards if overlap(t.box, board)]
    edge = (0.0, 0.0, picture.width, picture.height)
    found += [
        f"{t.text} over the edge"
        for t in texts
        if t.box[0] < edge[0] or t.box[1] < edge[1] or t.box[2] > edge[2] or t.box[3] > edge[3]
    ]
    return found


@pytest.mark.parametrize("name", JOBS)
def test_no_word_overlaps_another_or_a_board_or_leaves_the_picture(
    drawn: dict[str, Drawn], name: str
) -> None:
    for picture in drawn[name][1]:
        assert faults(picture) == []
        assert len(picture.texts) > 8


def test_checker_finds_words_over_one_another_over_boards_and_past_the_edge() -> None:
    board = Shape(points=((0, 0), (9, 0), (9, 30), (0, 30)), fill=WHITE, closed=True)
    words = [
        Text(x=x, y=y, text=t, size=10) for x, y, t in ((30, 50, "one"), (34, 52, "two"), (5, 20, "three"))
    ]
    sound = Picture(width=200, height=100, items=(board, words[0]))
    assert faults(sound) == []
    assert len(faults(structs.replace(sound, items=(board, *words)))) == 2
    assert faults(structs.replace(sound, width=35)) == ["one over the edge"]


@pytest.mark.parametrize("name", ["100 ft", "flags", "many strings"])
def test_same_job_gives_same_bytes(drawn: dict[str, Drawn], name: str) -> None:
    plan, pictures = drawn[name]
    again = elevation_figures(plan.runs[0], plan)
    assert svg_bytes(again[0]) == svg_bytes(pictures[0])
    assert png_bytes(again[0], 60) == png_bytes(pictures[0], 60)


def test_the_png_is_the_picture_in_pixels(drawn: dict[str, Drawn]) -> None:
    """White above the tops, grey where soil is, and the accent where boards are to be looked at."""
    _, (picture, *_) = drawn["flags"]
    image = Image.open(io.BytesIO(png_bytes(picture, 72))).convert("RGB")
    assert image.size == pytest.approx((picture.width, picture.height), abs=1)
    accent = next(s for s in picture.items if isinstance(s, Shape) and s.accent)
    x, y = np.mean(accent.points, axis=0)
    assert image.getpixel((int(x), int(y))) == (230, 159, 0)
    assert image.getpixel((3, 3)) == (255, 255, 255)


@pytest.mark.parametrize("name", JOBS)
def test_it_looks_as_it_was_kept(drawn: dict[str, Drawn], name: str) -> None:
    plan, pictures = drawn[name]
    glance, _ = small_elevation(plan.runs[0], plan, 500.0)
    drawn_as_kept(f"elevation_{name.replace(' ', '_')}", [*pictures[:2], glance])


@pytest.mark.parametrize("name", JOBS)
def test_svg_is_well_formed_with_title_and_description(drawn: dict[str, Drawn], name: str) -> None:
    plan, pictures = drawn[name]
    root = ElementTree.fromstring(svg_bytes(pictures[0]))
    assert root.tag == f"{SVG}svg"
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert description is not None
    assert (title.text or "").startswith(plan.job.job.title)
    assert "pickets under a" in (description.text or "")


@pytest.mark.parametrize("name", ["20 ft", "100 ft", "metric", "faces", "steep"])
def test_written_heights_and_numbers_are_the_plans(drawn: dict[str, Drawn], name: str) -> None:
    plan, (picture, *_) = drawn[name]
    run, say = plan.runs[0], Words.of(plan.job.job)
    texts = svg_texts(picture)
    count = sum(len(p.pickets) for p in run_parts(run, LONGEST)[:3])
    heights, tallest = run.cuts.height[:count].min(), run.cuts.tallest[:count].max()
    assert f"{say.height(heights)} to {say.height(tallest)} over the ground" in " ".join(texts)
    for part in run_parts(run, LONGEST)[:3]:
        assert {str(part.pickets[0] + 1), str(part.pickets[-1] + 1)} <= set(texts)


def test_flagged_pickets_are_told_by_number_and_drawn_in_the_accent(drawn: dict[str, Drawn]) -> None:
    plan, pictures = drawn["flags"]
    run, say = plan.runs[0], Words.of(plan.job.job)
    texts = " ".join(svg_texts(pictures[0]))
    for flag in (PicketFlag.NO_STOCK, PicketFlag.OVER_HEIGHT, PicketFlag.GAP, PicketFlag.RIPPED):
        assert run.flags[flag].any()
        assert str(flag) in texts
        first = int(np.flatnonzero(run.flags[flag])[0]) + 1
        assert re.search(rf"pickets? {first}\b", texts)
    assert say.height(run.cuts.tallest[run.flags[PicketFlag.OVER_HEIGHT]].max()) in texts


def test_nothing_is_in_the_accent_on_level_ground(drawn: dict[str, Drawn]) -> None:
    (picture,) = drawn["level ground"][1]
    assert not [s for s in picture.items if isinstance(s, Shape) and s.accent]
    assert not [t for t in svg_texts(picture) if any(str(flag) in t for flag in PicketFlag)]


def test_gates_strings_and_water_are_named(drawn: dict[str, Drawn]) -> None:
    texts = [t for picture in drawn["gates"][1] for t in svg_texts(picture)]
    assert texts.count("gate") == 4
    assert [t for t in texts if t.startswith("4' 0\", opens ")]
    strings = {t for picture in drawn["many strings"][1] for t in svg_texts(picture)}
    assert {f"string {s}" for s in "ABCDE"} <= strings
    assert "kept open" in svg_texts(drawn["water"][1][0])


@pytest.mark.parametrize("name", ["20 ft", "metric", "gates"])
def test_every_board_of_fence_and_gates_is_drawn_and_how_leaves_hang_and_open(
    drawn: dict[str, Drawn], name: str
) -> None:
    plan, (picture,) = drawn[name]
    run = plan.runs[0]
    shapes = [s for s in picture.items if isinstance(s, Shape)]
    boards = sum(len(s.outlines) for s in shapes if s.fill == WHITE or s.accent)
    explained = any(s.accent for s in shapes)  # one more, beside the words for it
    assert boards == len(run.slots) + sum(len(leaf.slots) for leaf in run.leaves) + explained
    assert sum(len(s.outlines) for s in shapes if s.fill == BLACK) == sum(f.hinges for f in run.frames)
    behind = [k for k, s in enumerate(shapes) if s.dashes == (2.0, 1.2)]
    over = [k for k, s in enumerate(shapes) if s.closed and s.fill is None]
    assert max(behind, default=0) <= max(over, default=0), "boards of a leaf lie over its frame"
    assert len(over) == len(run.leaves)
    assert sum(s.dashes == (2.5, 2.0) for s in shapes) == 2 * len(run.leaves), "open leaf and its arc"


def test_markup_in_names_stays_text(drawn: dict[str, Drawn]) -> None:
    _, pictures = drawn["long title"]
    svg = svg_bytes(pictures[0])
    root = ElementTree.fromstring(svg)
    assert not [e for e in root.iter() if e.tag.split("}")[-1] in {"script", "b"}]
    assert b"<script" not in svg
    shown = " ".join(svg_texts(pictures[0]))
    assert "<b>and</b> $x^2$ & more" in shown
    assert "<script>$lane$</script>" in shown


@pytest.mark.parametrize("name", ["100 ft", "800 ft", "gates"])
def test_parts_hold_every_picket_once_and_meet_at_posts(drawn: dict[str, Drawn], name: str) -> None:
    run = drawn[name][0].runs[0]
    parts = run_parts(run, LONGEST)
    assert np.concatenate([p.pickets for p in parts]).tolist() == list(range(len(run.slots)))
    assert [p.end for p in parts[:-1]] == [p.start for p in parts[1:]]
    assert (parts[0].start, parts[-1].end) == (run.start, run.end)
    assert {p.end for p in parts[:-1]} <= set(run.posts.station.tolist())
    assert all(p.end - p.start < 1.5 * LONGEST for p in parts)


@pytest.mark.parametrize("longest", [100.0, 130.0, 150.0, 200.0, 350.0])
def test_a_face_is_seen_whole_however_a_run_is_divided(drawn: dict[str, Drawn], longest: float) -> None:
    """Walls at 12 and 30 ft, a post at each: a part that began there would show neither side's height."""
    plan, _ = drawn["faces"]
    (run,) = plan.runs
    parts = run_parts(run, longest)
    assert run.ground.line.faces.tolist() == [144.0, 360.0]
    for face, told in ((144.0, "face 14 in"), (360.0, "face 11 in")):
        (part,) = [p for p in parts if p.start + 3 < face < p.end - 3]
        strip = strip_picture(run, plan, make_strip(run, plan, part, 1.0, 1.0))
        assert told in [t.text for t in strip.texts]


def rectangles(picture: Picture, fill: float) -> list[tuple[float, float]]:
    """Top and foot (points) of the four-cornered surfaces of one grey, each once."""
    shapes = [s for s in picture.items if isinstance(s, Shape) and s.fill == fill and len(s.points) == 4]
    return sorted({(min(y for _, y in s.points), max(y for _, y in s.points)) for s in shapes})


def test_posts_are_drawn_to_scale_from_top_to_foot_and_numbered(drawn: dict[str, Drawn]) -> None:
    plan, _ = drawn["20 ft"]
    run = with_posts(plan.runs[0])
    (picture,) = elevation_figures(run, plan)
    assert {str(k) for k in range(1, len(run.posts) + 1)} <= set(svg_texts(picture))
    assert faults(picture) == []
    boards = [s for s in picture.items if isinstance(s, Shape) and s.fill == WHITE and len(s.outlines) > 9]
    wide = max(x for x, _ in boards[0].points) - min(x for x, _ in boards[0].points)
    scale = wide / float(run.slots.width[0])
    drawn_posts = sorted(round((low - high) / scale, 1) for high, low in rectangles(picture, MIDDLE))
    wanted = (run.posts.top - run.posts.ground + run.posts.depth)[1:]
    assert drawn_posts == pytest.approx(sorted(set(np.round(wanted, 1).tolist())), abs=0.11)


def test_two_posts_that_stand_close_both_have_their_numbers(drawn: dict[str, Drawn]) -> None:
    """At 3/16 in to the foot, 13-1/4 in apart."""
    plan, _ = drawn["20 ft"]
    posts = with_posts(plan.runs[0], apart=24.0).posts
    station = posts.station.copy()
    station[-2] = station[-1] - 13.25
    run = structs.replace(plan.runs[0], posts=structs.replace(posts, station=station))
    (part,) = run_parts(run, 1e3)
    picture = strip_picture(run, plan, make_strip(run, plan, part, 1.125, 1.125))
    bold = [t.text for t in picture.texts if t.bold]
    assert [str(k + 1) for k in range(len(posts))] == [t for t in bold if t.isdigit()]
    assert faults(picture) == []
    crowd = [(50.0, "4"), (58.0, "5"), (66.0, "6"), (90.0, "7"), (98.0, "8")]
    *three, seven, eight = _moved_apart(crowd, 0.0, 200.0)
    assert three == crowd[:3]
    assert seven[0] < 90 < 98 < eight[0] < 100


def test_kickboards_are_drawn_from_the_ground_to_the_boards_over_them(tmp_path: Path) -> None:
    kick = '[soil]\nlow_ground = "kickboard"\n[[soil.kickboard]]\nlength = "8 ft"\n'
    rows = "0,20\n4,20\n8,21\n10,25\n14,25.5\n16,25\n20,24.5\n24,21\n32,20"
    job = write_job(tmp_path / "job", rows=rows, stock="6 ft", top=f'least_height = "5 ft 10 in"\n{kick}')
    plan = plan_fence(read_job(job))
    (run,) = plan.runs
    boards, (part,) = run.closing.kickboards, run_parts(run, 1e3)
    assert boards
    shapes = list(kickboard_outlines(run, part))
    for board, shape in zip(boards, shapes, strict=True):
        x, z = shape.T
        assert (x.min(), x.max()) == (board.start, board.end)
        low, high = np.split(shape, 2)
        assert low[:, 1] == pytest.approx(run.ground.line.elevation(low[:, 0]))
        over = np.arange(board.first - 1, board.last)
        longest = over[run.cuts.kept[over] == run.cuts.kept[over].max()]
        edge = np.interp(run.slots.centre[longest], high[::-1, 0], high[::-1, 1])
        assert edge == pytest.approx(run.cuts.bottom_left[longest], abs=0.26)
        assert z.max() - z.min() < 7.25 + 0.26
    (picture,) = elevation_figures(run, plan)
    corners = len(shapes[0])
    assert sum(len(s.points) == corners for s in picture.items if isinstance(s, Shape)) == len(boards)
    assert faults(picture) == []


def test_a_run_at_a_glance_fills_the_width_and_holds_every_board(drawn: dict[str, Drawn]) -> None:
    for name in ("20 ft", "800 ft"):
        plan, _ = drawn[name]
        picture, larger = small_elevation(plan.runs[0], plan, 500.0)
        assert picture.width <= 500.0 + 1e-6
        assert picture.height <= 210.0
        assert (larger > 1) == (name == "800 ft")
        outlines = sum(
            len(s.outlines) for s in picture.items if isinstance(s, Shape) and s.closed and len(s.points) == 6
        )
        assert outlines >= len(plan.runs[0].slots)


@pytest.mark.parametrize("end", list(TopEnd))
def test_outline_has_the_pickets_own_size(drawn: dict[str, Drawn], end: TopEnd) -> None:
    run = drawn["faces"][0].runs[0]
    outlines = picket_outlines(run.slots, run.cuts, end)
    assert outlines[..., 0].min(axis=1) == pytest.approx(run.slots.left)
    assert outlines[..., 0].max(axis=1) == pytest.approx(run.slots.right)
    assert outlines[..., 1].max(axis=1) == pytest.approx(run.cuts.top)
    assert outlines[:, 0, 1] == pytest.approx(run.cuts.bottom_left)
    assert outlines[:, -1, 1] == pytest.approx(run.cuts.bottom_right)


def test_face_is_drawn_upright(drawn: dict[str, Drawn]) -> None:
    line = drawn["faces"][0].runs[0].ground.profile.line
    x, z = ground_curve(line, 0.0, 240.0)
    at = np.flatnonzero(x == 144.0)
    assert z[at] == pytest.approx([-13.0, -27.0])
    assert "face 14 in" in svg_texts(drawn["faces"][1][0])


def test_rows_that_overlap_are_drawn_back_to_front() -> None:
    left = np.array([0.0, 4.5, 9.0, 13.5, 40.0, 44.5, 49.0])
    slots = Slots(left=left, right=left + 5.5)
    every = np.arange(7)
    assert back_to_front(slots, Pattern.SIDE_BY_SIDE, every).tolist() == [0, 1, 2, 3, 4, 5, 6]
    assert back_to_front(slots, Pattern.BOARD_ON_BOARD, every).tolist() == [0, 2, 4, 6, 1, 3, 5]
    assert back_to_front(slots, Pattern.SHADOWBOX, every).tolist() == [1, 3, 5, 0, 2, 4, 6]
