"""Ground, cut boards, comparison, heights and patterns: words that fit, numbers that are those given."""

import math
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.figure import Figure

from fencegrade.fence.tops.table import TopStyle
from fencegrade.job.choices import Pattern
from fencegrade.job.read import Job, read_job
from fencegrade.planning.plan import plan_fence
from fencegrade.sheets.drawings.comparison import ComparedTop, comparison_figure
from fencegrade.sheets.drawings.cut_boards import CutPattern, cut_board_figures
from fencegrade.sheets.drawings.ground import LEVEL, ground_figures, stretch_text
from fencegrade.sheets.drawings.heights_curve import heights_figure
from fencegrade.sheets.drawings.labels import Label, Spot, fitted, over, place_labels, text_boxes, text_size
from fencegrade.sheets.drawings.pattern_plan import pattern_figure
from fencegrade.sheets.drawings.picture import Picture, Shape
from fencegrade.sheets.drawings.save import png_bytes, svg_bytes
from fencegrade.sheets.drawings.style import house_style
from fencegrade.units import UnitSystem
from fencegrade.units.words import Words

SVG = "{http://www.w3.org/2000/svg}"
INCHES = Words(system=UnitSystem.IMPERIAL, mark=0.125, currency="$")
METRIC = Words(system=UnitSystem.METRIC, mark=1 / 25.4, currency="EUR")


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Texts of a figure that lie over one another, or over the edge: then paired with `canvas`."""
    boxes = text_boxes(figure)
    pairs = [(a, b) for (a, box), (b, other) in combinations(boxes, 2) if box.overlaps(other)]
    canvas = figure.bbox
    pairs += [
        (text, "canvas")
        for text, box in boxes
        if box.x0 < canvas.x0 or box.y0 < canvas.y0 or box.x1 > canvas.x1 or box.y1 > canvas.y1
    ]
    return pairs


def make_job(folder: Path, feet: int, slope: float = 0.0, units: str = "imperial", face: bool = False) -> Job:
    """A job of one run over rolling ground with readings every 4 ft."""
    step = 4 if feet <= 200 else 8
    drops = [(k, 20 + 4 * math.sin(k / 7) + slope * k) for k in range(0, feet + 1, step)]
    rows = [f"{k},{drop:.2f}," for k, drop in drops]
    if face:
        k, drop = drops[3]
        rows[3:4] = [f"{k},{drop:.2f},before", f"{k},{drop + 14:.2f},after"]
    (folder / "lane.csv").write_text("station [ft],drop [in],side\n" + "\n".join(rows), encoding="utf-8")
    (folder / "job.toml").write_text(
        f'[job]\ntitle = "Paddock $lane$ <i>north</i>"\nunits = "{units}"\n'
        '[[run]]\nname = "hedge"\nsurvey = "lane.csv"\n[pickets]\n[[pickets.stock]]\nlength = "8 ft"\n',
        encoding="utf-8",
    )
    return read_job(folder)


def svg_texts(figure: Figure | Picture) -> list[str]:
    root = ElementTree.fromstring(svg_bytes(figure))
    return ["".join(t.itertext()).strip() for t in root.iter(f"{SVG}text")]


def check(figure: Figure) -> None:
    """Nothing overlaps, and the SVG is well formed and described."""
    assert overlapping(figure) == []
    root = ElementTree.fromstring(svg_bytes(figure))
    assert (root.findtext(f"{SVG}desc") or "").strip()


@pytest.mark.parametrize(
    ("feet", "slope", "units", "face"),
    [
        (24, 0.0, "imperial", False),
        (120, 0.0, "metric", True),
        (60, 4.0, "imperial", True),
        (420, 0.1, "imperial", False),
    ],
)
def test_ground_drawing_fits_and_names_where_to_look(
    tmp_path: Path, feet: int, slope: float, units: str, face: bool
) -> None:
    job = make_job(tmp_path, feet, slope, units, face)
    ground = plan_fence(job, TopStyle.SLOPED).runs[0].ground
    figures = ground_figures(ground, job.job, [(168.0, 240.0), (12.0 * feet - 60, 12.0 * feet)])
    assert len(figures) == math.ceil(feet / 200)
    for figure in figures:
        check(figure)
    texts = svg_texts(figures[0])
    assert f"look here: {stretch_text(168.0, 240.0, job.job)}" in texts
    say = Words.of(job.job)
    seen = ground.elevations[ground.stations <= 12 * feet / len(figures) + 1e-6]
    assert f"highest reading {say.length(seen.max())}" in texts
    assert f"lowest reading {say.length(seen.min())}" in texts


def test_band_written_is_the_profiles_own(tmp_path: Path) -> None:
    job = make_job(tmp_path, 40)
    ground = plan_fence(job).runs[0].ground
    figure = ground_figures(ground, job.job)[0]
    x = np.unique(np.concatenate([np.linspace(0, 480, 400), ground.stations]))
    low, high = ground.profile.band(x, LEVEL)
    widest = INCHES.length(float((high - low).max()) / 2)
    assert f"80% band, widest here: ± {widest}" in svg_texts(figure)


def test_stretch_text_joins_like_units(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24).job
    assert stretch_text(168, 240, job) == "14 to 20 ft"
    assert stretch_text(171, 240, job) == "14' 3\" to 20 ft"


PATTERNS = [
    CutPattern(stock=96, pieces=(31.5, 31.5, 28), offcut=4.625, count=3, kerf=0.125),
    CutPattern(stock=96, pieces=(60, 35.875), offcut=0, count=1, kerf=0.125, names=("<b>12</b>", "$14$")),
    CutPattern(stock=120, pieces=(9.5,) * 12, offcut=4.5, count=22, kerf=0.125),
    CutPattern(stock=72, pieces=(40.5, 1.5, 1.5, 1.5), offcut=26.5, count=119, kerf=0.125),
    CutPattern(stock=72, pieces=(70.5,), offcut=1.375, count=5, kerf=0.125),
    CutPattern(stock=72, pieces=(72,), offcut=0, count=1),
]


@pytest.mark.parametrize("say", [INCHES, METRIC], ids=["inches", "metric"])
def test_cut_boards_write_every_piece_count_and_offcut(say: Words) -> None:
    figure = cut_board_figures(PATTERNS, "Paddock $lane$ & <b>garden</b>", "pickets", say)[0]
    check(figure)
    texts = svg_texts(figure)
    for pattern in PATTERNS:
        assert any(t.startswith(f"{pattern.count} board") and say.length(pattern.stock) in t for t in texts)
        for piece in pattern.pieces:
            assert any(say.length(piece) in t for t in texts)
        if pattern.offcut:
            assert any(say.length(pattern.offcut) in t for t in texts)
    assert f"pieces: 1 × {say.length(40.5)}, 3 × {say.length(1.5)}" in texts
    assert "<b>12</b>" in texts


def test_cut_boards_go_on_to_further_sheets() -> None:
    figures = cut_board_figures(PATTERNS * 4, "Paddock", "pickets", INCHES)
    assert len(figures) == 2
    assert "13" in svg_texts(figures[1])
    check(figures[1])


def test_bar_is_as_long_as_its_parts() -> None:
    figure = cut_board_figures(PATTERNS[:1], "Paddock", "pickets", INCHES)[0]
    boxes = sorted((p.get_x(), p.get_x() + p.get_width()) for p in figure.axes[0].patches)  # type: ignore[attr-defined]
    assert boxes[0][0] == 0
    assert boxes[-1][1] == pytest.approx(96)
    assert all(a[1] == pytest.approx(b[0]) for a, b in pairwise(boxes))


@pytest.mark.parametrize(("feet", "slope"), [(24, 0.0), (100, 1.0), (60, 8.0), (500, 0.0)])
def test_comparison_says_each_top_and_draws_all_to_one_scale(tmp_path: Path, feet: int, slope: float) -> None:
    job = make_job(tmp_path, feet, slope)
    styles = (TopStyle.LEVEL, TopStyle.SLOPED, TopStyle.CONTOUR)
    choices = [
        ComparedTop(
            name=s, plan=plan_fence(job, s), words="; ".join([f"costs ${k}00 <b>less</b>"] * (1 + 5 * k))
        )
        for k, s in enumerate(styles)
    ]
    picture = comparison_figure(choices, 0)
    texts = svg_texts(picture)
    for choice in choices:
        assert f"{choice.name}:" in texts
        assert choice.words in " ".join(texts), "in as many lines as it takes"
    boxes = [t.box for t in picture.texts]
    assert not [
        1 for a, b in combinations(boxes, 2) if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    lines = [s for s in picture.items if isinstance(s, Shape) and s.width == 1.3]
    spans = {(line.points[0][0], line.points[-1][0]) for line in lines}
    assert (len(lines), len(spans)) == (3, 1)
    rises = {round(max(y for _, y in one.points) - min(y for _, y in one.points), 1) for one in lines}
    assert max(rises) - min(rises) <= 0.11


HEIGHTS = np.array([68, 69, 70, 70.5, 71.25, 72, 74, 75, 76.5, 80.0])
COSTS = np.array([300, 300, 312, 330, 331, 360, 420, 430, 500, np.nan])


def test_heights_curve_tells_knees_and_the_planned_height(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24).job
    figure = heights_figure(HEIGHTS, COSTS, job, knees=[1, 5, 7], planned=72.5)
    check(figure)
    texts = svg_texts(figure)
    for k in (1, 5, 7):
        assert f"up to {Words.of(job).height(HEIGHTS[k])}: {Words.of(job).money(COSTS[k])}" in texts
    assert f"planned 6' 0-1/2\": {Words.of(job).money(420)}" in texts
    assert "no stock long enough" in texts


@pytest.mark.parametrize(
    ("heights", "costs"),
    [([1.0], [2.0]), ([1.0, 1.0], [2.0, 3.0]), ([1.0, 2.0], [2.0]), ([1.0, 2.0], [np.nan, np.nan])],
)
def test_heights_curve_refuses_what_is_no_stair(
    tmp_path: Path, heights: list[float], costs: list[float]
) -> None:
    job = make_job(tmp_path, 24).job
    with pytest.raises(ValueError, match=r"cost|heights"):
        heights_figure(heights, costs, job)


def test_every_drawing_repeats_byte_by_byte(tmp_path: Path) -> None:
    job = make_job(tmp_path, 24)
    plan = plan_fence(job)
    run = plan.runs[0]
    choice = ComparedTop(name=TopStyle.LEVEL, plan=plan, words="as planned")

    def drawings() -> list[Figure | Picture]:
        return [
            *ground_figures(run.ground, job.job, [(60.0, 90.0)]),
            *cut_board_figures(PATTERNS, "Paddock", "pickets", INCHES),
            comparison_figure([choice], 0),
            heights_figure(HEIGHTS, COSTS, job.job, knees=[1]),
            pattern_figure(5.5, 3.5, INCHES, "Paddock", Pattern.SHADOWBOX),
        ]

    for one, again in zip(drawings(), drawings(), strict=True):
        assert svg_bytes(one) == svg_bytes(again)
        assert png_bytes(one, 40) == png_bytes(again, 40)


def test_heights_curve_draws_one_price_throughout(tmp_path: Path) -> None:
    check(heights_figure([60.0, 61.0, 62.0], [5.0, 5.0, 5.0], make_job(tmp_path, 24).job, knees=[2]))


@pytest.mark.parametrize(
    ("chosen", "spacing"),
    [
        (None, 3.5),
        (Pattern.SIDE_BY_SIDE, 0.0),
        (Pattern.SIDE_BY_SIDE, 0.25),
        (Pattern.BOARD_ON_BOARD, 3.5),
        (Pattern.BOARD_ON_BOARD, 7.0),
        (Pattern.SHADOWBOX, 3.5),
    ],
)
def test_pattern_plan_names_the_three_and_measures_the_chosen(chosen: Pattern | None, spacing: float) -> None:
    figure = pattern_figure(5.5, spacing, INCHES, "Paddock", chosen)
    check(figure)
    texts = svg_texts(figure)
    assert len([t for t in texts if t.split(",")[0].rstrip(":") in set(Pattern)]) == 3
    assert ("picket 5-1/2 in" in texts) == (chosen is not None)
    laps = chosen in (Pattern.BOARD_ON_BOARD, Pattern.SHADOWBOX) and spacing < 5.5
    assert (f"overlap {INCHES.length((5.5 - spacing) / 2)}" in texts) == laps


def test_labels_move_aside_and_the_least_important_is_left_out() -> None:
    with house_style():
        figure = Figure(figsize=(4, 3), dpi=72)
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        here = ((0.5, 0.5),)
        first = Label(text="first", at=here, spots=(Spot(),), rank=0)
        moved = Label(text="moved", at=here, spots=(Spot(), *over(12)), rank=1)
        gone = Label(text="gone", at=here, spots=(Spot(),), rank=2)
        line = np.array([[0.0, 0.9], [1.0, 0.9]])
        minor = Label(text="minor", at=((0.5, 0.9),), spots=(Spot(),), rank=3, minor=True)
        off = Label(text="a long word", at=((0.99, 0.1),), spots=(Spot(),), rank=4)
        assert place_labels(figure, axes, [off, minor, gone, moved, first], [line]) == [gone, minor, off]
        assert overlapping(figure) == []


def test_fitted_text_keeps_to_its_room() -> None:
    with house_style():
        text = "every word of this title stands until the room runs out " * 3
        cut = fitted(text, 200, 9, lines=2)
        assert cut.count("\n") == 1
        assert cut.endswith("…")
        assert text_size(cut, 9)[0] <= 200
        assert fitted("short", 200, 9) == "short"
        assert text_size(fitted("x" * 500, 200, 9, lines=3), 9)[0] <= 200
